"""Pairs of times that two people mean the same thing by: as many as can be, and of those the nearest.

Two times within a tolerance may be a pair; each time is in one pair at most. Of the largest sets of pairs (as in
onset and boundary measures of music information retrieval) the one with the least distance in all is taken, so that
what lies between the two of a pair is their difference and not an accident of the search.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Places = NDArray[np.int64]


def pairs_within(first_s: Floats, second_s: Floats, tolerance_s: float) -> tuple[Places, Places]:
    """Return the pairs.

    Parameters
    ----------
    first_s, second_s : ndarray, shape (n,) and (m,)
        Times in any order.
    tolerance_s : float
        How far apart the two of a pair may lie.

    Returns
    -------
    first, second : ndarray of int, shape (k,)
        Numbers of the times of each pair, in order of time.
    """
    from scipy.optimize import linear_sum_assignment

    times = np.concatenate([first_s, second_s])
    order = np.argsort(times, kind="stable")
    # times farther apart than the tolerance from all before them begin a group of their own
    breaks = np.flatnonzero(np.diff(times[order]) > tolerance_s) + 1
    firsts, seconds = [], []
    for group in np.split(order, breaks):
        ones, others = group[group < len(first_s)], group[group >= len(first_s)] - len(first_s)
        if not len(ones) or not len(others):
            continue
        apart_s = np.abs(first_s[ones][:, np.newaxis] - second_s[others])
        far = (len(group) + 1) * (tolerance_s + 1.0)  # dearer than all pairs of a group together
        picked = linear_sum_assignment(np.where(apart_s <= tolerance_s, apart_s, far))
        near = apart_s[picked] <= tolerance_s
        firsts.append(ones[picked[0][near]])
        seconds.append(others[picked[1][near]])
    if not firsts:
        return np.zeros(0, np.int64), np.zeros(0, np.int64)
    first, second = np.concatenate(firsts), np.concatenate(seconds)
    by_time = np.argsort(first_s[first], kind="stable")
    return first[by_time], second[by_time]
