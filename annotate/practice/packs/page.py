"""The page of a pack, ``index.html``, with its players: filled in from a template, everything escaped."""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from annotate.exchange.score import Score
from annotate.labels import raga_name
from annotate.practice.packs.contents import Pack, PackedPiece, PackedSound
from annotate.practice.packs.notation import shown
from annotate.practice.sheets.fonts import font_data, font_licence, is_devanagari
from annotate.verify import paper_check
from theory.bhatkhande import spelled
from theory.layout import Script
from theory.notation_print import to_text
from theory.numbers import matras
from theory.wording import terms

if TYPE_CHECKING:
    from jinja2 import Template

DELAY_S = 1105 / 48000
"""Silence before an MP3 that a decoder may keep: 576 samples of the encoder, 529 of the decoder (LAME's technical FAQ;
from memory)."""

ASSETS = ("look.css", "reckoning.js", "sounding.js", "player.js")
"""What stands beside every page."""
LETTERS, LETTERS_LICENCE = "letters.css", "letters-licence.txt"

LONGEST_GIST = 32
"""Signs of notation in the list of pieces."""

_KEYS = (
    ("Space", "play or pause"),
    ("← →", "two seconds back or on"),
    ("w 1 2 3", "the whole, or one palla"),
    ("d l", "dam; the landing"),
    ("r", "again and again, or once"),
    ("s f", "slower, faster"),
    ("b", "from the beginning"),
    ("n p", "next piece, previous piece"),
)


def index_page(pack: Pack, script: Script) -> str:
    """Return the page of a pack; ``script`` is what its notation is written in."""
    pieces = {each.piece.address: _piece(each, script) for each in pack.pieces}
    told = {
        "title": pack.title,
        "count_words": _counted(pack),
        "whole_sheet": {"html": pack.sheet_html, "pdf": pack.sheet_pdf} if pack.sheet_html else None,
        "performances": pack.performances,
        "licence": pack.licence,
        "groups": _groups(pack, pieces),
        "several": len(pack.performances) > 1,
        "keys": _KEYS,
        "wbr": Markup("<wbr>"),
    }
    page = _template().render(told, letters=False)
    return _template().render(told, letters=True) if is_devanagari(page) else page


def beside(page: str) -> dict[str, bytes]:
    """Return the files that stand beside a page, by their names; Devanagari letters bring a font, and its licence.

    Signs above and below Devanagari letters are missing from the fonts of many systems. The font lies within a style
    sheet, since some browsers load none from a disk.
    """
    found = {name: files(__package__).joinpath("page", name).read_bytes() for name in ASSETS}
    if is_devanagari(page):
        letters = (
            f'@font-face {{ font-family: "Pack Devanagari"; src: url("{font_data("devanagari")}") format("woff"); }}\n'
        )
        found |= {LETTERS: letters.encode(), LETTERS_LICENCE: font_licence()}
    return found


@cache
def _template() -> Template:
    from jinja2 import Environment, StrictUndefined

    text = files(__package__).joinpath("page", "index.html.jinja").read_text("utf-8")
    environment = Environment(autoescape=True, trim_blocks=True, lstrip_blocks=True, undefined=StrictUndefined)
    return environment.from_string(text)


def _groups(pack: Pack, pieces: dict[str, dict[str, Any]]) -> list[dict[str, Any]]:
    """Return the pieces by chapters, each where it comes first; without chapters all of them in one."""
    if not pack.chapters:
        return [{"title": "", "pieces": [*pieces.values()]}]
    groups, shown_already = [], set[str]()
    for chapter in pack.chapters:
        first = [each for each in chapter.pieces if each not in shown_already]
        groups.append(
            {
                "title": chapter.title,
                "notes": chapter.notes,
                "pieces": [pieces[each] for each in first],
                "again": [pieces[each] for each in chapter.pieces if each in shown_already],
                "written": chapter.written,
                "exercises": chapter.exercises,
            }
        )
        shown_already.update(first)
    return groups


def _counted(pack: Pack) -> str:
    tihais = sum(each.piece.tihai is not None for each in pack.pieces)
    phrases = len(pack.pieces) - tihais
    counts = ((tihais, "tihai"), (phrases, "phrase"))
    return " and ".join(f"{count} {word}{'' if count == 1 else 's'}" for count, word in counts if count)


def _piece(each: PackedPiece, script: Script) -> dict[str, Any]:
    notation = shown(each.score, script)
    piece = each.piece
    return {
        "id": each.stem,
        "name": piece.name,
        "what": piece.name.partition(" of ")[0],
        "of": piece.recording.title,
        "gist": _gist(each.score, script),
        "facts": tuple(_facts(each)),
        "sum": _sum(each),
        "tala": piece.tala,
        "bols": piece.script == "bols",
        "shown": notation,
        "sheet": {"html": each.sheet_html, "pdf": each.sheet_pdf} if each.sheet_html else None,
        "musicxml": each.musicxml,
        "midi": each.midi,
        "sounds": each.sounds,
        "reckoned": _inside_script(
            {
                "cells": [float(cell.place) for cell in notation.cells],
                "first": _first(each.sounds),
                "sounds": [_for_player(sound) for sound in each.sounds],
            }
        ),
    }


def _gist(score: Score, script: Script) -> str:
    """The palla, or the beginning of a phrase."""
    passage = score.stretches[0].passage
    text = to_text(passage if script == "typed" else spelled(passage, script))
    return text if len(text) <= LONGEST_GIST else text[:LONGEST_GIST].rsplit(" ", 1)[0] + " …"


def _facts(each: PackedPiece) -> Iterator[tuple[str, str]]:
    piece = each.piece
    if piece.raga:
        yield "Raga", raga_name(piece.raga)
    if piece.tala is not None:
        yield "Tala", piece.tala.name
        yield "from", piece.tala.name_of(piece.start)
    if piece.per_minute is not None:
        yield "", f"{piece.per_minute:.0f} matras a minute as played"
    if piece.tihai is None:
        yield "", matras(piece.passage.length)


def _sum(each: PackedPiece) -> str:
    """The sum as taught, and where it lands."""
    record = each.piece.tihai
    if record is None:
        return ""
    paper = paper_check(record, each.piece.tala)
    return terms(each.piece.unit) if paper is None else f"{paper.sum}. {paper.sentence}"


def _first(sounds: tuple[PackedSound, ...]) -> int:
    """Which sound stands ready: the last of the first group, which is the quickest."""
    return max((at for at, sound in enumerate(sounds) if sound.group == sounds[0].group), default=0)


def _for_player(sound: PackedSound) -> dict[str, Any]:
    return {
        "key": sound.key,
        "script": sound.script,
        "group": sound.group,
        "words": sound.words,
        "duration_s": round(sound.duration_s, 6),
        "delay_s": round(DELAY_S, 6),
        "parts": [part.to_json() for part in sound.parts],
        "places": [[float(place), round(time_s, 6)] for place, time_s in sound.places],
    }


def _inside_script(value: Any) -> Markup:
    """Return JSON that cannot end the script element it stands in."""
    text = json.dumps(value, separators=(",", ":"), ensure_ascii=False)
    return Markup(text.replace("<", "\\u003c").replace("&", "\\u0026"))
