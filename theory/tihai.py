"""The tihai: a palla played three times with a dam between, so that the landing stroke falls where it should.

Conventions: lengths and onsets are Fractions of matras, counted from the unit's own start. A *unit* is a passage, a
chain of units, or a tihai; a palla may be any of them, so a chakradar is a tihai whose palla is a chain of a bol and a
tihai, and a nauhakka a tihai of a tihai.

Two ways of counting are in use, and every landing names its rule:

* *within*: the palla's last stroke is the landing stroke. Landing offset = 2 x (palla + dam) + onset of that stroke.
* *after*: the landing stroke follows the last palla. Landing offset = 3 x palla + 2 x dam.

References
----------
D. Courtney, The Cadenza in North Indian Tabla, Percussive Notes 32(4), 1994 (counts within);
tablatheka.com, tihai guides (count after); tablalegacy.com, tihai (dam, bedam, damdar, chakradar).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from itertools import accumulate
from typing import TypeAlias

from theory.errors import BadTihai
from theory.numbers import matras
from theory.passage import Passage, cut, join, silence


class LandingRule(StrEnum):
    """Where the landing stroke is: the last stroke *within* the palla, or the one that comes *after* the last palla."""

    WITHIN = "within"
    AFTER = "after"


@dataclass(frozen=True, slots=True)
class Chain:
    """Units one after the other: a chakradar's round is a bol and then a tihai.

    Raises
    ------
    BadTihai
        When it holds no unit.
    """

    parts: tuple[Unit, ...]

    def __post_init__(self) -> None:
        if not self.parts:
            raise BadTihai("A chain needs at least one part: a passage or a tihai.")

    @property
    def length(self) -> Fraction:
        """Length of all parts together, in matras."""
        return sum((part.length for part in self.parts), Fraction(0))

    @property
    def part_onsets(self) -> tuple[Fraction, ...]:
        """Where each part begins, in matras."""
        return tuple(accumulate((part.length for part in self.parts[:-1]), initial=Fraction(0)))

    @property
    def onsets(self) -> tuple[Fraction, ...]:
        """Where every stroke begins, in matras."""
        return tuple(
            begin + onset for begin, part in zip(self.part_onsets, self.parts, strict=True) for onset in part.onsets
        )

    @property
    def last_onset(self) -> Fraction:
        """Where the last stroke begins, in matras.

        Raises
        ------
        BadTihai
            When the chain is all silence.
        """
        for begin, part in zip(reversed(self.part_onsets), reversed(self.parts), strict=True):
            if has_stroke(part):
                return begin + part.last_onset
        raise BadTihai("The chain holds no stroke, only silence: write at least one swara or bol.")

    @property
    def subdivision(self) -> int:
        """Into how many equal parts a matra must be divided to hold every onset and length exactly."""
        return math.lcm(*(part.subdivision for part in self.parts))


@dataclass(frozen=True, slots=True)
class Tihai:
    """A palla, how often it comes, and the dam between.

    Attributes
    ----------
    palla : Passage, Chain or Tihai
        What is repeated.
    dam : Fraction
        The gap after every palla but the last, in matras; 0 for a bedam tihai.
    times : int
        How often the palla comes: 3 unless the tihai is of another family.
    filler : Passage, optional
        What fills the dam; as long as the dam. It changes no sum.

    Raises
    ------
    BadTihai
        When the dam is negative, the palla holds no stroke, it comes less than twice, or the filler does not fit.
    """

    palla: Unit
    dam: Fraction = field(default=Fraction(0))
    times: int = 3
    filler: Passage | None = None

    def __post_init__(self) -> None:
        if self.dam < 0:
            raise BadTihai(f"The dam is {matras(self.dam)}: it cannot be negative. Use 0 for a tihai without a gap.")
        if self.times < 2:
            raise BadTihai(f"The palla comes {self.times} times: a tihai needs it at least twice, usually 3 times.")
        if not has_stroke(self.palla):
            raise BadTihai("The palla holds no stroke, only silence: write at least one swara or bol.")
        if self.filler is not None and self.filler.length != self.dam:
            filled = matras(self.filler.length)
            raise BadTihai(f"The filler lasts {filled}, the dam {matras(self.dam)}: make them equal.")

    @property
    def length(self) -> Fraction:
        """What is played, pallas and dams, in matras."""
        return self.times * self.palla.length + (self.times - 1) * self.dam

    @property
    def statement_onsets(self) -> tuple[Fraction, ...]:
        """Where each palla begins, in matras from the start of the tihai."""
        return tuple(count * (self.palla.length + self.dam) for count in range(self.times))

    @property
    def onsets(self) -> tuple[Fraction, ...]:
        """Where every stroke begins, those of a filler too, in matras."""
        return flat(self).onsets

    @property
    def last_onset(self) -> Fraction:
        """Where the last stroke of the last palla begins, in matras."""
        return self.statement_onsets[-1] + self.palla.last_onset

    @property
    def subdivision(self) -> int:
        """Into how many equal parts a matra must be divided to hold every onset and length exactly."""
        filler = self.filler.subdivision if self.filler is not None else 1
        return math.lcm(self.palla.subdivision, self.dam.denominator, filler)


Unit: TypeAlias = Passage | Chain | Tihai


def has_stroke(unit: Unit) -> bool:
    """Tell whether anything sounds in a unit."""
    if isinstance(unit, Chain):
        return any(has_stroke(part) for part in unit.parts)
    return isinstance(unit, Tihai) or bool(unit.notes)


def flat(unit: Unit) -> Passage:
    """Write a unit out as one passage, every repetition and filler in its place.

    Raises
    ------
    BadTihai
        When swaras and bols would come into one passage.
    """
    if isinstance(unit, Passage):
        return unit
    if isinstance(unit, Chain):
        return join(flat(part) for part in unit.parts)
    palla, gap = flat(unit.palla), unit.filler if unit.filler is not None else silence(unit.dam)
    return join([palla, *[gap, palla] * (unit.times - 1)])


def landing_offset(tihai: Tihai, rule: LandingRule) -> Fraction:
    """Return how long after the start of the tihai the landing stroke comes, in matras."""
    return tihai.last_onset if rule == LandingRule.WITHIN else tihai.length


def kind_of(tihai: Tihai) -> str:
    """Name the kind of a tihai by how it is built.

    Returns
    -------
    str
        ``"bedam"`` without a gap, ``"damdar"`` with one; ``"nauhakka"`` when the palla is itself a plain tihai (nine
        equal statements in three groups); ``"chakradar"`` when the palla contains a tihai in any other way.
    """
    if isinstance(tihai.palla, Tihai) and not _holds_tihai(tihai.palla.palla):
        return "nauhakka"
    if _holds_tihai(tihai.palla):
        return "chakradar"
    return "damdar" if tihai.dam else "bedam"


def _holds_tihai(unit: Unit) -> bool:
    return isinstance(unit, Tihai) or (isinstance(unit, Chain) and any(_holds_tihai(part) for part in unit.parts))


def counted_after(tihai: Tihai) -> Tihai:
    """Count a tihai of the within rule by the after rule: the same sound, the same landing.

    The last stroke leaves the palla and fills the beginning of the dam, so the palla is shorter and the dam longer by
    what lies between that stroke and the palla's end.

    Raises
    ------
    BadTihai
        When the palla is a single stroke: nothing would be left of it.
    """
    palla = flat(tihai.palla)
    body, stroke = cut(palla, palla.last_onset)
    gap = tihai.filler if tihai.filler is not None else silence(tihai.dam)
    return Tihai(body, tihai.dam + stroke.length, tihai.times, join([stroke, gap]))


def counted_within(tihai: Tihai, stroke: Passage) -> Tihai:
    """Count a tihai of the after rule by the within rule: the same sound, the same landing.

    Parameters
    ----------
    tihai : Tihai
        As counted by the after rule.
    stroke : Passage
        The landing stroke; it also begins every dam, and takes its length from it.

    Raises
    ------
    BadTihai
        When the dam is shorter than the stroke: then the pallas leave no room for it.
    """
    if tihai.dam < stroke.length:
        raise BadTihai(
            f"The dam of {matras(tihai.dam)} leaves no room for a landing stroke of {matras(stroke.length)} "
            "after each palla: count this tihai by the after rule."
        )
    rest = cut(tihai.filler, stroke.length)[1] if tihai.filler is not None else silence(Fraction(0))
    filler = rest if rest.notes else None
    return Tihai(join([flat(tihai.palla), stroke]), tihai.dam - stroke.length, tihai.times, filler)
