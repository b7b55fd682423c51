"""Differences of two sides with their uncertainty."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.stats import bootstrap

from annotate.archive import Archive
from annotate.errors import BadAnnotation
from annotate.statistics.bootstrap import difference_of_shares
from annotate.statistics.side_by_side import side_by_side
from theory.errors import UnknownName


def naive(first: np.ndarray, second: np.ndarray, seed: int, resamples: int) -> tuple[np.ndarray, np.ndarray]:
    """Draw units one resample after the other, with another generator."""
    random = np.random.RandomState(seed)
    drawn = []
    for _ in range(resamples):
        sums = [side[random.randint(0, len(side), len(side))].sum(axis=0) for side in (first, second)]
        drawn.append(sums[0] / sums[0].sum() - sums[1] / sums[1].sum())
    low, high = np.percentile(drawn, [2.5, 97.5], axis=0)
    return low, high


def test_the_interval_is_that_of_drawing_units_one_by_one() -> None:
    """Both draw 4000 times: a percentile then scatters by about 3 % of the interval's width."""
    random = np.random.default_rng(3)
    first, second = random.poisson(4, (12, 5)).astype(float), random.poisson(6, (9, 5)).astype(float)
    difference, low, high = difference_of_shares(first, second, resamples=4000)
    share = [side.sum(axis=0) / side.sum() for side in (first, second)]
    np.testing.assert_allclose(difference, share[0] - share[1], rtol=0, atol=1e-12)  # floats of one sum
    expected_low, expected_high = naive(first, second, 1, 4000)
    np.testing.assert_allclose(low, expected_low, rtol=0, atol=0.15 * (high - low).max())
    np.testing.assert_allclose(high, expected_high, rtol=0, atol=0.15 * (high - low).max())


def test_the_interval_is_that_of_scipy() -> None:
    """scipy.stats.bootstrap, its percentile method; both draw 4000 times and scatter as told above."""
    random = np.random.default_rng(4)
    first, second = random.poisson(4, (12, 3)).astype(float), random.poisson(6, (9, 3)).astype(float)

    def statistic(one: np.ndarray, other: np.ndarray) -> np.ndarray:
        sums = [side[units.astype(int)].sum(axis=0) for side, units in ((first, one), (second, other))]
        shares: np.ndarray = sums[0] / sums[0].sum() - sums[1] / sums[1].sum()
        return shares

    units = (np.arange(len(first)), np.arange(len(second)))
    found = bootstrap(units, statistic, n_resamples=4000, vectorized=False, method="percentile", rng=random)
    _, low, high = difference_of_shares(first, second, resamples=4000)
    width = (high - low).max()
    np.testing.assert_allclose(low, found.confidence_interval.low, rtol=0, atol=0.15 * width)
    np.testing.assert_allclose(high, found.confidence_interval.high, rtol=0, atol=0.15 * width)


def test_the_interval_holds_the_truth_about_as_often_as_it_says() -> None:
    """20 units a side, share 0.3 on both: of 400 trials 95 % +- 5 % hold 0 (4 standard errors of 1.2 %)."""
    random, held = np.random.default_rng(8), 0
    for trial in range(400):
        sides = [random.multinomial(10, [0.3, 0.7], 20).astype(float) for _ in range(2)]
        _, low, high = difference_of_shares(*sides, seed=trial, resamples=300)
        held += int(low[0] <= 0 <= high[0])
    assert 0.90 <= held / 400 <= 1.0


def test_a_seed_gives_the_same_interval_again() -> None:
    sides = [np.random.default_rng(side).random((9, 2)) for side in (1, 2)]
    first, again, other = (difference_of_shares(*sides, seed=seed)[1:] for seed in (1, 1, 2))
    np.testing.assert_array_equal(first, again)
    assert not np.array_equal(first, other)


def test_one_unit_has_no_interval() -> None:
    difference, low, high = difference_of_shares(np.array([[1.0, 3]]), np.array([[1.0, 1], [1, 1]]))
    assert difference.tolist() == pytest.approx([-0.25, 0.25])
    assert np.isnan([low, high]).all()


def test_two_performances_are_compared_by_drawing_their_phrases(years: Archive) -> None:
    found = side_by_side(years, "y0", "y9", "phrases")
    rows = found.rows.set_index("item")
    assert (found.drawn, found.units_a, found.units_b) == ("phrases", 7, 16)
    assert rows.loc["R m P", "difference"] == pytest.approx(1 / 7 - 10 / 16)
    assert rows.loc["R m P", "high"] < 0
    assert (rows.loc["R m P", "count_a"], rows.loc["R m P", "count_b"]) == (1, 10)
    assert "these performances only" in found.note
    assert "only 7 phrases" in found.note


def test_two_ragas_are_compared_by_drawing_performances_and_one_performance_is_said(years: Archive) -> None:
    found = side_by_side(years, "Desh", "Bhoopali", "swaras")
    rows = found.rows.set_index("item")
    assert (found.a, found.b, found.drawn) == ("Desh", "Bhupali", "phrases")  # Bhupali has a single performance
    assert rows.loc["G", "share_b"] > 0
    assert rows["difference"].sum() == pytest.approx(0)
    assert rows["sounding_s_b"].sum() == pytest.approx(12)
    again = side_by_side(years, "Desh", "Bhoopali", "swaras")
    pd.testing.assert_frame_equal(found.rows, again.rows)


def test_performances_are_drawn_where_both_sides_have_several(years: Archive) -> None:
    from dataclasses import replace

    from annotate.revisions import change

    for number in range(5):
        moved = replace(years.state(f"y{number}").recording, raga="kafi")
        years.commit(moved.slug, [change(moved)], "a", "")
    found = side_by_side(years, "desh", "kafi", "phrases")
    assert (found.drawn, found.units_a, found.units_b) == ("performances", 5, 5)
    assert "only 5 performances" in found.note
    assert found.rows.iloc[0]["item"] == "R m P"
    assert found.rows.iloc[0]["low"] > 0


@pytest.mark.parametrize(
    ("a", "b", "of", "error", "says"),
    [
        ("y0", "y0", "phrases", BadAnnotation, "two different"),
        ("y0", "Yaman", "phrases", BadAnnotation, "no phrases written down"),
        ("y0", "y1", "heard", BadAnnotation, "no melody"),
        ("nite", "y1", "phrases", UnknownName, "night"),
        ("Desh", "Bhupaly", "phrases", UnknownName, "Bhupali"),
    ],
)
def test_sides_that_cannot_be_compared_are_refused(
    years: Archive, a: str, b: str, of: str, error: type[Exception], says: str
) -> None:
    with pytest.raises(error, match=says):
        side_by_side(years, a, b, of)  # type: ignore[arg-type]
