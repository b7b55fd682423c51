"""The weights that tell the kinds of sections, learnt on the bench's evenings and concerts (``data/sections.json``).

Multinomial logistic regression on standardised features: a label's score is the sum of the features, each as many
standard deviations from its mean as it is, times the label's weight for it. Which features speak for a kind can so be
read in the file. ``python -m benchmarks.learn_sections`` makes it.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ingest.section_features import Features

FURTHEST = 2.5
FILE = Path(__file__).parent / "data" / "sections.json"


@dataclass(frozen=True)
class Weights:
    """Weights of features for labels.

    Parameters
    ----------
    labels : tuple of str
    mean, scale : ndarray of float64, shape (features,)
    weight : ndarray of float64, shape (labels, features)
    bias : ndarray of float64, shape (labels,)
    """

    labels: tuple[str, ...]
    mean: NDArray[np.float64]
    scale: NDArray[np.float64]
    weight: NDArray[np.float64]
    bias: NDArray[np.float64]

    def scores(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """Log odds up to a constant; shape (..., features) to (..., labels)."""
        scores: NDArray[np.float64] = standardised(values, self.mean, self.scale) @ self.weight.T + self.bias
        return scores


@dataclass(frozen=True)
class SectionWeights:
    """All weights.

    Parameters
    ----------
    features : tuple of str
        Names of the features of a moment, as `section_features.Features` has them.
    kinds : Weights
        From the features of a moment to the kinds, all that is played with tabla being one.
    with_tabla : Weights
        From the features of a stretch with tabla (`of_stretch`) to the gats by laya and the tabla solo.
    change_weight : ndarray of float64, shape (7,)
    change_bias : float
        From `pulse_change.pulse_change_features` to the log odds that one gat ends and another begins.
    """

    features: tuple[str, ...]
    kinds: Weights
    with_tabla: Weights
    change_weight: NDArray[np.float64]
    change_bias: float

    def check(self, features: Features) -> None:
        """Refuse features that are not those that were learnt on.

        Raises
        ------
        ValueError
            Learn again.
        """
        if features.names != self.features:
            odd = sorted(set(features.names) ^ set(self.features))
            raise ValueError(f"The weights in {FILE.name} were learnt on other features: {', '.join(odd) or 'order'}")


def standardised(
    values: NDArray[np.float64], mean: NDArray[np.float64], scale: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Standard deviations from the mean, `FURTHEST` at most: what no lesson had is no stronger a reason than that."""
    return np.clip((values - mean) / scale, -FURTHEST, FURTHEST)


def of_stretch(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Features of a stretch from those of its moments, shape (moments, features): their means, then their spreads."""
    return np.concatenate([values.mean(axis=0), values.std(axis=0)])


@cache
def section_weights() -> SectionWeights:
    """Read the weights."""
    return weights_in(json.loads(FILE.read_text(encoding="utf-8")))


def weights_in(read: dict[str, Any]) -> SectionWeights:
    """The weights as the file has them."""
    change = read["pulse_change"]
    return SectionWeights(
        features=tuple(read["features"]),
        kinds=_weights(read["kinds"]),
        with_tabla=_weights(read["with_tabla"]),
        change_weight=np.array(change["weight"]),
        change_bias=float(change["bias"]),
    )


def _weights(part: dict[str, Any]) -> Weights:
    return Weights(
        labels=tuple(part["weight"]),
        mean=np.array(part["mean"]),
        scale=np.array(part["scale"]),
        weight=np.array(list(part["weight"].values())),
        bias=np.array(list(part["bias"].values())),
    )
