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
    # the very last stroke is one of the dayan alone, which clapping sounds like
    assert last_s == pytest.approx(69.5, abs=0.5 + EXACT_S)


def test_where_nothing_is_heard_the_edge_stays_where_it_seemed():
    evidence = struck(60.0, ([1.0], PLUCK, 0.9), mistaken_a_second=0.0)
    assert edges(evidence, 20.0, 40.0) == (20.0, 40.0)


def test_what_two_drums_do_at_once_is_one_stroke_and_how_sure_each_is_heard_is_kept():
    evidence = struck(
        10.0, ([2.0, 4.0], BAYAN, 1.0), ([4.0], RIM, 0.8), ([6.0], RIM, 1.0), ([6.0], PLUCK, 1.0), mistaken_a_second=0.0
    )
    strokes = heard_strokes(evidence)
    np.testing.assert_allclose(strokes.time_s, [2.0, 4.0, 6.0], atol=EXACT_S)
    assert strokes.level.tolist() == [[3, 0, 0, 0, 0], [3, 2, 0, 0, 0], [0, 3, 0, 0, 3]]


def test_a_first_stroke_that_stands_alone_before_a_long_gap_counts_when_the_tabla_makes_such_gaps_later_too():
    """A slow gat lets its strokes ring: what follows two seconds after the first is no sign that it was a mistake."""
    slow_s = np.concatenate([[30.0, 32.0, 32.5, 33.0], np.arange(35.0, 75.0, 2.5), np.arange(35.5, 75.0, 2.5)])
    evidence = struck(100.0, (np.sort(slow_s), RIM, 0.95), (slow_s, BAYAN, 0.95), mistaken_a_second=0.2)
    first_s, _ = edges(evidence, 32.0, 74.0)
    assert first_s == pytest.approx(30.0, abs=EXACT_S)


def test_a_thin_passage_of_a_slow_gat_before_a_quick_one_is_no_rest():
    """Held against the whole stretch it is one; held against the gat that it is part of it is not."""
    slow_s = np.arange(20.0, 80.0, 1.2)
    thin_s = slow_s[(slow_s < 45) | (slow_s > 58) | (np.arange(len(slow_s)) % 2 == 0)]
    quick_s = np.arange(81.0, 130.0, 0.13)
    strokes = heard_strokes(struck(140.0, (thin_s, RIM, 0.95), (quick_s, RIM, 0.95), mistaken_a_second=0.05))
    assert rests_s(strokes, 20.0, 129.9, strokes.lead_alone([(0.0, 19.0)])) == []


@pytest.mark.parametrize(("rest_s", "found"), [(14.0, 1), (6.0, 0)])
def test_a_long_rest_of_the_tabla_is_found_and_a_short_one_passed_over(rest_s, found):
    before_s, after_s = np.arange(20.0, 50.0, 0.5), np.arange(49.5 + rest_s, 90.0, 0.5)
    strokes = heard_strokes(struck(100.0, (before_s, RIM, 0.9), (after_s, RIM, 0.9), mistaken_a_second=0.1))
    rests = rests_s(strokes, 20.0, 89.5, strokes.lead_alone([]))
    assert rests == [pytest.approx((49.5, 49.5 + rest_s), abs=EXACT_S)] * found
