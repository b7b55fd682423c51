"""Counting a tihai by the other landing rule: the same sound, written another way.

Conventions: from within to after, the stroke that closes each palla leaves it and begins the dam; from after to within
it is the other way round. Handbooks of both kinds are in use; a student who moves from one to the other changes the
numbers, not the music.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from theory.errors import BadTihai
from theory.numbers import matras, spoken
from theory.passage import Note, Passage, cut
from theory.tihai import LandingRule, Tihai, counted_after, counted_within, flat


@dataclass(frozen=True, slots=True)
class Conversion:
    """A tihai as counted by the other rule; None where that rule cannot count it, and then the sentence says why."""

    rule: LandingRule
    tihai: Tihai | None
    sentence: str


def convert(tihai: Tihai, rule: LandingRule, stroke: Passage | None = None) -> Conversion:
    """Count a tihai by the other landing rule.

    Parameters
    ----------
    tihai : Tihai
        As counted now.
    rule : LandingRule
        How it is counted now.
    stroke : Passage, optional
        The landing stroke, for a tihai counted after. Left out, it is what the dam begins with, or else a stroke of a
        matra, shorter where the dam is shorter.

    Returns
    -------
    Conversion
        The other rule, the tihai as it counts, and the change in words. What was nested comes written out.
    """
    try:
        return _to_after(tihai) if rule == LandingRule.WITHIN else _to_within(tihai, stroke)
    except BadTihai as why:
        other = LandingRule.AFTER if rule == LandingRule.WITHIN else LandingRule.WITHIN
        return Conversion(other, None, f"Cannot be counted {other}: {why}")


def _to_after(tihai: Tihai) -> Conversion:
    if len(flat(tihai.palla).notes) < 2:
        raise BadTihai("its palla is a single stroke, and nothing would be left of it.")
    other = counted_after(tihai)
    moved = matras(other.dam - tihai.dam)
    return Conversion(
        LandingRule.AFTER,
        other,
        f"Counted after, the same sound: the stroke that closes each palla ({moved}) begins the dam instead, so the "
        f"palla counts {spoken(other.palla.length)} and the dam {spoken(other.dam)}.",
    )


def _to_within(tihai: Tihai, stroke: Passage | None) -> Conversion:
    if tihai.dam == 0:
        raise BadTihai("without a dam the next palla begins where the landing stroke would be.")
    other = counted_within(tihai, stroke if stroke is not None else _landing_stroke(tihai))
    moved = matras(tihai.dam - other.dam)
    return Conversion(
        LandingRule.WITHIN,
        other,
        f"Counted within, the same sound: the stroke that begins the dam ({moved}) closes each palla instead, so the "
        f"palla counts {spoken(other.palla.length)} and the dam {spoken(other.dam)}.",
    )


def _landing_stroke(tihai: Tihai) -> Passage:
    if tihai.filler is not None and tihai.filler.notes and tihai.filler.notes[0].onset == 0:
        first = tihai.filler.notes[0]
        return cut(tihai.filler, first.end)[0]
    length = min(tihai.dam, Fraction(1))
    palla = flat(tihai.palla)
    symbol = "S" if palla.system == "sargam" else "Dha"
    return Passage(palla.system, (Note(symbol, Fraction(0), length),), length)
