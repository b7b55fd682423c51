"""A place among the others: what speaks for and against it because of how likely the places around it are.

Three pallas are told again a matra off, at twice the spacing, as the tihai within a chakradar or as the chakradar
around a tihai, each of them likely; which of them it is shows when they are held against one another.

Conventions: ticks as in `lattice`; what is told of a place is its log odds by the trees that look at each alone.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ingest.finding.close_look import OVERLAP, Looked
from ingest.finding.lattice import Floats

OF_COMPANY: tuple[str, ...] = (
    "told",
    "earlier landing",
    "later landing",
    "shorter spacing",
    "longer spacing",
    "tihai within the third",
    "tihai within the second",
    "tihai within the first",
    "tihai within all three",
    "whole that ends here",
    "whole that a part of ends here",
    "a spacing later",
    "a spacing earlier",
    "best that overlaps",
    "chances that overlap",
    "told less the best that overlaps",
)
"""What is measured of a place among the others, in order: log odds of the likeliest such place, but for the chances."""

LEAST = -8.0
"""Places told less than this are no company, and are not judged again."""
NOBODY = -12.0
FAR_MATRAS = 4
SHORTER, LONGER, WITHIN = 0.8, 1.25, 0.45
"""Shares of a spacing: what is a shorter one, a longer one, and that of a tihai within a palla."""
_ROWS = 256


def company(looked: Looked, told: NDArray[np.float64], parts: int) -> tuple[NDArray[np.int64], Floats]:
    """Hold every likely place of a section against the others.

    Parameters
    ----------
    looked : Looked
    told : ndarray of float64, shape (n,)
        Log odds of each place alone.
    parts : int
        Ticks of a matra.

    Returns
    -------
    at : ndarray of int64, shape (k,)
        The places that are told `LEAST` and more.
    measures : ndarray of float32, shape (k, len(OF_COMPANY))
    """
    at = np.flatnonzero(told > LEAST)
    landing, spacing, odds = looked.landing[at], looked.spacing[at], told[at]
    begins = landing - 2 * spacing - looked.palla("both")[at]
    chance = 1 / (1 + np.exp(-odds))
    measures = np.empty((len(at), len(OF_COMPANY)), np.float32)
    near = max(1, parts // 12)
    for first in range(0, len(at), _ROWS):
        rows = slice(first, first + _ROWS)
        its_landing, its_spacing, its_begin = landing[rows, None], spacing[rows, None], begins[rows, None]
        share, away = spacing / its_spacing, landing - its_landing
        same_spacing, same_landing = np.abs(spacing - its_spacing) <= 1, np.abs(away) <= near
        itself = same_spacing & same_landing
        shared = np.minimum(its_landing, landing) - np.maximum(its_begin, begins)
        overlaps = (shared > OVERLAP * np.minimum(its_landing - its_begin, landing - begins)) & ~itself
        back = [np.abs(away + rounds * its_spacing) <= near for rounds in (0, 1, 2)]
        part_of = [np.abs(away - rounds * spacing) <= near for rounds in (1, 2)]
        within = [_best(odds, each & (share <= WITHIN)) for each in back]
        best_overlapping = _best(odds, overlaps)
        measures[rows] = np.stack(
            [
                odds[rows],
                _best(odds, same_spacing & (away < -near) & (away >= -FAR_MATRAS * parts)),
                _best(odds, same_spacing & (away > near) & (away <= FAR_MATRAS * parts)),
                _best(odds, same_landing & (share < SHORTER) & (share > WITHIN)),
                _best(odds, same_landing & (share > LONGER) & (share < 1 / WITHIN)),
                *within,
                np.min(within, axis=0),
                _best(odds, same_landing & (share >= 1 / WITHIN)),
                _best(odds, (part_of[0] | part_of[1]) & (share >= 1 / WITHIN)),
                _best(odds, same_spacing & (np.abs(away - its_spacing) <= near)),
                _best(odds, same_spacing & back[1]),
                best_overlapping,
                np.where(overlaps, chance, 0.0).sum(axis=1),
                odds[rows] - best_overlapping,
            ],
            axis=1,
        )
    return at, measures


def _best(odds: NDArray[np.float64], which: NDArray[np.bool_]) -> NDArray[np.float64]:
    """The highest log odds of each row's places."""
    best: NDArray[np.float64] = np.where(which, odds, NOBODY).max(axis=1)
    return best
