"""A judge that was not learnt: three like passages that differ from what is around them, so that tests of proposing do
not change whenever the finder learns anew."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ingest.finding.close_look import VIEWS, Looked
from ingest.finding.lattice import Lattice
from ingest.finding.sieve import FirstLook

STREAM = {"tabla": "tabla", "lead": "melody"}


class PlainJudge:
    """Says the same as `ingest.finding.judge.Judge`, by rules of thumb."""

    def sifted(self, first_look: FirstLook) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        return first_look.scanned.seeds(first_look.a_minute(1000))

    def chances(self, _: Lattice, looked: Looked) -> NDArray[np.float64]:
        alone = [self._odds(looked, view, stream) for view, stream in STREAM.items()]
        return np.asarray(1 / (1 + np.exp(-np.max(alone, axis=0))), np.float64)

    def players(self, looked: Looked, at: NDArray[np.int64]) -> NDArray[np.float64]:
        tabla, lead = (self._odds(looked, view, stream)[at] for view, stream in STREAM.items())
        chances = np.exp([tabla, lead, (tabla + lead) / 2 + 0.5])
        return np.asarray((chances / chances.sum(axis=0)).T, np.float64)

    def palla_of(self, lattice: Lattice, looked: Looked, at: int, by: NDArray[np.float64]) -> int:
        palla = int(looked.palla(VIEWS[int(by.argmax())])[at])
        return max(lattice.parts, palla // lattice.parts * lattice.parts)

    def confidence(self, chance: ArrayLike) -> NDArray[np.float64]:
        return np.asarray(chance, np.float64)

    def _odds(self, looked: Looked, view: str, stream: str) -> NDArray[np.float64]:
        column: dict[str, Any] = looked.column
        least, before, after = (column[f"{view}: {stream} {name}"] for name in ("least", "before", "after"))
        odds = 6 * (least - 0.6) + 4 * (least - np.maximum(before, after)) + 2 * column["on sam"] - 2
        return np.asarray(odds, np.float64)
