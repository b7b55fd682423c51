"""A raga on a sheet: the ways up and down, its rules in words, its phrases, and where its swaras lie on the neck."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from annotate.practice.sheets.drawing import Drawing, Places
from annotate.practice.sheets.key import key_of
from annotate.practice.sheets.neck import neck_drawing, places_on_neck
from annotate.practice.sheets.piece_page import tuning_words
from annotate.practice.sheets.scale import way_drawing
from annotate.practice.sheets.systems import Written, systems
from annotate.practice.sheets.wishes import SheetWishes
from theory.bhatkhande import to_bhatkhande
from theory.fingering import spread, swaras_of
from theory.layout import Script
from theory.notation import parse
from theory.ragas import Raga, get_raga, raga_variants
from theory.swaras import all_swaras


@dataclass(frozen=True)
class RagaPage:
    """What stands on the page of a raga."""

    title: str
    label: str
    credit: str
    facts: tuple[str, ...]
    up: Drawing
    down: Drawing
    one_way: str
    rules: tuple[str, ...]
    phrases: tuple[Drawing, ...]
    neck: Drawing | None
    tuning: str
    schools: tuple[str, ...]
    source: str
    key: tuple[str, ...]
    kind: str = "raga"


def raga_page(name: str, wishes: SheetWishes, places: Places, width: float) -> RagaPage:
    """Put together the page of a raga.

    Raises
    ------
    theory.errors.UnknownName
        There is no such raga.
    """
    raga, script, hand = get_raga(name), wishes.script, wishes.hand
    texts = (raga.aroha, raga.avaroha, *raga.phrases)
    half = 0.5 * width - 6
    on_neck = places_on_neck(hand.board, hand.sa, raga.swaras) if hand is not None else ()
    return RagaPage(
        title=f"Raga {raga.name}",
        label="",
        credit="From Layakosh's table of ragas",
        facts=tuple(_facts(raga, script)),
        up=way_drawing(raga.aroha, "up", raga.ascent_only, script, places, half),
        down=way_drawing(raga.avaroha, "down", raga.descent_only, script, places, half),
        one_way=_one_way(raga, script),
        rules=tuple(_rules(raga, script)),
        phrases=tuple(drawn for text in raga.phrases for drawn in _phrase(text, wishes, places, width)),
        neck=neck_drawing(hand.board, on_neck, script, places, width) if hand is not None else None,
        tuning=tuning_words(hand),
        schools=tuple(_schools(raga)),
        source=raga.source,
        key=key_of([parse(text) for text in texts], script),
    )


def _phrase(text: str, wishes: SheetWishes, places: Places, width: float) -> list[Drawing]:
    passage, hand = parse(text), wishes.hand
    found = (
        spread(hand.board, hand.sa, swaras_of(passage), stretch=hand.stretch, bend=hand.bend).places
        if hand is not None
        else ()
    )
    board = hand.board if hand is not None else None
    return systems(Written(passage, None, parse("S").length, wishes.script, board=board, places=found), places, width)


def _facts(raga: Raga, script: Script) -> Iterator[str]:
    if raga.thaat:
        yield f"thaat {raga.thaat}"
    if raga.jati:
        yield f"jati {raga.jati}"
    if raga.vadi:
        yield f"vadi {_named(raga.vadi, script)}"
    if raga.samvadi:
        yield f"samvadi {_named(raga.samvadi, script)}"
    if raga.time:
        yield raga.time


def _one_way(raga: Raga, script: Script) -> str:
    up = ", ".join(_named(letter, script) for letter in raga.ascent_only)
    down = ", ".join(_named(letter, script) for letter in raga.descent_only)
    said = [f"only going up: {up}" if up else "", f"only going down: {down}" if down else ""]
    told = "; ".join(filter(None, said))
    return f"Swaras of one direction, shaded, with a triangle that shows which: {told}." if told else ""


def _rules(raga: Raga, script: Script) -> Iterator[str]:
    omissions = (("", raga.omitted, ()), (" going up", raga.omitted_up, raga.ascent_only))
    for where, left_out, used in (*omissions, (" going down", raga.omitted_down, raga.descent_only)):
        told = raga.omitted if where else ()
        beyond = [each for each in left_out if each not in told and each not in {letter.upper() for letter in used}]
        if beyond:
            yield f"Leaves out{where}: {', '.join(map(_degree, beyond))}."
    for swara, ways in raga.only_within:
        yield f"{_named(swara, script)} comes only within {' or '.join(_shown(way, script) for way in ways)}."
    for way in raga.never:
        yield f"Does not go straight {_shown(way, script)}."
    for way in raga.allowed:
        yield f"{_shown(way, script)} is taken although the rules above speak against it."


def _schools(raga: Raga) -> Iterator[str]:
    yield "This is what the source named below says; another school may go another way."
    if raga.notes:
        yield raga.notes
    variants = ", ".join(each.key for each in raga_variants(raga))
    if variants:
        yield f"Other schools: {variants}."


def _named(letter: str, script: Script) -> str:
    swara = next(each for each in all_swaras() if each.letter == letter)
    return f"{_shown(letter, script)} ({swara.name})"


def _degree(letter: str) -> str:
    return next(each.name for each in all_swaras() if each.letter == letter)


def _shown(text: str, script: Script) -> str:
    return text if script == "typed" else to_bhatkhande(parse(text), script)
