"""What is compared of a section, stream beside stream, and likenesses anywhere in it.

Conventions: ticks as in `lattice`. Likeness is a cosine, 0 to 1, where two silences count as unlike.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ingest.finding.kernels import EDGES, cosines
from ingest.finding.lattice import Lattice

Ticks = NDArray[np.int64]


class Streams:
    """The streams of a section, side by side, with running sums of their energy.

    Attributes
    ----------
    rows : ndarray of float32, shape (n, EDGES[-1])
    energy : list of ndarray of float64, shape (n,)
        By stream.
    usual : ndarray of float64, shape (3,)
        Mean energy of each stream.
    """

    def __init__(self, lattice: Lattice) -> None:
        streams = (lattice.tabla, lattice.pitch, lattice.plucks[:, None])
        self.rows = np.ascontiguousarray(np.concatenate(streams, axis=1))
        self.energy = [np.square(rows).sum(axis=1, dtype=np.float64) for rows in streams]
        self.usual = np.array([energy.mean() + 1e-4 for energy in self.energy])
        self._running = [np.append(0.0, np.cumsum(energy)) for energy in self.energy]

    def alike(self, stream: int, tick: Ticks, lag: Ticks, low: Ticks, high: Ticks) -> NDArray[np.float64]:
        """Cosine of the ticks from ``tick - high`` to ``tick - low`` with those that lie ``lag`` before them."""
        out = np.empty(len(tick))
        cosines(self.rows, EDGES[stream], EDGES[stream + 1], tick, lag, low, high, out)
        return out

    def busy(self, stream: int, first: Ticks, last: Ticks) -> NDArray[np.float64]:
        """Mean energy from one tick to another, both included, the usual being 1; 0 outside the section."""
        running, n = self._running[stream], len(self.rows)
        begins, ends = np.clip(first, 0, n), np.clip(last + 1, 0, n)
        mean: NDArray[np.float64] = (running[ends] - running[begins]) / np.maximum(ends - begins, 1)
        return mean / self.usual[stream]
