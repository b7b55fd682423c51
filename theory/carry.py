"""Carrying a tihai over: the same palla in another tala or another laya, and what must change for it to land.

Conventions: a laya is a ratio to the tala's matra, as in :mod:`theory.laya`: at 2 the palla and its dam take half as
many matras. The choices are ranked by what they leave alone, as a player would: nothing changes; another start; another
dam from the same start; another start and another dam; another length of the palla. Within each, the smaller change on
the coarser subdivision comes first.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from theory.laya import in_laya
from theory.mends import Mend, apply
from theory.numbers import matras, stored
from theory.paper import PaperCheck, check, require_matra
from theory.solve import starts_and_dams
from theory.talas import Tala
from theory.tihai import LandingRule, Tihai, flat, landing_offset

MOST_PAIRS = 3  # choices that change both start and dam: more would bury the simple ones


@dataclass(frozen=True)
class Choice:
    """One way to make it land.

    Attributes
    ----------
    changes : tuple of str
        What is changed: of "start", "dam", "palla"; empty when nothing is.
    start, dam, palla : Fraction
        The matra to begin on, and the lengths in matras, all as they are after the change.
    paper : PaperCheck
        The check of the result.
    sentence : str
        What to do, in words.
    """

    changes: tuple[str, ...]
    start: Fraction
    dam: Fraction
    palla: Fraction
    paper: PaperCheck
    sentence: str

    def to_json(self) -> dict[str, Any]:
        """Return it as a row for JSON; matras as "n/d"."""
        return {
            "changes": list(self.changes),
            "start": stored(self.start),
            "dam": stored(self.dam),
            "palla": stored(self.palla),
            "cycles": self.paper.cycles,
            "sum": self.paper.sum,
            "sentence": self.sentence,
        }


@dataclass(frozen=True)
class Carried:
    """A tihai in its new tala or laya.

    Attributes
    ----------
    original, unchanged : PaperCheck
        The tihai where it comes from, and the same one in the new tala and laya with nothing changed.
    choices : tuple of Choice
        What to do, best first; each lands.
    sentence : str
        What happens when nothing is changed.
    """

    original: PaperCheck
    unchanged: PaperCheck
    choices: tuple[Choice, ...]
    sentence: str

    def to_json(self) -> dict[str, Any]:
        """Return it for JSON."""
        return {
            "from": self.original.to_json(),
            "unchanged": self.unchanged.to_json(),
            "sentence": self.sentence,
            "choices": [choice.to_json() for choice in self.choices],
        }


def carry(
    tihai: Tihai,
    from_tala: Tala,
    to_tala: Tala,
    *,
    start: Fraction | int | None = None,
    rule: LandingRule = LandingRule.WITHIN,
    target: Fraction | int = 1,
    ratio: Fraction | int = 1,
    subdivision: int = 1,
) -> Carried:
    """Carry a tihai over into another tala or laya.

    Parameters
    ----------
    tihai : Tihai
        As it is played in the first tala.
    from_tala, to_tala : Tala
        Where it comes from and where it goes; the same for another laya only.
    start : Fraction, optional
        The matra it begins on in the first tala; left out, the one from which it lands there.
    rule, target
        As for :func:`theory.paper.check`; the target is the same matra in both talas.
    ratio : Fraction, optional
        How many times as fast it goes in the new tala.
    subdivision : int, optional
        The coarsest subdivision on which new starts and dams are sought, finer where the tihai is.

    Returns
    -------
    Carried
        What happens when nothing is changed, and the choices, best first.

    Raises
    ------
    BadTihai
        When start or target lie outside one of the talas.
    TheoryError
        When the ratio is not above 0.
    """
    aim = require_matra("target", to_tala, require_matra("target", from_tala, target))
    origin = from_tala.wrap(aim - 1 - landing_offset(tihai, rule)) if start is None else Fraction(start)
    original = check(from_tala, origin, tihai, rule, aim)
    moved = faster(tihai, Fraction(ratio))
    begin = to_tala.wrap(origin - 1)
    unchanged = check(to_tala, begin, moved, rule, aim)
    if unchanged.lands:
        kept = Choice((), begin, moved.dam, moved.palla.length, unchanged, f"Nothing needs to change: {unchanged.sum}.")
        return Carried(original, unchanged, (kept,), unchanged.sentence)
    single = {mend.change: _mended(unchanged, mend) for mend in unchanged.mends}
    grid = math.lcm(subdivision, moved.subdivision)
    choices = (single.get("start"), single.get("dam"), *_pairs(unchanged, grid), single.get("palla"))
    return Carried(original, unchanged, tuple(filter(None, choices)), unchanged.sentence)


def faster(tihai: Tihai, ratio: Fraction) -> Tihai:
    """Return a tihai as it lies in the matras of the tala at a ratio: palla, dam and filler all go with it."""
    if ratio == 1:
        return tihai
    filler = in_laya(tihai.filler, ratio) if tihai.filler is not None else None
    return Tihai(in_laya(flat(tihai.palla), ratio), tihai.dam / ratio, tihai.times, filler)


def _mended(paper: PaperCheck, mend: Mend) -> Choice:
    """Apply one mend and check the result."""
    start, tihai = apply(mend, paper.start, paper.tihai)
    mended = check(paper.tala, start, tihai, paper.rule, paper.target)
    return Choice((mend.change,), start, tihai.dam, tihai.palla.length, mended, f"{mend.sentence} {mended.sum}.")


def _pairs(paper: PaperCheck, grid: int) -> list[Choice]:
    """Return the choices that change start and dam: from sam or a vibhag, with the dam nearest to the old one."""
    tala, tihai = paper.tala, paper.tihai
    longest = max(Fraction(tala.matras, 2), tihai.dam)
    solutions = [
        each
        for each in starts_and_dams(
            tala, flat(tihai.palla), paper.target, grid, paper.rule, dam_most=longest, times=tihai.times
        )
        if each.start in tala.vibhag_starts and each.start != paper.start and each.dam != tihai.dam
    ]
    solutions.sort(key=lambda each: (each.dam.denominator, abs(each.dam - tihai.dam), each.start))
    choices = []
    for each in solutions[:MOST_PAIRS]:
        changed = check(tala, each.start, Tihai(tihai.palla, each.dam, tihai.times), paper.rule, paper.target)
        dam = f"a dam of {matras(each.dam)}" if each.dam else "no dam"
        sentence = f"Begin on {tala.name_of(each.start)} with {dam}. {changed.sum}."
        choices.append(Choice(("start", "dam"), each.start, each.dam, tihai.palla.length, changed, sentence))
    return choices
