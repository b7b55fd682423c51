"""Where a phrase comes in a line of notes, a few of its notes changed, left out or added.

P. H. Sellers, The theory and computation of evolutionary distances, Journal of Algorithms 1, 1980: the edit distance
of a pattern to the nearest stretch that ends at each place of a text, in one pass.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ingest.compiling import compiled

CLOSED = -1
"""A place in the line that no phrase goes across."""
_FAR = 1_000_000


def comings(line: NDArray[np.int64], phrase: NDArray[np.int64], most_edits: int) -> NDArray[np.int64]:
    """Find where a phrase comes, the nearest likeness first wherever two would overlap.

    Parameters
    ----------
    line : ndarray of int64, shape (n,)
        `CLOSED` where nothing may go across.
    phrase : ndarray of int64, shape (m,)
    most_edits : int
        How many notes may differ.

    Returns
    -------
    ndarray of int64, shape (k, 3)
        First note, the one after the last, and edits of each, in order of the line.
    """
    edits, begins = _nearest(line, phrase)
    ends = np.flatnonzero(edits <= most_edits) + 1
    order = np.lexsort((ends, edits[ends - 1]))
    taken = np.zeros(len(line), np.bool_)
    found = []
    for end in ends[order].tolist():
        begin = int(begins[end - 1])
        if begin < end and not taken[begin:end].any():
            taken[begin:end] = True
            found.append((begin, end, int(edits[end - 1])))
    return np.array(sorted(found), dtype=np.int64).reshape(-1, 3)


def least_edits(line: NDArray[np.int64], phrase: NDArray[np.int64]) -> int:
    """How many notes differ where the phrase comes nearest within a line; all of them in an empty line."""
    if not len(line):
        return len(phrase)
    return int(_nearest(line, phrase)[0].min(initial=len(phrase)))


def distance(one: NDArray[np.int64], other: NDArray[np.int64]) -> int:
    """How many notes have to be changed, left out or added to make one phrase the other."""
    row = np.arange(len(other) + 1)
    for number, note in enumerate(one.tolist(), 1):
        before, row[0] = row.copy(), number
        for at in range(1, len(row)):
            row[at] = min(before[at] + 1, row[at - 1] + 1, before[at - 1] + (note != other[at - 1]))
    return int(row[-1])


@compiled()
def _nearest(line, phrase):  # type: ignore[no-untyped-def]
    """Edits of the nearest stretch that ends with each note, and where it begins."""
    m = len(phrase)
    cost, begin = np.arange(m + 1), np.zeros(m + 1, np.int64)
    edits, begins = np.full(len(line), _FAR), np.zeros(len(line), np.int64)
    for at in range(len(line)):
        closed = line[at] == CLOSED
        diagonal, diagonal_begin = cost[0], begin[0]
        cost[0], begin[0] = 0, at + 1
        for k in range(1, m + 1):
            up, up_begin = cost[k], begin[k]
            if closed:
                cost[k], begin[k] = k, at + 1
            else:
                best, best_begin = diagonal + (line[at] != phrase[k - 1]), diagonal_begin
                if up + 1 < best:
                    best, best_begin = up + 1, up_begin
                if cost[k - 1] + 1 < best:
                    best, best_begin = cost[k - 1] + 1, begin[k - 1]
                cost[k], begin[k] = best, best_begin
            diagonal, diagonal_begin = up, up_begin
        if not closed:
            edits[at], begins[at] = cost[m], begin[m]
    return edits, begins
