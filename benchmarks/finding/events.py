"""What is played three times, and what only looks like it: drawn on paper.

Conventions: positions and lengths are Fractions of matras, positions counted from a section's first sam. A *statement*
is counted to its landing stroke: its last onset is the stroke with which the third one lands.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from benchmarks.concerts.plan import SectionPlan
from benchmarks.concerts.strokes import material
from theory.notation import parse
from theory.talas import get_tala

UNITS = (*(Fraction(1, n) for n in (16, 12, 8, 6, 4, 3, 2)), Fraction(1))
UNIT_S = (0.11, 0.42)
"""A stroke of a statement is so long."""
ODD_UNIT_WEIGHT = 0.35  # of divisions by three against those by two
LONGEST_CYCLES, LONGEST_S = 2.5, 24.0
BOLS = ("Dha", "Ti", "Ta", "Ge", "Na", "Tin", "Ke", "Te", "Ra", "Ki", "Dhin")

# drawn so often; of the long ones many are drawn again, for want of room
KINDS = {
    "tihai": 0.32, "chakradar": 0.18, "nauhakka": 0.06,
    "misses": 0.12, "twice": 0.06, "four times": 0.12, "five times": 0.14,
}  # fmt: skip
TRUE_KINDS = ("tihai", "chakradar", "nauhakka")
TIMES = {"twice": 2, "four times": 4, "five times": 5}
PLAYERS = {"tabla": 0.36, "melody": 0.32, "both": 0.32}
TO_MUKHRA, TRANSPOSED, SILENT_DAM = 0.22, 0.25, 0.4
MISSED_BY = (Fraction(-3, 2), Fraction(-1), Fraction(-1, 2), Fraction(1, 2), Fraction(1), Fraction(3, 2))


@dataclass(frozen=True)
class Event:
    """A passage said several times.

    Attributes
    ----------
    what : str
        One of `KINDS`.
    by : str
        One of `PLAYERS`.
    unit : Fraction
        Length of its shortest stroke.
    onsets : tuple of Fraction
        Of a statement, from 0 to its landing stroke.
    symbols : tuple of str
        Bols of a statement.
    words : tuple of int
        Which strokes of a statement are the same one again, as in the tihai that a chakradar's palla ends with.
    statements : tuple of Fraction
        Where they begin.
    landing : Fraction
    target : str
        ``"sam"`` or ``"mukhra"``: what it is aimed at.
    silent : bool
        Whether the string is stopped in the dam.
    shifts : tuple of int
        By how many steps of the scale each statement of the melody is moved.
    """

    what: str
    by: str
    unit: Fraction
    onsets: tuple[Fraction, ...]
    symbols: tuple[str, ...]
    words: tuple[int, ...]
    statements: tuple[Fraction, ...]
    landing: Fraction
    target: str
    silent: bool
    shifts: tuple[int, ...]

    @property
    def palla(self) -> Fraction:
        """From a statement's first stroke to its landing stroke."""
        return self.onsets[-1]

    @property
    def dam(self) -> Fraction:
        """From there to the next statement."""
        return self.statements[1] - self.statements[0] - self.palla


def mukhra_matras(tala_matras: int, matra_s: float) -> int:
    """How many matras before sam the mukhra begins: a third of the cycle, in vilambit 8 s at most."""
    return max(1, min(round(tala_matras * 0.3), int(8.0 / matra_s)))


def draw_events(plan: SectionPlan, rng: np.random.Generator) -> tuple[Event, ...]:
    """The events of a section, in order, apart from each other by part of a cycle."""
    tala = get_tala(plan.tala)
    matra_s = 120.0 / sum(plan.mpm)
    end = Fraction(plan.cycles * tala.matras)
    mukhra = Fraction(mukhra_matras(tala.matras, matra_s))
    free_from = Fraction(max(1, round(1.5 / matra_s)))
    events: list[Event] = []
    while True:
        event = _draw(tala.matras, matra_s, mukhra, free_from, rng)
        if event is None:
            free_from += 1
            if free_from > end:
                break
            continue
        if event.landing > end:
            break
        events.append(event)
        rest = rng.uniform(0.3, 1.0) * min(tala.matras, 9.0 / matra_s)
        free_from = event.landing + max(2, round(rest))
    return tuple(events)


