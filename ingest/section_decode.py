"""The division into segments that explains a course of scores best, when every kind has a least length.

Conventions: segments are (kind, first, last + 1) in rows, in order, without gaps; neighbours differ in kind.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Segment = tuple[int, int, int]


def divided(scores: NDArray[np.float64], least: Sequence[int], change_price: float) -> list[Segment]:
    """Divide rows into segments: the sum of scores less the price of every change is greatest.

    Parameters
    ----------
    scores : ndarray, shape (rows, kinds)
        How well each row agrees with each kind, as a logarithm.
    least : sequence of int, length kinds
        Fewest rows of a segment of each kind. A recording too short for any is one segment.
    change_price : float

    Returns
    -------
    list of (int, int, int)
    """
    rows, kinds = scores.shape
    total = np.vstack([np.zeros(kinds), np.cumsum(scores, axis=0)])
    shortest = np.maximum(1, np.array(least))
    best = np.full((rows + 1, kinds), -np.inf)
    before = np.full((rows + 1, kinds), -1)  # the kind before this segment, -1 for none
    begun = np.zeros((rows + 1, kinds), dtype=int)
    each = np.arange(kinds)
    for row in range(1, rows + 1):
        best[row] = best[row - 1] + scores[row - 1]
        before[row], begun[row] = before[row - 1], begun[row - 1]
        first = row - shortest
        for kind in each[first >= 0]:
            start = first[kind]
            if start:
                others = np.where(each == kind, -np.inf, best[start])
                previous = int(others.argmax())
                value = others[previous] - change_price
            else:
                previous, value = -1, 0.0
            value += total[row, kind] - total[start, kind]
            if value > best[row, kind]:
                best[row, kind], before[row, kind], begun[row, kind] = value, previous, start
    if not np.isfinite(best[rows]).any():
        return [(int(total[rows].argmax()), 0, rows)]
    segments: list[Segment] = []
    kind, last = int(best[rows].argmax()), rows
    while kind >= 0:
        start = int(begun[last, kind])
        segments.append((kind, start, last))
        kind, last = int(before[last, kind]), start
    return segments[::-1]
