"""What a line's own habit makes likely: a chain that tells each note from the one or two before it.

How far back it looks, one note or two, is chosen by the line itself (Bayesian information criterion: G. Schwarz,
Estimating the dimension of a model, Annals of Statistics 6, 1978): a short line cannot show more.

Conventions: symbols are whole numbers from 0; logarithms are natural.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

ADDED = 0.5
"""Added to every count, so that what was not heard yet is unlikely and not impossible."""
SAID_AGAIN = 5
"""Runs of so many notes are held to be one thing said again; what the chain learns from them it learns once."""


def surprises(line: NDArray[np.int64], symbols: int) -> NDArray[np.float64]:
    """How much each note surprises after those before it, in nats, shape (n,).

    Parameters
    ----------
    line : ndarray of int64, shape (n,)
        0 to ``symbols - 1``.
    symbols : int
    """
    weight = _once(line, symbols)
    told = {order: _of_order(line, symbols, order, weight) for order in (1, 2)}
    costs = {order: _criterion(line, told[order], symbols, order, weight) for order in told}
    return told[2] if costs[2] < costs[1] else told[1]


def _once(line: NDArray[np.int64], symbols: int) -> NDArray[np.float64]:
    """How much each note counts for the habit: what is said again word for word counts once in all."""
    run = _contexts(line, symbols, SAID_AGAIN - 1) * (symbols + 1) + line
    _, place, count = np.unique(run, return_inverse=True, return_counts=True)
    return 1.0 / count[place]


def _contexts(line: NDArray[np.int64], symbols: int, order: int) -> NDArray[np.int64]:
    """The notes before each note as one number; before the line's beginning stands a symbol of its own."""
    padded = np.concatenate([np.full(order, symbols, np.int64), line])
    context = np.zeros(len(line), np.int64)
    for back in range(order):
        context = context * (symbols + 1) + padded[order - 1 - back : order - 1 - back + len(line)]
    return context


def _of_order(line: NDArray[np.int64], symbols: int, order: int, weight: NDArray[np.float64]) -> NDArray[np.float64]:
    context = _contexts(line, symbols, order)
    _, here = np.unique(context, return_inverse=True)
    _, pair = np.unique(context * symbols + line, return_inverse=True)
    of_context, of_pair = np.bincount(here, weight), np.bincount(pair, weight)
    share = (of_pair[pair] + ADDED) / (of_context[here] + ADDED * symbols)
    found: NDArray[np.float64] = -np.log(share)
    return found


def _criterion(
    line: NDArray[np.int64], told: NDArray[np.float64], symbols: int, order: int, weight: NDArray[np.float64]
) -> float:
    contexts = len(np.unique(_contexts(line, symbols, order)))
    return float(2 * told @ weight + contexts * (symbols - 1) * np.log(max(weight.sum(), 2.0)))
