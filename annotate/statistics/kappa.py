"""Cohen's kappa: agreement of two people's labels beyond what their habits alone would give.

kappa = (observed - expected) / (1 - expected), where *observed* is the share of things that both label alike and
*expected* that share if each gave the same labels as often as they do, but at random. 1 is full agreement, 0 no more
than chance; it may be negative. It cannot be told (NaN) where both give one label only.

References
----------
J. Cohen, A Coefficient of Agreement for Nominal Scales, Educational and Psychological Measurement 20(1), 1960 (title
from memory). Checked in the tests against scikit-learn and against a published example.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def confusion(first: pd.Series, second: pd.Series, weights: Floats | None = None) -> pd.DataFrame:
    """Return how often (or with what weight) each pair of labels occurs, the same labels in rows and columns.

    Parameters
    ----------
    first, second : Series of str, shape (n,)
        The labels that the two people give to the same things.
    weights : ndarray, shape (n,), optional
        What each thing counts, such as its seconds; 1 by default.
    """
    labels = sorted({*first, *second})
    table = np.zeros((len(labels), len(labels)))
    places = pd.Index(labels)
    amounts = np.ones(len(first)) if weights is None else weights
    np.add.at(table, (places.get_indexer(pd.Index(first)), places.get_indexer(pd.Index(second))), amounts)
    return pd.DataFrame(table, index=labels, columns=labels)


def kappa(table: Floats) -> Floats:
    """Return Cohen's kappa of confusion tables, shape (..., labels, labels); NaN where it cannot be told."""
    total = table.sum(axis=(-2, -1))
    with np.errstate(divide="ignore", invalid="ignore"):
        observed = np.trace(table, axis1=-2, axis2=-1) / total
        expected = (table.sum(axis=-1) * table.sum(axis=-2)).sum(axis=-1) / total**2
        found = (observed - expected) / (1 - expected)
    return np.where(expected < 1, found, np.nan)


def kappa_interval(table: Floats, seed: int, resamples: int, confidence: float) -> tuple[float, float]:
    """Return the bootstrap interval of kappa: the things labelled are drawn again, with replacement.

    To draw n things from a table of n is to draw a table from the multinomial distribution of its cells. Tables whose
    kappa cannot be told are left out; NaN where none is left.

    Parameters
    ----------
    table : ndarray of counts, shape (labels, labels)
    """
    count = int(table.sum())
    if count < 2:
        return float("nan"), float("nan")
    drawn = np.random.default_rng(seed).multinomial(count, table.ravel() / count, size=resamples)
    found = kappa(drawn.reshape(resamples, *table.shape).astype(float))
    told = found[~np.isnan(found)]
    if not len(told):
        return float("nan"), float("nan")
    low, high = np.quantile(told, [(1 - confidence) / 2, (1 + confidence) / 2])
    return float(low), float(high)
