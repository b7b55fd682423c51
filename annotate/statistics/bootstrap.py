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
B. Efron and R. J. Tibshirani, An Introduction to the Bootstrap, 1993 (title from memory). The same as
``scipy.stats.bootstrap`` by its percentile method, which the tests hold it against; that one takes 60 MB and half a
second to load into a server.
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
    difference = _share(first, np.ones((1, len(first))))[0] - _share(second, np.ones((1, len(second))))[0]
    if min(len(first), len(second)) < 2:
        unknown = np.full(len(difference), np.nan)
        return difference, unknown, unknown.copy()

    chance = np.random.default_rng(seed)
    batches = [min(_BATCH, resamples - start) for start in range(0, resamples, _BATCH)]
    drawn = np.concatenate(
        [
            _share(first, _times_drawn(chance, len(first), count))
            - _share(second, _times_drawn(chance, len(second), count))
            for count in batches
        ]
    )
    beyond = 50 * (1 - CONFIDENCE)
    low, high = np.percentile(drawn, [beyond, 100 - beyond], axis=0)
    return difference, low, high


def _times_drawn(chance: np.random.Generator, units: int, resamples: int) -> Floats:
    """Return how often each unit is drawn when as many as there are are drawn with replacement: (resamples, units)."""
    return chance.multinomial(units, np.full(units, 1 / units), size=resamples).astype(float)


def _share(amounts: Floats, times: Floats) -> Floats:
    """Return the shares of the items, shape (resamples, items); 0 where nothing at all was drawn."""
    sums = times @ amounts
    total = sums.sum(axis=1, keepdims=True)
    return np.divide(sums, total, out=np.zeros_like(sums), where=total > 0)
