"""The compiled path is the best there is: held against every path of small cases."""

from __future__ import annotations

from itertools import pairwise, product

import numpy as np
import pytest

from ingest.melody_path import JUMP_COST, STEP_COST, WIDEST_STEP, best_path

PITCHES, FRAMES = 12, 4


def _worth(scores: np.ndarray, path: tuple[int, ...]) -> float:
    total = float(sum(scores[frame, pitch] for frame, pitch in enumerate(path)))
    for one, two in pairwise(path):
        steps = abs(one - two)
        total -= min(STEP_COST * steps, JUMP_COST) if steps <= WIDEST_STEP else JUMP_COST
    return total


@pytest.mark.parametrize("seed", range(3))
def test_no_other_path_is_worth_more(seed: int) -> None:
    scores = np.random.default_rng(seed).normal(0, 6, (FRAMES, PITCHES)).astype(np.float32)
    (path,) = best_path([scores])
    best = max(_worth(scores, other) for other in product(range(PITCHES), repeat=FRAMES))
    assert _worth(scores, tuple(path.tolist())) == pytest.approx(best, abs=1e-4)


def test_a_path_in_blocks_is_that_of_the_whole() -> None:
    rng = np.random.default_rng(5)
    true = np.repeat(rng.integers(0, 60, 30), 20)
    scores = -0.3 * (np.arange(60) - true[:, None]) ** 2.0 + rng.normal(0, 0.5, (600, 60))
    (whole,) = best_path([scores.astype(np.float32)])
    parts = np.concatenate(list(best_path(np.array_split(scores.astype(np.float32), 6))))
    np.testing.assert_array_equal(whole, parts)
    assert np.mean(np.abs(whole - true) <= 2) > 0.95


def test_nothing_has_no_path() -> None:
    assert list(best_path([])) == []
