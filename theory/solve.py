"""Every palla and dam that lands; and for a palla that is given, every start and dam that makes it land.

Conventions: lengths are whole multiples of 1/subdivision matra. Under the within rule the palla's last stroke lasts a
matra, or less where no dam follows and it has no more room; so every sound is found once (a shorter last stroke and a
longer dam would write the same sound). Simplest first: the coarsest subdivision, then the fewest avartans, then the
shortest dam, then the shortest palla.

The dam follows from the palla: times x palla + (times - 1) x dam reaches the target modulo the tala, which is a linear
congruence; it is solved instead of searched.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any

from theory.errors import BadTihai
from theory.numbers import matras, spoken, stored
from theory.paper import PaperCheck, check, require_matra
from theory.passage import Note, Passage, join
from theory.talas import Tala
from theory.tihai import LandingRule, Tihai

ONE = Fraction(1)


@dataclass(frozen=True)
class Solution:
    """One tihai that lands.

    Attributes
    ----------
    tala, start, rule, target, times
        As asked for; for a given palla, the start is part of the answer.
    palla, dam : Fraction
        Their lengths in matras.
    last_stroke : Fraction
        Length of the palla's last stroke in matras; under the after rule it means nothing.
    cycles : int
        Avartans completed when it lands, from the sam of the cycle it begins in.
    """

    tala: Tala
    start: Fraction
    palla: Fraction
    dam: Fraction
    last_stroke: Fraction
    rule: LandingRule
    target: Fraction
    times: int
    cycles: int

    @property
    def total(self) -> Fraction:
        """What is played, pallas and dams, in matras."""
        return self.times * self.palla + (self.times - 1) * self.dam

    @property
    def tihai(self) -> Tihai:
        """A tihai of these lengths, with a stroke at the beginning and a last stroke in each palla."""
        return Tihai(sketch(self.palla, self.last_stroke), self.dam, self.times)

    @cached_property
    def paper(self) -> PaperCheck:
        """The check on paper: the sum as taught, line by line."""
        return check(self.tala, self.start, self.tihai, self.rule, self.target)

    @property
    def sentence(self) -> str:
        """What to play, in words."""
        dam = f"a dam of {matras(self.dam)}" if self.dam else "no dam"
        begin = self.tala.name_of(self.start)
        return f"A palla of {matras(self.palla)} with {dam}, from {begin}: {self.paper.sum}"

    def to_json(self) -> dict[str, Any]:
        """Return it as a row for JSON; matras as "n/d"."""
        return {
            "start": stored(self.start),
            "palla": stored(self.palla),
            "dam": stored(self.dam),
            "last_stroke": stored(self.last_stroke),
            "times": self.times,
            "total": stored(self.total),
            "cycles": self.cycles,
            "sum": self.paper.sum,
        }


def sketch(length: Fraction, last_stroke: Fraction) -> Passage:
    """Return a palla of a length whose last stroke has a length; one stroke before it where there is room."""
    lead = length - last_stroke
    before = [Passage("bols", (Note("Dha", Fraction(0), lead),), lead)] if lead else []
    return join([*before, Passage("bols", (Note("Dha", Fraction(0), last_stroke),), last_stroke)])


def solve(
    tala: Tala,
    start: Fraction | int,
    target: Fraction | int = ONE,
    subdivision: int = 1,
    rule: LandingRule = LandingRule.WITHIN,
    *,
    palla_most: Fraction | int | None = None,
    dam_most: Fraction | int | None = None,
    cycles_most: int | None = None,
    times: int = 3,
    last_stroke: Fraction | None = None,
) -> list[Solution]:
    """Find every palla and dam that lands.

    Parameters
    ----------
    tala : Tala
        The tala.
    start, target : Fraction
        The matra it begins on and the one it should land on; sam is 1.
    subdivision : int, optional
        Palla and dam are multiples of 1/subdivision matra.
    rule : LandingRule, optional
        How the landing is counted.
    palla_most, dam_most : Fraction, optional
        The longest palla and dam in matras; left out, one avartan.
    cycles_most : int, optional
        The most avartans it may complete; left out, what the longest palla and dam reach.
    times : int, optional
        How often the palla comes.
    last_stroke : Fraction, optional
        Within only: the length of the palla's last stroke in matras, where it shall not follow from the convention.

    Returns
    -------
    list of Solution
        Simplest first, none twice.

    Raises
    ------
    BadTihai
        When start or target lie outside the tala, or a limit makes no sense.
    """
    begin, aim = require_matra("start", tala, start), require_matra("target", tala, target)
    longest, widest = _limits(tala, palla_most, dam_most, subdivision, times)
    ticks = math.lcm(subdivision, begin.denominator, aim.denominator, (last_stroke or ONE).denominator)
    step, cycle = ticks // subdivision, tala.matras * ticks
    distance = int((aim - begin) * ticks)
    found = []
    for palla in range(step, int(longest * subdivision) * step + 1, step):
        for stroke, bedam in _last_strokes(palla, step, ticks, rule, last_stroke):
            needed = distance - times * palla + stroke
            if bedam:
                dams: Iterator[int] = iter((0,) if needed % cycle == 0 else ())
            else:
                dams = residues(needed, (times - 1) * step, cycle, int(widest * subdivision))
            for dam in dams:
                landing = (begin - 1) * ticks + times * palla + (times - 1) * dam * step - stroke
                cycles = int(landing // cycle)
                if cycles_most is None or cycles <= cycles_most:
                    found.append((palla, dam * step, stroke, cycles))
    solutions = [
        Solution(
            tala,
            begin,
            Fraction(palla, ticks),
            Fraction(dam, ticks),
            Fraction(stroke or min(palla, ticks), ticks),
            rule,
            aim,
            times,
            cycles,
        )
        for palla, dam, stroke, cycles in found
    ]
    return sorted(solutions, key=_simplest)


def starts_and_dams(
    tala: Tala,
    palla: Passage,
    target: Fraction | int = ONE,
    subdivision: int = 1,
    rule: LandingRule = LandingRule.WITHIN,
    *,
    start: Fraction | int | None = None,
    dam_most: Fraction | int | None = None,
    times: int = 3,
) -> list[Solution]:
    """Find every start and dam that makes a given palla land.

    Parameters
    ----------
    tala, target, subdivision, rule, dam_most, times
        As for :func:`solve`; here the subdivision is that of the dam, and the start follows.
    palla : Passage
        What is played.
    start : Fraction, optional
        The matra to begin on; left out, any.

    Returns
    -------
    list of Solution
        Simplest first: start and dam on the coarsest subdivision; of these those that begin on sam, then where a vibhag
        begins, then elsewhere; of these the fewest avartans, then the shortest dam.

    Raises
    ------
    BadTihai
        When the palla is all silence, start or target lie outside the tala, or a limit makes no sense.
    """
    aim = require_matra("target", tala, target)
    wanted = None if start is None else require_matra("start", tala, start)
    _, widest = _limits(tala, None, dam_most, subdivision, times)
    last_stroke = palla.length - palla.last_onset
    tail = last_stroke if rule == LandingRule.WITHIN else Fraction(0)
    solutions = []
    for count in range(int(widest * subdivision) + 1):
        dam = Fraction(count, subdivision)
        offset = times * palla.length + (times - 1) * dam - tail
        begin = tala.wrap(aim - 1 - offset)
        if wanted in (None, begin):
            cycles = int((begin - 1 + offset) // tala.matras)
            solutions.append(Solution(tala, begin, palla.length, dam, last_stroke, rule, aim, times, cycles))
    return sorted(solutions, key=_by_start)


def _by_start(solution: Solution) -> tuple[Any, ...]:
    """Rank a start: on the coarsest subdivision; sam, then where a vibhag begins, then elsewhere."""
    start, dam = solution.start, solution.dam
    rank = 0 if start == 1 else 1 if start in solution.tala.vibhag_starts else 2
    return math.lcm(start.denominator, dam.denominator), rank, solution.cycles, dam, start


def _limits(
    tala: Tala, palla_most: Fraction | int | None, dam_most: Fraction | int | None, subdivision: int, times: int
) -> tuple[Fraction, Fraction]:
    longest = Fraction(tala.matras if palla_most is None else palla_most)
    widest = Fraction(tala.matras if dam_most is None else dam_most)
    if subdivision < 1 or times < 2 or longest <= 0 or widest < 0:
        raise BadTihai(
            f"Expected a subdivision of at least 1, a palla above 0, a dam of at least 0 and at least 2 pallas; came "
            f"{subdivision}, {spoken(longest)}, {spoken(widest)} and {times}."
        )
    return longest, widest


def _last_strokes(
    palla: int, step: int, ticks: int, rule: LandingRule, last_stroke: Fraction | None
) -> Iterator[tuple[int, bool]]:
    """Yield every length the last stroke may have, in ticks, and whether no dam may follow it."""
    if rule == LandingRule.AFTER:
        yield 0, False
    elif last_stroke is not None:
        if last_stroke * ticks <= palla:
            yield int(last_stroke * ticks), False
    else:
        if palla >= ticks:
            yield ticks, False
        for stroke in range(step, min(palla + 1, ticks), step):
            yield stroke, True


def residues(needed: int, slope: int, cycle: int, most: int) -> Iterator[int]:
    """Yield every count from 0 to ``most`` with slope x count = needed (modulo cycle), in order."""
    common = math.gcd(slope, cycle)
    if needed % common:
        return
    period = cycle // common
    first = needed // common * pow(slope // common, -1, period) % period if period > 1 else 0
    yield from range(first, most + 1, period)


def _simplest(solution: Solution) -> tuple[Any, ...]:
    grid = math.lcm(solution.palla.denominator, solution.dam.denominator, solution.last_stroke.denominator)
    return grid, solution.cycles, solution.dam, solution.palla, -solution.last_stroke
