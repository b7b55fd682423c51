"""A piece as it is written, laid on the tala: what is played in a round, and where pallas, dams and the landing lie."""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction

from annotate.practice.pieces import Piece
from annotate.practice.sounds.plan import Pace, Spot, Stretch, even
from annotate.practice.sounds.wishes import PartKind, SoundWishes
from theory.passage import Note
from theory.tihai import LandingRule, Tihai, landing_offset

LANDING_RINGS = Fraction(1)
"""So many matras of a landing belong to it."""
LANDING_BOL = "Dha"
"""What lands where bols are counted "after" and the landing stroke is not written: common practice, no source."""

_Placed = tuple[Fraction, Fraction, str, PartKind]


def written_stretches(piece: Piece, wishes: SoundWishes, laya: Fraction) -> tuple[Stretch, ...]:
    """Return what is played in turn at one laya: the whole piece, or each palla by itself in its own place.

    Parameters
    ----------
    piece : Piece
    wishes : SoundWishes
    laya : Fraction
        Matras a minute.
    """
    places, notes, matra_s = list(_places(piece)), _notes(piece), Fraction(60) / laya
    if not (wishes.pallas_alone and piece.tihai is not None):
        return (_stretch(piece, wishes, "round", notes, places, matra_s),)
    pallas = [place for place in places if place[3] == "palla"]
    alone = []
    for number, palla in enumerate(pallas, 1):
        lands = [place for place in places if place[3] == "landing"] if number == len(pallas) else []
        own = tuple(note for note in notes if palla[0] <= note.onset < (palla[1] if not lands else math.inf))
        alone.append(_stretch(piece, wishes, f"{palla[2]}, round", own, [palla, *lands], matra_s))
    return tuple(alone)


def _notes(piece: Piece) -> tuple[Note, ...]:
    begin = piece.start - 1
    notes = tuple(Note(each.symbol, begin + each.onset, each.length) for each in piece.passage.notes)
    tihai = piece.tihai
    if tihai is not None and tihai.rule == LandingRule.AFTER and piece.script == "bols":
        notes += (Note(LANDING_BOL, begin + piece.passage.length, LANDING_RINGS),)
    return notes


def _places(piece: Piece) -> Iterator[_Placed]:
    """Pallas, dams and the landing, as positions."""
    begin, unit = piece.start - 1, piece.unit
    if not isinstance(unit, Tihai) or piece.tihai is None:
        return
    onsets = unit.statement_onsets
    for number, onset in enumerate(onsets, 1):
        ends = onset + unit.palla.length
        yield begin + onset, begin + ends, f"palla {number}", "palla"
        if unit.dam and number < len(onsets):
            yield begin + ends, begin + ends + unit.dam, f"dam {number}", "dam"
    lands = begin + landing_offset(unit, piece.tihai.rule)
    yield lands, lands + LANDING_RINGS, "landing", "landing"


def _stretch(
    piece: Piece, wishes: SoundWishes, words: str, notes: tuple[Note, ...], places: list[_Placed], matra_s: Fraction
) -> Stretch:
    begin = places[0][0] if places else piece.start - 1
    end = max([begin if places else begin + piece.passage.length, *(place[1] for place in places), notes[-1].end])
    closes = piece.tala is not None and not wishes.exactly
    first, last = begin, end
    if piece.tala is not None and closes:
        lands = next((place[0] for place in places if place[3] == "landing"), None)
        first, last = _sams_around(piece.tala.matras, begin, end if lands is None else lands, lands, wishes)
    pace = even(first, last - first, matra_s)
    return Stretch(
        words,
        pace,
        tuple(_spot(place, pace) for place in places if place[0] < last),
        closes,
        notes,
        (notes[0].onset, notes[-1].end) if piece.script == "bols" else None,
        tuple(_counted(places)) if wishes.dam_clicks else (),
    )


def _sams_around(
    matras: int, begin: Fraction, end: Fraction, lands: Fraction | None, wishes: SoundWishes
) -> tuple[Fraction, Fraction]:
    """First and last sam of a round."""
    first = math.floor(begin / matras)
    closing = max(math.ceil(end / matras), first + 1)
    after = wishes.after if wishes.after is not None else int(lands == closing * matras)
    return Fraction((first - wishes.before) * matras), Fraction((closing + after) * matras)


def _spot(place: _Placed, pace: Pace) -> Spot:
    begin, end, words, kind = place
    return Spot(pace.seconds(begin), min(pace.seconds(end), pace.lasts_s), words, kind)


def _counted(places: list[_Placed]) -> Iterator[Fraction]:
    """Every dam's own matras: at its beginning, and each matra on within it."""
    for begin, end, _, kind in places:
        if kind == "dam":
            yield from (begin + count for count in range(math.ceil(end - begin)))
