"""Boosted trees of a library, and the same as plain arrays."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from sklearn.ensemble import HistGradientBoostingClassifier

from ingest.finding.trees import NO_CHILD, Trees


def as_trees(model: HistGradientBoostingClassifier) -> Trees:
    """The trees of a model as plain arrays; that they say the same is tested."""
    parts: list[Any] = []
    root, output, first = [], [], 0
    for several in model._predictors:
        for number, predictor in enumerate(several):
            nodes = predictor.nodes
            root.append(first)
            output.append(number)
            leaf = nodes["is_leaf"] > 0
            children = [np.where(leaf, NO_CHILD, nodes[side].astype(np.int64) + first) for side in ("left", "right")]
            parts.append((nodes["feature_idx"], nodes["num_threshold"], *children, np.where(leaf, nodes["value"], 0.0)))
            first += len(nodes)
    column, limit, left, right, value = (np.concatenate(each) for each in zip(*parts, strict=True))
    return Trees(
        column.astype(np.int32), limit.astype(np.float64), left.astype(np.int32), right.astype(np.int32), value,
        np.array(root, np.int32), np.array(output, np.int32), np.asarray(model._baseline_prediction, float).ravel(),
    )  # fmt: skip


def fitted(rows: NDArray[Any], labels: NDArray[Any], settings: dict[str, Any]) -> HistGradientBoostingClassifier:
    """A model of its settings, the same every time."""
    return HistGradientBoostingClassifier(random_state=0, early_stopping=False, **settings).fit(rows, labels)
