"""The smallest changes that bring a tihai which misses onto its target: another start, another dam, another palla.

Conventions: a change is sought on the subdivision in use (all of start, palla, dam and target lie on it). Where no
change on it lands, it is sought on the least finer one that holds a change, and the sentence says so. Landing repeats
with every cycle, so a mend may also reach a target one or more cycles earlier or later.

The palla is changed before its last stroke, which stays as long as it is: the last stroke moves with the palla's end.
In a chain the first part is changed, in a tihai its own palla.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Literal

from theory.numbers import matras, spoken, stored
from theory.passage import Note, Passage, cut, join, silence
from theory.talas import Tala
from theory.tihai import Chain, LandingRule, Tihai, Unit, has_stroke, landing_offset

_NAMES = {1: "whole matras", 2: "halves", 3: "thirds", 4: "quarters", 6: "sixths", 8: "eighths"}


@dataclass(frozen=True, slots=True)
class Mend:
    """One change that makes a tihai land.

    Attributes
    ----------
    change : {"start", "dam", "palla"}
        What is changed.
    new : Fraction
        Its new value: the matra to begin on, or the new length in matras.
    difference : Fraction
        How far that is from the old value, in matras, with its sign.
    sentence : str
        What to do, in words.
    """

    change: Literal["start", "dam", "palla"]
    new: Fraction
    difference: Fraction
    sentence: str

    def to_json(self) -> dict[str, Any]:
        """Return it as a row for JSON; matras as "n/d"."""
        return {
            "change": self.change,
            "new": stored(self.new),
            "difference": stored(self.difference),
            "sentence": self.sentence,
        }


def smallest_mends(
    tala: Tala, start: Fraction, tihai: Tihai, rule: LandingRule, target: Fraction, subdivision: int
) -> tuple[Mend, ...]:
    """Return the smallest change of the start, of the dam and of the palla that lands, each checked by applying it.

    Parameters
    ----------
    tala : Tala
        The tala.
    start : Fraction
        The matra the tihai begins on; sam is 1.
    tihai : Tihai
        What is played.
    rule : LandingRule
        How the landing is counted.
    target : Fraction
        The matra it should land on.
    subdivision : int
        Parts of a matra in use.

    Returns
    -------
    tuple of Mend
        In this order: start, dam, palla. Empty when it lands already.
    """
    gap = shortfall(tala, start, tihai, rule, target)
    if gap == 0:
        return ()
    dam, dam_grid = _smallest(gap, tala.matras, tihai.times - 1, subdivision, lambda change: tihai.dam + change >= 0)
    slope = tihai.times * _repeats(tihai.palla)
    inner, palla_grid = _smallest(gap, tala.matras, slope, subdivision, lambda change: _can_resize(tihai.palla, change))
    palla = inner * _repeats(tihai.palla)
    new_palla = tihai.palla.length + palla
    mends = (
        Mend("start", tala.wrap(start + gap - 1), gap, _start_sentence(tala, start, gap)),
        Mend("dam", tihai.dam + dam, dam, _dam_sentence(tihai, dam) + _grid_note(dam_grid, subdivision)),
        Mend("palla", new_palla, palla, _palla_sentence(tihai, inner) + _grid_note(palla_grid, subdivision)),
    )
    return tuple(mend for mend in mends if shortfall(tala, *apply(mend, start, tihai), rule, target) == 0)


def shortfall(tala: Tala, start: Fraction, tihai: Tihai, rule: LandingRule, target: Fraction) -> Fraction:
    """Return how far before the nearest target the landing comes, in matras: more than -M/2, at most M/2."""
    ahead = (target - start - landing_offset(tihai, rule)) % tala.matras
    return ahead if 2 * ahead <= tala.matras else ahead - tala.matras


def apply(mend: Mend, start: Fraction, tihai: Tihai) -> tuple[Fraction, Tihai]:
    """Apply a mend.

    Returns
    -------
    tuple of Fraction and Tihai
        The start and the tihai as mended. A longer palla prolongs the note before its last one (a single stroke comes
        twice), a shorter one loses what does not fit: a sketch for the musician to fill. A filler is left out where
        the dam changes.
    """
    if mend.change == "start":
        return mend.new, tihai
    if mend.change == "dam":
        return start, Tihai(tihai.palla, mend.new, tihai.times)
    change = mend.difference / _repeats(tihai.palla)
    return start, Tihai(resize(tihai.palla, change), tihai.dam, tihai.times, tihai.filler)


def resize(unit: Unit, change: Fraction) -> Unit:
    """Make a unit longer or shorter before its last stroke, which keeps its length.

    Parameters
    ----------
    unit : Passage, Chain or Tihai
        In a chain the first part is changed, in a tihai its palla (so its length changes by ``times`` x ``change``).
    change : Fraction
        By how much, in matras.
    """
    if isinstance(unit, Tihai):
        return Tihai(resize(unit.palla, change), unit.dam, unit.times, unit.filler)
    if isinstance(unit, Chain):
        first, rest = unit.parts[0], unit.parts[1:]
        if isinstance(first, Passage) and any(has_stroke(part) for part in rest):
            return Chain((_resize_end(first, change), *rest))
        return Chain((resize(first, change), *rest))
    body, stroke = cut(unit, unit.last_onset)
    if not body.notes and change > 0:
        body = join([body, Passage(unit.system, (Note(unit.notes[-1].symbol, Fraction(0), change),), change)])
        return join([body, stroke])
    return join([_resize_end(body, change), stroke])


def _resize_end(passage: Passage, change: Fraction) -> Passage:
    """Move the end of a passage; its last note is prolonged with it or cut off."""
    if change <= 0:
        return cut(passage, passage.length + change)[0]
    if not passage.notes:
        return join([passage, silence(change)])
    *before, last = passage.notes
    longer = Note(last.symbol, last.onset, last.length + change)
    return Passage(passage.system, (*before, longer), passage.length + change)


def _repeats(unit: Unit) -> int:
    """Return how many times the changed place comes in a unit."""
    if isinstance(unit, Tihai):
        return unit.times * _repeats(unit.palla)
    return _repeats(unit.parts[0]) if isinstance(unit, Chain) else 1


def _can_resize(unit: Unit, change: Fraction) -> bool:
    if isinstance(unit, Tihai):
        return _can_resize(unit.palla, change)
    if isinstance(unit, Chain):
        first = unit.parts[0]
        if isinstance(first, Passage) and any(has_stroke(part) for part in unit.parts[1:]):
            return first.length + change > 0
        return _can_resize(first, change)
    return unit.last_onset + change > 0 or (len(unit.notes) == 1 and unit.last_onset + change >= 0)


def _smallest(
    gap: Fraction, cycle: int, slope: int, subdivision: int, possible: Callable[[Fraction], bool]
) -> tuple[Fraction, int]:
    """Return the smallest change that moves the landing by the gap, whole cycles aside, and the subdivision it is on.

    A change by c moves the landing by slope x c, so c = (gap + a number of cycles) / slope. On the subdivision times
    slope every such c lies, and which lie on a coarser one repeats after slope cycles: twice as many are enough for a
    possible one of either sign to be among them.
    """
    changes = [(gap + cycles * cycle) / slope for cycles in range(-2 * slope, 2 * slope + 1)]
    changes = sorted((change for change in changes if possible(change)), key=lambda change: (abs(change), change < 0))
    for finer in range(1, slope + 1):
        grid = subdivision * finer
        for change in changes:
            if grid % change.denominator == 0:
                return change, grid
    raise AssertionError("every change lies on the subdivision times the slope")


def _start_sentence(tala: Tala, start: Fraction, gap: Fraction) -> str:
    new = start + gap
    where = tala.name_of(tala.wrap(new - 1))
    cycle = " of the cycle before" if new < 1 else " of the next cycle" if new >= tala.matras + 1 else ""
    return f"Begin on {where}{cycle}, {matras(abs(gap))} {'later' if gap > 0 else 'earlier'}."


def _dam_sentence(tihai: Tihai, change: Fraction) -> str:
    new = tihai.dam + change
    if tihai.dam == 0:
        return f"Put a dam of {matras(new)} between the pallas."
    if new == 0:
        return f"Leave out the dam of {matras(tihai.dam)}."
    return f"Make the dam {matras(new)} instead of {spoken(tihai.dam)}."


def _palla_sentence(tihai: Tihai, change: Fraction) -> str:
    old = tihai.palla.length
    new = old + change * _repeats(tihai.palla)
    how = f"{matras(abs(change))} {'longer' if change > 0 else 'shorter'}"
    if isinstance(tihai.palla, Passage):
        return f"Make the palla {matras(new)} instead of {spoken(old)}, its last stroke as it is."
    if _repeats(tihai.palla) == 1:
        return f"Make each round {matras(new)} instead of {spoken(old)}: what comes before its tihai {how}."
    return f"Make each round {matras(new)} instead of {spoken(old)}: every statement in it {how}."


def _grid_note(grid: int, subdivision: int) -> str:
    if grid == subdivision:
        return ""
    return f" This is in {_name(grid)}: in {_name(subdivision)} no change of it lands."


def _name(grid: int) -> str:
    return _NAMES.get(grid, f"parts of 1/{grid} matra")
