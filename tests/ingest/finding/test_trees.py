"""Learnt trees as plain arrays say what the library says that learnt them (scikit-learn)."""

from __future__ import annotations

import io

import numpy as np
import pytest

from benchmarks.finding.learn import as_trees, fitted
from ingest.finding.trees import Trees

SETTINGS = {"max_iter": 12, "max_leaf_nodes": 6, "min_samples_leaf": 5}


@pytest.fixture(scope="module")
def rows() -> np.ndarray:
    return np.random.default_rng(5).normal(size=(400, 7))


def test_chances_are_those_of_scikit_learn(rows: np.ndarray) -> None:
    labels = rows[:, 0] * rows[:, 1] + rows[:, 2] > 0.3
    model = fitted(rows, labels, SETTINGS)
    np.testing.assert_allclose(as_trees(model).chance(rows), model.predict_proba(rows)[:, 1], atol=1e-12)


def test_shares_of_three_are_those_of_scikit_learn(rows: np.ndarray) -> None:
    labels = np.digitize(rows[:, 0] + rows[:, 3], [-0.5, 0.5])
    model = fitted(rows, labels, SETTINGS)
    np.testing.assert_allclose(as_trees(model).shares(rows), model.predict_proba(rows), atol=1e-12)


def test_trees_come_back_from_a_file_of_numbers_as_they_were(rows: np.ndarray) -> None:
    trees = as_trees(fitted(rows, rows[:, 0] > 0, SETTINGS))
    kept = io.BytesIO()
    np.savez_compressed(kept, **trees.arrays("of these"))
    kept.seek(0)
    with np.load(kept, allow_pickle=False) as arrays:
        again = Trees.from_arrays("of these", arrays)
    np.testing.assert_array_equal(again.sums(rows), trees.sums(rows))


def test_a_value_on_the_limit_goes_where_it_went_when_it_was_learnt(rows: np.ndarray) -> None:
    whole = np.rint(rows)
    model = fitted(whole, whole[:, 0] >= 1, SETTINGS)
    np.testing.assert_allclose(as_trees(model).chance(whole), model.predict_proba(whole)[:, 1], atol=1e-12)
