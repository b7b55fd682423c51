"""Boosted trees that were learnt elsewhere: sums of many small decision trees, kept as plain arrays.

Nothing but numbers is read from a file; what they mean is named in the file beside them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

from ingest.compiling import compiled

NO_CHILD = -1


@dataclass(frozen=True, eq=False)
class Trees:
    """Trees of one or more outputs; m nodes, t trees.

    Parameters
    ----------
    column : ndarray of int32, shape (m,)
        Which measure a node asks about.
    limit : ndarray of float64, shape (m,)
        Rows whose measure is at most this go left.
    left, right : ndarray of int32, shape (m,)
        Children; `NO_CHILD` for a leaf.
    value : ndarray of float64, shape (m,)
        What a leaf adds.
    root, output : ndarray of int32, shape (t,)
        First node of each tree, and the output that it adds to.
    start : ndarray of float64, shape (o,)
        What each output begins with.
    """

    column: NDArray[np.int32]
    limit: NDArray[np.float64]
    left: NDArray[np.int32]
    right: NDArray[np.int32]
    value: NDArray[np.float64]
    root: NDArray[np.int32]
    output: NDArray[np.int32]
    start: NDArray[np.float64]

    def sums(self, rows: NDArray[np.floating]) -> NDArray[np.float64]:
        """What the trees say of each row, shape (n, outputs): log odds, or logs of shares for several outputs."""
        out = np.repeat(self.start[None, :], len(rows), axis=0)
        asked = np.ascontiguousarray(rows, dtype=np.float64)
        _add(asked, self.column, self.limit, self.left, self.right, self.value, self.root, self.output, out)
        return out

    def chance(self, rows: NDArray[np.floating]) -> NDArray[np.float64]:
        """Chance of the one thing that was learnt, shape (n,)."""
        chance: NDArray[np.float64] = 1 / (1 + np.exp(-self.sums(rows)[:, 0]))
        return chance

    def shares(self, rows: NDArray[np.floating]) -> NDArray[np.float64]:
        """Chances of several things of which one is true, shape (n, outputs)."""
        sums = self.sums(rows)
        weights = np.exp(sums - sums.max(axis=1, keepdims=True))
        shares: NDArray[np.float64] = weights / weights.sum(axis=1, keepdims=True)
        return shares

    def arrays(self, name: str) -> dict[str, NDArray[Any]]:
        """The arrays under names of their own, for a file."""
        return {f"{name}.{each.name}": getattr(self, each.name) for each in fields(self)}

    @classmethod
    def from_arrays(cls, name: str, arrays: Mapping[str, NDArray[Any]]) -> Self:
        """The reverse of `arrays`."""
        return cls(**{each.name: arrays[f"{name}.{each.name}"] for each in fields(cls)})


@compiled()
def _add(rows, column, limit, left, right, value, root, output, out):  # type: ignore[no-untyped-def]
    for row in range(rows.shape[0]):
        for tree in range(len(root)):
            node = root[tree]
            while left[node] != NO_CHILD:
                node = left[node] if rows[row, column[node]] <= limit[node] else right[node]
            out[row, output[tree]] += value[node]
