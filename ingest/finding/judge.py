"""What was learnt of tihais: from measures to the chance of one, who plays it, and where its palla begins.

Learnt on concerts rendered by ``benchmarks/finding`` (`python -m benchmarks.finding.learn`), never on the seeds that
are judged on; the figures of the learning are in ``data/finding.json`` beside the trees.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ingest.finding.close_look import NAMES, VIEWS, Looked
from ingest.finding.company import company
from ingest.finding.lattice import Floats, Lattice
from ingest.finding.palla_start import lengths_of, measure_lengths
from ingest.finding.sieve import SIFTED_A_MINUTE, FirstLook
from ingest.finding.trees import Trees

TREES = ("sieve", "tihai", "among", "player", "palla")
SHARE_COLUMNS = [NAMES.index(f"{view}: share") for view in VIEWS]


@dataclass(frozen=True, eq=False)
class Judge:
    """The trees, and how their chances turn out.

    Parameters
    ----------
    sieve : Trees
        Whether a place deserves the close look, by what the first look knows (`sieve.FIRST`).
    tihai : Trees
        Whether three pallas end there that land, by the close look (`close_look.NAMES`).
    among : Trees
        The same, by how the places around it are told as well (`company.OF_COMPANY` after `close_look.NAMES`).
    player : Trees
        Which of `VIEWS` plays.
    palla : Trees
        Whether a length is the palla's.
    told, turned_out : ndarray of float64, shape (k,)
        Chances told, ascending, and the shares of them that proved right.
    """

    sieve: Trees
    tihai: Trees
    among: Trees
    player: Trees
    palla: Trees
    told: NDArray[np.float64]
    turned_out: NDArray[np.float64]

    def sifted(self, first_look: FirstLook) -> tuple[NDArray[np.int64], NDArray[np.int64], Floats]:
        """The places that deserve a close look: numbers of their spacings and landings, and what is told of them."""
        return first_look.sifted(self.sieve, first_look.a_minute(SIFTED_A_MINUTE))

    def chances(self, lattice: Lattice, looked: Looked) -> NDArray[np.float64]:
        """How likely each place is the landing of a tihai, as told by the trees, shape (n,)."""
        chances = np.zeros(len(looked.landing))
        at, among = company(looked, self.tihai.sums(looked.measures)[:, 0], lattice.parts)
        chances[at] = self.among.chance(np.concatenate([looked.measures[at], among], axis=1))
        return chances

    def players(self, looked: Looked, at: NDArray[np.int64]) -> NDArray[np.float64]:
        """Chances of each of `VIEWS` to be who plays, shape (k, 3)."""
        return self.player.shares(looked.measures[at])

    def palla_of(self, lattice: Lattice, looked: Looked, at: int, by: NDArray[np.float64]) -> int:
        """Length of the palla that ends at a place, in ticks."""
        landing, spacing = int(looked.landing[at]), int(looked.spacing[at])
        lengths = lengths_of(lattice, spacing)
        shares = looked.measures[at, SHARE_COLUMNS]
        measured = measure_lengths(lattice, landing, spacing, lengths, by, shares)
        return int(lengths[self.palla.sums(measured)[:, 0].argmax()])

    def confidence(self, chance: ArrayLike) -> NDArray[np.float64]:
        """Chances as they turn out: of those given 0.8 about eight in ten are right, where they were learnt."""
        return np.interp(np.asarray(chance, np.float64), self.told, self.turned_out)


@cache
def judge() -> Judge:
    """What was learnt, read once."""
    with (files("ingest") / "data" / "finding.npz").open("rb") as file, np.load(file, allow_pickle=False) as arrays:
        sieve, tihai, among, player, palla = (Trees.from_arrays(name, arrays) for name in TREES)
        return Judge(sieve, tihai, among, player, palla, arrays["told"], arrays["turned_out"])
