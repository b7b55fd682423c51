"""How sure a difference of two shares is: the bootstrap over performances, phrases or stretches of sound.

Conventions
-----------
* A share is a ratio of sums: all of an item's amount over all of everything, so long performances weigh more.
* What is drawn again, with replacement, are *units* that hold together: a performance's phrases are like each other,
  and drawing them one by one would make a difference look surer than it is.
* The interval is that of the percentiles, 95 %. With few units it is too narrow, which is why it is never given
  without their number; with one unit on a side there is none.
* A seed goes with every result: the same seed gives the same interval.

References
----------
B. Efron and R. J. Tibshirani, An Introduction to the Bootstrap, 1993 (title from memory); computed by
``scipy.stats.bootstrap``.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

SEED = 20
RESAMPLES = 2000
CONFIDENCE = 0.95
_BATCH = 200


def difference_of_shares(
    first: Floats, second: Floats, seed: int = SEED, resamples: int = RESAMPLES
) -> tuple[Floats, Floats, Floats]:
    """Return the difference of the shares of two sides, with its interval.

    Parameters
    ----------
    first, second : ndarray, shape (units, items)
        Amount of each item in each unit of a side; every side has a total above 0.
    seed : int
    resamples : int

    Returns
    -------
    difference, low, high : ndarray, shape (items,)
        First minus second; low and high are NaN where a side has a single unit.
    """
    from scipy.stats import bootstrap

    difference = _share(first, np.ones((1, len(first))))[0] - _share(second, np.ones((1, len(second))))[0]
    if min(len(first), len(second)) < 2:
        unknown = np.full(len(difference), np.nan)
        return difference, unknown, unknown.copy()

    def statistic(one: Floats, other: Floats, axis: int = -1) -> Floats:  # noqa: ARG001 - scipy's signature
        return (_share(first, _times_drawn(one)) - _share(second, _times_drawn(other))).T

    found = bootstrap(
        (np.arange(len(first)), np.arange(len(second))),
        statistic,
        vectorized=True,
        axis=-1,
        n_resamples=resamples,
        batch=_BATCH,
        confidence_level=CONFIDENCE,
        method="percentile",
        rng=np.random.default_rng(seed),
    )
    return difference, np.asarray(found.confidence_interval.low), np.asarray(found.confidence_interval.high)


def _times_drawn(units: Floats) -> Floats:
    """Return how often each unit was drawn, shape (resamples, units)."""
    drawn = np.atleast_2d(units).astype(np.int64)
    resamples, count = drawn.shape
    cells = (drawn + count * np.arange(resamples)[:, np.newaxis]).ravel()
    return np.bincount(cells, minlength=resamples * count).reshape(resamples, count).astype(float)


def _share(amounts: Floats, times: Floats) -> Floats:
    """Return the shares of the items, shape (resamples, items); 0 where nothing at all was drawn."""
    sums = times @ amounts
    total = sums.sum(axis=1, keepdims=True)
    return np.divide(sums, total, out=np.zeros_like(sums), where=total > 0)
