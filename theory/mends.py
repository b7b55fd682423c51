"""The smallest changes that bring a tihai which misses onto its target: another start, another dam, another palla.

Conventions: a change is sought on the subdivision in use (all of start, palla, dam and target lie on it). Where no
change on it lands, it is sought on the least finer one that holds a change, and the sentence says so. Landing repeats
with every cycle, so a mend may also reach a target one or more cycles earlier or later.

The palla is changed before its last stroke, which stays as long as it is (see :mod:`theory.resize`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from typing import Any, Literal

from theory.numbers import matras, spoken, stored
from theory.passage import Passage
from theory.resize import can_resize, repeats, resize
from theory.talas import Tala
from theory.tihai import LandingRule, Tihai, landing_offset

MUCH_SMALLER = 4  # a change on a finer subdivision is mentioned when it is at most a quarter of the coarser one
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
    inside = repeats(tihai.palla)
    dams = _changes(gap, tala.matras, tihai.times - 1, subdivision, lambda change: tihai.dam + change >= 0)
    pallas = _changes(gap, tala.matras, tihai.times * inside, subdivision, partial(can_resize, tihai.palla))
    dam, palla = dams[0].by, pallas[0].by * inside
    dam_note = _grid_note(dams, subdivision, tihai.dam, 1)
    palla_note = _grid_note(pallas, subdivision, tihai.palla.length, inside)
    mends = (
        Mend("start", tala.wrap(start + gap - 1), gap, _start_sentence(tala, start, gap)),
        Mend("dam", tihai.dam + dam, dam, _dam_sentence(tihai, dam) + dam_note),
        Mend("palla", tihai.palla.length + palla, palla, _palla_sentence(tihai, pallas[0].by) + palla_note),
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
        The start and the tihai as mended; a longer or shorter palla as a sketch (see :mod:`theory.resize`). A filler
        is left out where the dam changes.
    """
    if mend.change == "start":
        return mend.new, tihai
    if mend.change == "dam":
        return start, Tihai(tihai.palla, mend.new, tihai.times)
    change = mend.difference / repeats(tihai.palla)
    return start, Tihai(resize(tihai.palla, change), tihai.dam, tihai.times, tihai.filler)


@dataclass(frozen=True, slots=True)
class _Change:
    by: Fraction  # matras
    grid: int  # the subdivision it lies on: the one in use, or the least multiple of it


def _changes(
    gap: Fraction, cycle: int, slope: int, subdivision: int, possible: Callable[[Fraction], bool]
) -> tuple[_Change, ...]:
    """Return the smallest change on the coarsest subdivision that has one, then a finer one if it is much smaller.

    A change by c moves the landing by slope x c, so c = (gap + a number of cycles) / slope. On the subdivision times
    slope every such c lies, and which lie on a coarser one repeats after slope cycles: twice as many are enough for a
    possible one of either sign to be among them.
    """
    every = [(gap + cycles * cycle) / slope for cycles in range(-2 * slope, 2 * slope + 1)]
    least = sorted((by for by in every if possible(by)), key=lambda by: (abs(by), by < 0))
    grids = [subdivision * finer for finer in range(1, slope + 1)]
    changes = [_Change(by, next(grid for grid in grids if grid % by.denominator == 0)) for by in least]
    coarse = min(changes, key=lambda change: change.grid)  # the first of them is the smallest
    much_smaller = MUCH_SMALLER * abs(changes[0].by) <= abs(coarse.by)
    return (coarse, changes[0]) if much_smaller else (coarse,)


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
    new = old + change * repeats(tihai.palla)
    how = f"{matras(abs(change))} {'longer' if change > 0 else 'shorter'}"
    if isinstance(tihai.palla, Passage):
        return f"Make the palla {matras(new)} instead of {spoken(old)}, its last stroke as it is."
    if repeats(tihai.palla) == 1:
        return f"Make each round {matras(new)} instead of {spoken(old)}: what comes before its tihai {how}."
    return f"Make each round {matras(new)} instead of {spoken(old)}: every statement in it {how}."


def _grid_note(changes: tuple[_Change, ...], subdivision: int, old: Fraction, inside: int) -> str:
    note = ""
    if changes[0].grid != subdivision:
        note += f" This is in {_name(changes[0].grid)}: in {_name(subdivision)} no change of it lands."
    if len(changes) > 1:
        note += f" In {_name(changes[1].grid)}, {spoken(old + changes[1].by * inside)} would do."
    return note


def _name(grid: int) -> str:
    return _NAMES.get(grid, f"parts of 1/{grid} matra")
