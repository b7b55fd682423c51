"""Matras drawn to the strokes near them, held by the evenness around, firm where a person marked."""

import numpy as np
import pytest

from ingest.measure import measure_blocks
from ingest.refine import refine, stroke_near
from tests.ingest.sounds import RATE_HZ, dayan, put

STRUCK_S = 0.5 + 0.5 * np.arange(12) + np.random.default_rng(1).normal(0, 0.025, 12)


@pytest.fixture(scope="module")
def evidence():
    sound = 0.003 * np.random.default_rng(2).normal(size=7 * RATE_HZ)
    for count, at_s in enumerate(STRUCK_S):
        if count != 6:
            put(sound, at_s, 0.5 * dayan(count))
    return measure_blocks([sound.astype(np.float32)])


def test_the_stroke_near_a_time_is_found_to_a_few_milliseconds(evidence):
    asked = np.delete(STRUCK_S, 6) + 0.03
    found_s, prominence = stroke_near(evidence, asked, np.full(11, 0.06))
    np.testing.assert_allclose(found_s, np.delete(STRUCK_S, 6), atol=0.012)
    assert prominence.min() > 0.5


def test_where_nothing_is_struck_nothing_is_prominent(evidence):
    _, prominence = stroke_near(evidence, np.array([1.0, STRUCK_S[6], 2.0]), np.full(3, 0.06))
    assert prominence[1] < 0.2 * prominence.max()


def test_matras_move_to_their_strokes_and_stay_even_where_one_is_missing(evidence):
    even_s = 0.5 + 0.5 * np.arange(12)
    refined_s, _ = refine(evidence, even_s, np.zeros(12, bool))
    heard = np.delete(np.arange(12), 6)
    assert np.abs(refined_s - STRUCK_S)[heard].mean() < 0.7 * np.abs(even_s - STRUCK_S)[heard].mean()
    assert refined_s[6] == pytest.approx((refined_s[5] + refined_s[7]) / 2, abs=0.01)


def test_a_firm_time_does_not_move_at_all(evidence):
    even_s = 0.5 + 0.5 * np.arange(12)
    firm = np.zeros(12, bool)
    firm[4] = True
    even_s[4] += 0.02
    refined_s, _ = refine(evidence, even_s, firm)
    assert refined_s[4] == even_s[4]
    assert np.all(np.diff(refined_s) > 0)


def test_one_or_two_matras_are_left_as_they_are(evidence):
    for count in (1, 2):
        times_s = STRUCK_S[:count]
        refined_s, prominence = refine(evidence, times_s, np.zeros(count, bool))
        np.testing.assert_array_equal(refined_s, times_s)
        assert len(prominence) == count
