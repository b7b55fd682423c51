"""A piece's practice sound: chosen by links, heard, and kept as a file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from urllib.parse import quote

from dash import dcc, html

from annotate.practice.pieces import Piece, piece
from annotate.practice.sounds import SoundPart, parts_planned
from dashboard.library import Library
from dashboard.pages.page import Page
from dashboard.parts import Column, Part, choices, table, told
from dashboard.sounds.asked import CHOICES, HEADINGS, asked_of, page_address, sound_address, wishes_of
from theory.clock import format_clock
from theory.errors import LayakoshError


def page(library: Library, slug: str, key: str, wanted: Mapping[str, str]) -> Page:
    """Make the page for the choices of an address.

    Raises
    ------
    annotate.errors.NoSuchRecording, annotate.errors.NoSuchRow, annotate.practice.errors.BadPiece
        There is no such piece, or too little of it is written down.
    """
    of, asked = piece(library.archive, f"{slug}/{key}"), asked_of(wanted)
    content: list[Part] = [html.H1("Practice sound"), html.P(_whose(of), className="lede")]
    content += [_choice(of, name, asked) for name in _asked_for(asked)]
    try:
        parts, said = parts_planned(library.archive, of, wishes_of(asked, of))
    except LayakoshError as error:
        return Page(f"Practice sound of {key}", [*content, told(str(error), "fault")], "Practice")
    return Page(f"Practice sound of {key}", [*content, *_sound(of, asked, parts, said)], "Practice")


def _whose(of: Piece) -> list[Part]:
    where = f"/tihais/{quote(of.slug)}/{quote(of.key)}" if of.tihai else f"/cycles/{quote(of.slug)}?at={of.start_s:.3f}"
    return [dcc.Link(of.name, href=where)]


def _asked_for(asked: Mapping[str, str]) -> list[str]:
    """The choices there are: a recording has speeds, notation a laya."""
    return [name for name in CHOICES if name != ("laya" if asked["from"] == "recording" else "speed")]


def _choice(of: Piece, name: str, asked: Mapping[str, str]) -> Part:
    known = {each: text for each, text in CHOICES[name].items() if of.tihai is not None or each != "pallas"}
    options = [
        (text, page_address(of.slug, of.key, asked, **{name: each}), None, asked[name] == each)
        for each, text in known.items()
    ]
    return choices(HEADINGS[name], options)


def _sound(of: Piece, asked: Mapping[str, str], parts: Sequence[SoundPart], said: Sequence[str]) -> list[Part]:
    address = sound_address(of.slug, of.key, asked)
    kept = f"{address}{'&' if '?' in address else '?'}keep=1"
    lasts = format_clock(parts[-1].end_s, 1)
    return [
        html.Div(
            [
                html.Audio(controls=True, preload="none", src=address, title=f"Practice sound of {of.name}"),
                html.P(
                    [
                        html.A("Keep it as a file", href=kept),
                        f" · {lasts} long. It is made when it is first played, which takes some seconds.",
                    ]
                ),
            ],
            className="practice-sound",
        ),
        *(told(sentence) for sentence in said),
        table(
            "What it holds",
            [Column("What"), Column("From", number=True), Column("To", number=True)],
            [
                [
                    html.A(
                        each.words, href=f"{address}#t={each.begin_s:.3f},{each.end_s:.3f}", title="Hear this alone"
                    ),
                    format_clock(each.begin_s, 1),
                    format_clock(each.end_s, 1),
                ]
                for each in _listed(parts)
            ],
            cards=False,
        ),
    ]


def _listed(parts: Sequence[SoundPart]) -> list[SoundPart]:
    """Every round; what lies within one only of the first."""
    rounds = [each for each in parts if each.kind == "round"]
    return [each for each in parts if each.kind in ("count-in", "round", "closing") or each.begin_s < rounds[0].end_s]
