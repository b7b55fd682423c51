"""Every chakradar that lands, and which of them are farmaishi or kamali.

Conventions: a round is a bol and then a tihai of three pallas; between rounds comes the round's own dam. Lengths are
whole multiples of 1/subdivision matra. Counted within: the palla's last stroke lands. Simplest first: the coarsest
subdivision, then the fewest avartans, then the shortest dams, then the shortest bol.

References
----------
Sitar-Malika (Hindi Wikisource scan), pp. 151-159; tablalegacy.com, chakradaar. The conditions for the kinds are tested
stroke by stroke, not taken from a formula.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any, Literal, get_args

from theory.chakradar import closing_onsets
from theory.errors import BadTihai
from theory.numbers import matras, stored
from theory.paper import PaperCheck, check, require_matra
from theory.passage import Note, Passage, join
from theory.solve import ONE, residues
from theory.talas import Tala
from theory.tihai import Chain, LandingRule, Tihai

ChakradarKind = Literal["sadharan", "farmaishi", "kamali"]
MOST_TRIED = 300_000


@dataclass(frozen=True)
class ChakradarSolution:
    """One chakradar that lands.

    Attributes
    ----------
    tala, start, target
        As asked for.
    kind : {"sadharan", "farmaishi", "kamali"}
        By which of its dhas meet the target.
    bol : Fraction
        What comes before the tihai in each round, in matras.
    palla : Passage
        The phrase: the one given, or one of the length found.
    dam, round_dam : Fraction
        The dam between pallas, and that between rounds, in matras.
    cycles : int
        Avartans completed when it lands.
    """

    tala: Tala
    start: Fraction
    target: Fraction
    kind: ChakradarKind
    bol: Fraction
    palla: Passage
    dam: Fraction
    round_dam: Fraction
    times: int
    cycles: int

    @property
    def tihai(self) -> Tihai:
        """The chakradar, with one stroke for the bol."""
        inner = Tihai(self.palla, self.dam, self.times)
        if not self.bol:
            return Tihai(inner, self.round_dam, self.times)
        system = self.palla.system
        lead = Passage(system, (Note("S" if system == "sargam" else "Ti", Fraction(0), self.bol),), self.bol)
        return Tihai(Chain((lead, inner)), self.round_dam, self.times)

    @cached_property
    def paper(self) -> PaperCheck:
        """The check on paper."""
        return check(self.tala, self.start, self.tihai, LandingRule.WITHIN, self.target)

    @property
    def sentence(self) -> str:
        """What to play, in words."""
        dam = f" with a dam of {matras(self.dam)}" if self.dam else ""
        between = f"{matras(self.round_dam)} between rounds" if self.round_dam else "no dam between rounds"
        lead = f"A bol of {matras(self.bol)}, then a palla" if self.bol else "A palla"
        return (
            f"{self.kind}: {lead} of {matras(self.palla.length)} {self.times} times{dam}; {between}: {self.paper.sum}"
        )

    def to_json(self) -> dict[str, Any]:
        """Return it as a row for JSON; matras as "n/d"."""
        return {
            "kind": self.kind,
            "start": stored(self.start),
            "bol": stored(self.bol),
            "palla": stored(self.palla.length),
            "dam": stored(self.dam),
            "round_dam": stored(self.round_dam),
            "times": self.times,
            "total": stored(self.tihai.length),
            "cycles": self.cycles,
            "sum": self.paper.sum,
        }


def phrase(length: Fraction, dhas: int = 1) -> Passage:
    """Return a phrase of a length that ends with so many dhas of a matra each.

    Raises
    ------
    BadTihai
        When it is too short for them.
    """
    lead = length - dhas
    if lead < 0:
        raise BadTihai(f"A palla of {matras(length)} has no room for {dhas} dhas of a matra each.")
    before = [Passage("bols", (Note("Ti", Fraction(0), lead),), lead)] if lead else []
    closing = tuple(Note("Dha", Fraction(count), ONE) for count in range(dhas))
    return join([*before, Passage("bols", closing, Fraction(dhas))])


def solve_chakradars(
    tala: Tala,
    start: Fraction | int = ONE,
    target: Fraction | int = ONE,
    subdivision: int = 1,
    *,
    kind: ChakradarKind | None = None,
    pallas: Iterable[Passage] = (),
    bol_most: Fraction | int | None = None,
    dam_most: Fraction | int = 2,
    round_dam_most: Fraction | int = 4,
    times: int = 3,
) -> list[ChakradarSolution]:
    """Find every chakradar that lands.

    Parameters
    ----------
    tala, start, target, subdivision
        As for :func:`theory.solve.solve`.
    kind : {"sadharan", "farmaishi", "kamali"}, optional
        Only this kind.
    pallas : iterable of Passage, optional
        The phrases to try; left out, every length of whole matras up to half an avartan, with one dha at the end
        (for kamali, as many dhas as rounds).
    bol_most, dam_most, round_dam_most : Fraction, optional
        The longest bol (left out, one avartan) and dams, in matras.
    times : int, optional
        How many rounds, and how many pallas in each.

    Returns
    -------
    list of ChakradarSolution
        Simplest first.

    Raises
    ------
    BadTihai
        When start or target lie outside the tala, a limit makes no sense, or there would be too much to try.
    """
    begin, aim = require_matra("start", tala, start), require_matra("target", tala, target)
    if kind is not None and kind not in get_args(ChakradarKind):
        raise BadTihai(f"'{kind}' is no kind of chakradar: write one of {', '.join(get_args(ChakradarKind))}.")
    longest = Fraction(tala.matras if bol_most is None else bol_most)
    if subdivision < 1 or times < 2 or min(longest, dam_most, round_dam_most) < 0:
        raise BadTihai("Expected a subdivision of at least 1, at least 2 rounds, and limits that are not negative.")
    phrases = list(pallas) or _phrases(tala, times if kind == "kamali" else 1)
    if len(phrases) * (longest * subdivision + 1) * (dam_most * subdivision + 1) > MOST_TRIED:
        raise BadTihai(
            f"That is more than {MOST_TRIED:,} chakradars to try: "
            "take a coarser subdivision, a shorter bol or a shorter dam."
        )
    found = [
        solution
        for palla in phrases
        for solution in _landing(tala, begin, aim, subdivision, palla, longest, dam_most, round_dam_most, times)
        if kind in (None, solution.kind)
    ]
    return sorted(found, key=_simplest)


def _phrases(tala: Tala, dhas: int) -> list[Passage]:
    return [phrase(Fraction(length), dhas) for length in range(dhas, max(dhas, tala.matras // 2) + 1)]


def _landing(
    tala: Tala,
    start: Fraction,
    target: Fraction,
    subdivision: int,
    palla: Passage,
    bol_most: Fraction,
    dam_most: Fraction | int,
    round_dam_most: Fraction | int,
    times: int,
) -> Iterator[ChakradarSolution]:
    """Yield every chakradar of a palla that lands: with every bol and dam, each dam between rounds that makes it land.

    Most of what is tried does not land, so it is tried in ticks: whole parts of a matra that hold all lengths exactly.
    """
    tail = palla.length - palla.last_onset
    grid = math.lcm(subdivision, *(each.denominator for each in (start, target, palla.length, tail)))
    step, cycle = grid // subdivision, tala.matras * grid
    length, last, needed = int(palla.length * grid), int(tail * grid), int((target - start) * grid)
    widest = int(round_dam_most * subdivision)
    for bol in range(int(bol_most * subdivision) + 1):
        for dam in range(int(dam_most * subdivision) + 1):
            round_length = bol * step + times * length + (times - 1) * dam * step
            for between in residues(needed - times * round_length + last, (times - 1) * step, cycle, widest):
                landing = int((start - 1) * grid) + times * round_length + (times - 1) * between * step - last
                lengths = (Fraction(count, subdivision) for count in (bol, dam, between))
                yield _solution(tala, start, target, palla, times, landing // cycle, *lengths)


def _solution(
    tala: Tala,
    start: Fraction,
    target: Fraction,
    palla: Passage,
    times: int,
    cycles: int,
    bol: Fraction,
    dam: Fraction,
    between: Fraction,
) -> ChakradarSolution:
    round_length = bol + times * palla.length + (times - 1) * dam
    # from the k-th phrase of the k-th round to the next such phrase
    diagonal = round_length + between + palla.length + dam
    kind = _kind(tala, start + bol - target, diagonal, closing_onsets(palla), times)
    return ChakradarSolution(tala, start, target, kind, bol, palla, dam, between, times, cycles)


def _kind(tala: Tala, first: Fraction, diagonal: Fraction, closing: tuple[Fraction, ...], times: int) -> ChakradarKind:
    """Tell the kind of a chakradar that lands; ``first`` is where its first phrase begins, counted from the target."""
    places = [first + turn * diagonal for turn in range(times)]
    if len(closing) == times and _all_meet(tala, (a + b for a, b in zip(places, closing, strict=True))):
        return "kamali"
    return "farmaishi" if _all_meet(tala, (place + closing[-1] for place in places)) else "sadharan"


def _all_meet(tala: Tala, places: Iterable[Fraction]) -> bool:
    return all(place % tala.matras == 0 for place in places)


def _simplest(solution: ChakradarSolution) -> tuple[Any, ...]:
    lengths = (solution.bol, solution.palla.length, solution.dam, solution.round_dam)
    grid = math.lcm(*(length.denominator for length in lengths))
    return grid, solution.cycles, solution.dam + solution.round_dam, solution.bol, solution.palla.length
