"""The first and last stroke of a stretch with tabla."""

import numpy as np
import pytest

from ingest.tabla_edges import first_stroke_s, heard_strokes, last_stroke_s, rests_s
from tests.ingest.struck_evidence import BAYAN, PLUCK, RIM, struck

EXACT_S = 0.02


def edges(evidence, start_s, end_s):
    strokes = heard_strokes(evidence)
    alone = strokes.lead_alone([(0.0, 20.0)])
    first_s = first_stroke_s(strokes, start_s, 0.0, end_s, alone)
    return first_s, last_stroke_s(strokes, end_s, start_s, evidence.duration_s, alone)


@pytest.mark.parametrize("gap_s", [0.3, 0.7, 1.2])
@pytest.mark.parametrize("off_s", [-6.0, 0.0, 5.0])
def test_they_are_found_wherever_within_reach_the_stretch_seemed_to_begin_and_end(gap_s, off_s):
    played_s = np.arange(31.0, 71.0, gap_s)
    evidence = struck(100.0, (played_s, RIM, 0.9), (played_s[::2], BAYAN, 0.95))
    first_s, last_s = edges(evidence, 31.0 + off_s, played_s[-1] - off_s)
    # in a slow stretch a mistake half a second beyond its end passes for a stroke
    near_s = EXACT_S if gap_s < 1 else 0.8
    assert first_s == pytest.approx(played_s[0], abs=near_s)
    assert last_s == pytest.approx(played_s[-1], abs=near_s)


def test_applause_that_follows_after_a_rest_does_not_belong_to_it():
    """Clapping is taken for strokes as often as not: more of them than the tabla's own."""
    played_s = np.arange(30.0, 70.0, 0.5)
    clapped_s = np.random.default_rng(1).uniform(73.5, 82.0, 90)
    evidence = struck(100.0, (played_s, RIM, 0.9), (played_s[::2], BAYAN, 0.9), (clapped_s, RIM, 0.8))
    _, last_s = edges(evidence, 30.0, 73.0)
    assert last_s == pytest.approx(69.5, abs=EXACT_S)


def test_where_nothing_is_heard_the_edge_stays_where_it_seemed():
    evidence = struck(60.0, ([1.0], PLUCK, 0.9), mistaken_a_second=0.0)
    assert edges(evidence, 20.0, 40.0) == (20.0, 40.0)


def test_a_channel_is_a_drum_and_how_sure_it_is():
    evidence = struck(10.0, ([2.0], BAYAN, 1.0), ([4.0], RIM, 0.6), ([6.0], RIM, 1.0), mistaken_a_second=0.0)
    strokes = heard_strokes(evidence)
    np.testing.assert_allclose(strokes.time_s, [2.0, 4.0, 6.0], atol=EXACT_S)
    assert strokes.channel.tolist() == [2, 3, 5]


@pytest.mark.parametrize(("rest_s", "found"), [(14.0, 1), (6.0, 0)])
def test_a_long_rest_of_the_tabla_is_found_and_a_short_one_passed_over(rest_s, found):
    before_s, after_s = np.arange(20.0, 50.0, 0.5), np.arange(49.5 + rest_s, 90.0, 0.5)
    strokes = heard_strokes(struck(100.0, (before_s, RIM, 0.9), (after_s, RIM, 0.9), mistaken_a_second=0.1))
    rests = rests_s(strokes, 20.0, 89.5, strokes.lead_alone([]))
    assert rests == [pytest.approx((49.5, 49.5 + rest_s), abs=EXACT_S)] * found
