"""Find the tihais of a section: where they land, how far apart their pallas are, where these begin, who plays them.

Conventions: ticks as in `lattice`. A palla is counted from its first stroke to its landing stroke, and the dam from
there to the next palla, so that a tihai takes three pallas and two dams whatever the landing stroke is counted to.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ingest.finding.close_look import OVERLAP, VIEWS, Looked, look_at, overlap
from ingest.finding.inner import Inner, inner_tihai
from ingest.finding.judge import Judge, judge
from ingest.finding.lattice import Lattice
from ingest.finding.mukhra import Mukhra, find_mukhra
from ingest.finding.scan import scan
from ingest.finding.sieve import FirstLook

LEAST_CHANCE = 0.003
MOST_A_MINUTE = 12


@dataclass(frozen=True, eq=False)
class Found:
    """A tihai found.

    Parameters
    ----------
    landing, spacing, palla : int
        In ticks.
    chance : float
        As told by the trees, 0 to 1.
    confidence : float
        As such chances turn out.
    played_by : str
        One of `close_look.VIEWS`.
    inner : Inner or None
        The tihai that each palla ends with, of a chakradar or nauhakka.
    measures : ndarray of float32
        By `close_look.NAMES`.
    """

    landing: int
    spacing: int
    palla: int
    chance: float
    confidence: float
    played_by: str
    inner: Inner | None
    measures: NDArray[np.float32]

    @property
    def begins(self) -> tuple[int, int, int]:
        """Ticks at which the pallas begin."""
        first = self.landing - 2 * self.spacing - self.palla
        return first, first + self.spacing, first + 2 * self.spacing


@dataclass(frozen=True, eq=False)
class Findings:
    """What was found in a section, the likeliest first, and its mukhra."""

    found: tuple[Found, ...]
    mukhra: Mukhra | None


def find(lattice: Lattice, mukhra_matra: int | None = None, knows: Judge | None = None) -> Findings:
    """Find the tihais of a section.

    Parameters
    ----------
    lattice : Lattice
    mukhra_matra : int, optional
        On which matra the mukhra begins, when a person says so; else it is looked for.
    knows : Judge, optional
        What was learnt; by default what comes with the program.
    """
    mukhra = Mukhra(mukhra_matra, 1.0, 1.0) if mukhra_matra is not None else find_mukhra(lattice)
    knows = judge() if knows is None else knows
    first_look = FirstLook(lattice, scan(lattice), mukhra)
    looked = look_at(first_look, *knows.sifted(first_look))
    if not len(looked.landing):
        return Findings((), mukhra)
    return Findings(tuple(_picked(lattice, looked, knows, max(4, first_look.a_minute(MOST_A_MINUTE)))), mukhra)


def _picked(lattice: Lattice, looked: Looked, knows: Judge, most: int) -> list[Found]:
    """The likeliest places that do not overlap, each with its palla."""
    chances = knows.chances(lattice, looked)
    order = np.argsort(-chances, kind="stable")
    order = order[chances[order] >= LEAST_CHANCE]
    rough = looked.landing - 2 * looked.spacing - looked.palla("both")
    kept: list[Found] = []
    for at in order:
        landing = int(looked.landing[at])
        if any(overlap(rough[at], landing, each.begins[0], each.landing) > OVERLAP for each in kept):
            continue
        by = knows.players(looked, np.array([at]))[0]
        palla = knows.palla_of(lattice, looked, int(at), by)
        spacing = int(looked.spacing[at])
        begins = landing - 2 * spacing - palla
        if begins < 0 or any(overlap(begins, landing, each.begins[0], each.landing) > OVERLAP for each in kept):
            continue
        played_by = VIEWS[int(by.argmax())]
        kept.append(
            Found(
                landing, spacing, palla, float(chances[at]), float(knows.confidence(chances[at])), played_by,
                inner_tihai(lattice, landing, spacing, palla, played_by), looked.measures[at],
            )
        )  # fmt: skip
        if len(kept) == most:
            break
    return kept
