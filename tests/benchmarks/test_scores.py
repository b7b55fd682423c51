"""The measures of the accuracy benchmark on cases whose answer is plain."""

from __future__ import annotations

import numpy as np
import pytest

from benchmarks.concerts.render import parse_seeds
from benchmarks.scores import beat_f, cents_modulo_octave, joined, laya_name, true_edges_s


def test_matras_within_70_ms_count_and_others_do_not() -> None:
    true_s = np.arange(10.0)
    assert beat_f(true_s, true_s + 0.069) == 1.0
    assert beat_f(true_s, true_s + 0.071) == 0.0
    assert beat_f(true_s, true_s[::2]) == pytest.approx(2 / 3)  # precision 1, recall 1/2
    assert beat_f(true_s, []) == 0.0


def test_strokes_struck_together_are_one_onset() -> None:
    assert joined([1.02, 1.0, 2.0, 1.031]) == pytest.approx([1.01, 1.031, 2.0])


def test_half_and_twice_the_laya_are_named() -> None:
    assert [laya_name(found, 100) for found in (100, 51, 196, 0)] == ["1", "1/2", "2", "none"]


def test_sa_is_compared_without_its_octave() -> None:
    assert cents_modulo_octave(280.0, 140.0) == pytest.approx(0.0, abs=1e-9)
    assert cents_modulo_octave(140.0 * 2 ** (-1190 / 1200), 140.0) == pytest.approx(10.0)


@pytest.mark.parametrize(("rest_s", "true", "allowed"), [(7.9, 2, 0), (8.1, 2, 2), (11.9, 2, 2), (12.1, 4, 0)])
def test_a_rest_of_about_ten_seconds_may_be_found_or_not(rest_s: float, true: int, allowed: int) -> None:
    stroke_s = [*np.arange(5.0, 40.0, 0.5), *np.arange(39.5 + rest_s, 90.0, 0.5)]
    must_s, may_s = true_edges_s(stroke_s)
    assert (len(must_s), len(may_s)) == (true, allowed)
    assert must_s[0] == 5.0
    assert sorted({*must_s, *may_s})[1:-1] == pytest.approx([39.5, 39.5 + rest_s] if true + allowed == 4 else [])


def test_seeds_are_given_as_ranges_and_lists() -> None:
    assert parse_seeds("1-3,101") == [1, 2, 3, 101]