def _draw(
    tala_matras: int, matra_s: float, mukhra: Fraction, free_from: Fraction, rng: np.random.Generator
) -> Event | None:
    """One event that begins at ``free_from`` or later; None where what was drawn is too long or too short."""
    what = str(rng.choice(list(KINDS), p=list(KINDS.values())))
    by = str(rng.choice(list(PLAYERS), p=list(PLAYERS.values())))
    units = [unit for unit in UNITS if UNIT_S[0] < float(unit) * matra_s < UNIT_S[1]]
    weights = np.array([ODD_UNIT_WEIGHT if unit.denominator % 3 == 0 else 1.0 for unit in units])
    unit = units[int(rng.choice(len(units), p=weights / weights.sum()))]
    onsets, symbols, words = _statement(what, rng)
    dam = int(rng.integers(1, 9 if what not in ("chakradar", "nauhakka") else 5))
    times = TIMES.get(what, 3)
    period = (onsets[-1] + dam) * unit
    landing_stroke = onsets[-1] * unit
    before = (times - 1) * period + landing_stroke
    if period * matra_s < 0.7 or before * matra_s > LONGEST_S or before > LONGEST_CYCLES * tala_matras:
        return None
    target = "mukhra" if rng.random() < TO_MUKHRA else "sam"
    aim = -mukhra if target == "mukhra" else Fraction(0)
    cycle = -(-(free_from + before - aim) // tala_matras)
    landing = cycle * tala_matras + aim
    if what == "misses":
        off = [by for by in MISSED_BY if target == "mukhra" or by != -mukhra]
        off = [by for by in off if target == "sam" or by != mukhra]
        landing += off[int(rng.integers(len(off)))]
        if landing - before < free_from:
            return None
    begins = tuple(landing - landing_stroke - period * (times - 1 - number) for number in range(times))
    step = int(rng.choice((-2, -1, 1, 2))) if by == "melody" and rng.random() < TRANSPOSED else 0
    return Event(
        what, by, unit, tuple(onset * unit for onset in onsets), symbols, words, begins, landing, target,
        bool(rng.random() < SILENT_DAM), tuple(step * number for number in range(times)),
    )  # fmt: skip


def _statement(what: str, rng: np.random.Generator) -> tuple[tuple[Fraction, ...], tuple[str, ...], tuple[int, ...]]:
    """Onsets (in units), bols and words of a statement."""
    if what == "nauhakka":
        palla, symbols = _palla(rng, 2, 5)
        return *_thrice(palla, symbols, dam=int(rng.integers(1, 4))), tuple(range(len(palla))) * 3
    if what == "chakradar":
        bol, bol_symbols = _palla(rng, 4, 9)
        palla, symbols = _palla(rng, 2, 5)
        inner, inner_symbols = _thrice(palla, symbols, dam=int(rng.integers(1, 4)))
        after = bol[-1] + int(rng.integers(1, 3))
        words = (*range(len(bol)), *(tuple(range(len(bol), len(bol) + len(palla))) * 3))
        return (*bol, *(after + onset for onset in inner)), (*bol_symbols, *inner_symbols), words
    onsets, symbols = _palla(rng, 3, 11)
    return onsets, symbols, tuple(range(len(onsets)))


def _thrice(
    onsets: tuple[Fraction, ...], symbols: tuple[str, ...], dam: int
) -> tuple[tuple[Fraction, ...], tuple[str, ...]]:
    period = onsets[-1] + dam
    return tuple(period * number + onset for number in range(3) for onset in onsets), symbols * 3


def _palla(rng: np.random.Generator, least: int, most: int) -> tuple[tuple[Fraction, ...], tuple[str, ...]]:
    """A word of ``least`` to ``most`` strokes: one that is in use, or any bols in any rhythm, Dha at its end."""
    known = [
        passage
        for passage in map(parse, material()["tihai"]["pallas"])
        if least <= len(passage.notes) <= most and len(passage.notes) > 1
    ]
    if known and rng.random() < 0.4:
        passage = known[int(rng.integers(len(known)))]
        return tuple(onset * passage.subdivision for onset in passage.onsets), passage.symbols
    count = int(rng.integers(least, most + 1))
    gaps = rng.choice((1, 2, 3), size=count - 1, p=(0.66, 0.26, 0.08))
    onsets = [Fraction(0)]
    for gap in gaps:
        onsets.append(onsets[-1] + int(gap))
    bols = [str(bol) for bol in rng.choice(BOLS, size=count - 1)]
    return tuple(onsets), (*bols, "Dha")
