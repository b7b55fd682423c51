"""Lowest and highest sample of every few milliseconds, and of ever longer stretches: the waveform at any zoom.

Made from the mono signal at `decode.WORK_RATE_HZ`. Cell ``i`` of level ``k`` covers the samples from
``i * FINEST * FACTOR ** k`` on, ``FINEST * FACTOR ** k`` of them; the last cell of a level may cover fewer. Values are
16-bit: 32767 is full scale.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ingest.decode import WORK_RATE_HZ, Samples
from ingest.spool import Spool, let_go

Cells = NDArray[np.int16]

FINEST = 64
FACTOR = 4
COARSEST_CELLS = 256
"""A level with no more cells than this has none above it."""
FULL_SCALE = 32767


@dataclass(frozen=True)
class Levels:
    """The waveform at every zoom.

    Parameters
    ----------
    cell_s : float
        Seconds of a cell of level 0; a cell of level ``k`` is ``FACTOR ** k`` times as long.
    low, high : tuple of ndarray of int16
        Lowest and highest sample of each cell, a pair of arrays for each level, the finest first.
    """

    cell_s: float
    low: tuple[Cells, ...]
    high: tuple[Cells, ...]


@dataclass(frozen=True)
class Waveform:
    """A stretch of a recording's waveform.

    Parameters
    ----------
    edge_s : ndarray of float64, shape (n + 1,)
        Times between which the points lie: point ``i`` covers ``edge_s[i]`` to ``edge_s[i + 1]``.
    low, high : ndarray of float32, shape (n,)
        Lowest and highest sample; full scale is 1.
    """

    edge_s: NDArray[np.float64]
    low: NDArray[np.float32]
    high: NDArray[np.float32]


class LevelMaker:
    """Takes in blocks of mono samples and gives the levels at the end. The finest (5 MB for an hour) lies in a file."""

    def __init__(self) -> None:
        self._left = np.zeros(0, np.float32)
        self._low, self._high = Spool(np.int16), Spool(np.int16)

    def add(self, block: Samples) -> None:
        """Take in consecutive samples, shape (n,)."""
        samples = np.concatenate([self._left, block]) if len(self._left) else block
        whole = len(samples) // FINEST * FINEST
        self._keep(samples[:whole].reshape(-1, FINEST))
        self._left = samples[whole:].copy()

    def finish(self) -> Levels:
        """Levels of everything that was added."""
        if len(self._left):
            self._keep(self._left[None])
            self._left = self._left[:0]
        low, high = [self._low.joined()], [self._high.joined()]
        while len(low[-1]) > COARSEST_CELLS:
            edges = np.arange(0, len(low[-1]), FACTOR)
            low.append(np.minimum.reduceat(low[-1], edges))
            high.append(np.maximum.reduceat(high[-1], edges))
        let_go(low[0], high[0])
        return Levels(FINEST / WORK_RATE_HZ, tuple(low), tuple(high))

    def _keep(self, rows: NDArray[np.float32]) -> None:
        self._low.append(_whole_numbers(rows.min(axis=1)))
        self._high.append(_whole_numbers(rows.max(axis=1)))


def _whole_numbers(values: NDArray[np.float32]) -> Cells:
    return np.rint(np.clip(values, -1, 1) * FULL_SCALE).astype(np.int16)
