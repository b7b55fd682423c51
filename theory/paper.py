"""Checking a tihai on paper: does it land, by how much does it miss, and what are the smallest mends.

Conventions: matras are Fractions, numbered from 1 = sam; a start or target lies from 1 up to, not with, M + 1 in a tala
of M matras (33/2 is the half after matra 16). It lands iff the landing matra equals the target exactly. A *position*
counts on through the cycles, from 1 = the sam of the cycle the tihai begins in.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from theory import wording
from theory.chakradar import Dha, dhas_of, hits
from theory.conversion import Conversion, convert
from theory.errors import BadTihai
from theory.kinds import Kind, kinds_of
from theory.mends import Mend, shortfall, smallest_mends
from theory.numbers import spoken, stored
from theory.talas import Tala
from theory.tihai import LandingRule, Tihai, kind_of, landing_offset

__all__ = ["Mend", "PaperCheck", "check", "palla_positions", "require_matra"]


@dataclass(frozen=True, slots=True)
class PaperCheck:
    """What the arithmetic says of one tihai.

    Attributes
    ----------
    tala, start, tihai, rule, target
        What was checked.
    lands : bool
        Whether the landing comes exactly on the target.
    landing_matra : Fraction
        The matra it comes on, from 1 up to, not with, M + 1.
    shortfall : Fraction
        How far before the nearest target it comes, in matras, more than -M/2 and at most M/2; negative when it
        overshoots, 0 iff it lands.
    total : Fraction
        What is played, as taught: all pallas and dams, in matras. Within, the landing stroke is part of it.
    cycles : int
        Avartans completed when the landing comes, from the sam of the cycle it begins in.
    sum : str
        The sum as taught: "5 + 1 + 5 + 1 + 5 = 17 = 16 + 1".
    subdivision : int
        Into how many parts a matra is divided for start, palla, dam and target to be exact.
    mends : tuple of Mend
        The smallest change of start, of dam and of palla that lands; empty when it lands.
    sentence : str
        The result in words, one line.
    lines : tuple of str
        Where every palla, dam and the landing fall, line by line, with the sum at the end.
    """

    tala: Tala
    start: Fraction
    tihai: Tihai
    rule: LandingRule
    target: Fraction
    lands: bool
    landing_matra: Fraction
    shortfall: Fraction
    total: Fraction
    cycles: int
    sum: str
    subdivision: int
    mends: tuple[Mend, ...]
    sentence: str
    lines: tuple[str, ...]

    @property
    def kind(self) -> str:
        """The kind of tihai: bedam, damdar, nauhakka, chakradar."""
        return kind_of(self.tihai)

    @property
    def kinds(self) -> tuple[Kind, ...]:
        """Every name that fits the tihai, each with its definition and source."""
        return kinds_of(self.tala, self.start, self.tihai, self.rule, self.target)

    @property
    def hits(self) -> tuple[Dha, ...]:
        """The closing strokes of a chakradar that meet the target, round by round; empty for a plain tihai."""
        return hits(self.tala, dhas_of(self.tihai, self.rule, self.start), self.target)

    @property
    def other_rule(self) -> Conversion:
        """The tihai as counted by the other landing rule: the same sound."""
        return convert(self.tihai, self.rule)

    @property
    def other_sum(self) -> str:
        """The sum as taught where the other rule is used; empty where that rule cannot count it."""
        other = self.other_rule
        if other.tihai is None:
            return ""
        return wording.taught_sum(self.tala, self.start, other.tihai, other.rule, self.target, self.shortfall)

    def to_json(self) -> dict[str, Any]:
        """Return the result for JSON; every count of matras is text "n/d"."""
        return {
            "lands": self.lands,
            "landing_matra": stored(self.landing_matra),
            "shortfall": stored(self.shortfall),
            "total": stored(self.total),
            "cycles": self.cycles,
            "sum": self.sum,
            "mends": [mend.to_json() for mend in self.mends],
            "rule": str(self.rule),
            "target": stored(self.target),
            "start": stored(self.start),
            "tala": self.tala.key,
            "kind": self.kind,
            "subdivision": self.subdivision,
            "sentence": self.sentence,
            "lines": list(self.lines),
            "kinds": [kind.to_json() for kind in self.kinds],
            "hits": [dha.to_json() for dha in self.hits],
            "other_rule": {
                "rule": str(self.other_rule.rule),
                "sum": self.other_sum,
                "sentence": self.other_rule.sentence,
            },
        }


def check(
    tala: Tala, start: Fraction | int, tihai: Tihai, rule: LandingRule, target: Fraction | int = Fraction(1)
) -> PaperCheck:
    """Check a tihai on paper.

    Parameters
    ----------
    tala : Tala
        The tala it is played in.
    start : Fraction
        The matra it begins on; sam is 1.
    tihai : Tihai
        What is played.
    rule : LandingRule
        Whether the landing stroke is the palla's last one (within) or follows the last palla (after).
    target : Fraction, optional
        The matra it should land on: sam, or the first of the mukhra, or an intended atit or anagat landing.

    Returns
    -------
    PaperCheck
        The landing, the sum as taught, and the smallest mends where it misses.

    Raises
    ------
    BadTihai
        When start or target lie outside the tala.
    """
    begin, aim = require_matra("start", tala, start), require_matra("target", tala, target)
    offset = landing_offset(tihai, rule)
    gap = shortfall(tala, begin, tihai, rule, aim)
    subdivision = math.lcm(begin.denominator, tihai.subdivision, aim.denominator)
    figures = wording.taught_sum(tala, begin, tihai, rule, aim, gap)
    return PaperCheck(
        tala=tala,
        start=begin,
        tihai=tihai,
        rule=rule,
        target=aim,
        lands=gap == 0,
        landing_matra=tala.wrap(begin - 1 + offset),
        shortfall=gap,
        total=tihai.length,
        cycles=(begin - 1 + offset) // tala.matras,
        sum=figures,
        subdivision=subdivision,
        mends=smallest_mends(tala, begin, tihai, rule, aim, subdivision),
        sentence=wording.verdict(tala, begin, offset, rule, aim, gap),
        lines=(*wording.line_by_line(tala, begin, tihai, rule, offset), figures),
    )


def palla_positions(paper: PaperCheck) -> tuple[tuple[Fraction, ...], Fraction]:
    """Return where each palla begins and where the landing comes, counted on through the cycles.

    Returns
    -------
    tuple of (tuple of Fraction, Fraction)
        Positions in matras, 1 being the sam of the cycle the tihai begins in: in teental the next sam is 17.
    """
    pallas = tuple(paper.start + onset for onset in paper.tihai.statement_onsets)
    return pallas, paper.start + landing_offset(paper.tihai, paper.rule)


def require_matra(what: str, tala: Tala, matra: Fraction | int) -> Fraction:
    """Return a matra number of a tala as a Fraction.

    Raises
    ------
    BadTihai
        When it lies outside the tala; ``what`` says which number it is.
    """
    if not 1 <= matra < tala.matras + 1:
        raise BadTihai(
            f"The {what} is matra {spoken(Fraction(matra))}, outside {tala.name}: "
            f"matras run from 1 (sam) to {tala.matras}, with fractions up to below {tala.matras + 1}."
        )
    return Fraction(matra)
