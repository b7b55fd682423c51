"""The Viterbi search itself, on scores laid out by hand: exact answers, hard sams, windows."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ingest.bar_pointer import (
    CHANGE_SD,
    JUMP_PRICE,
    SLACK_PRICE,
    SOLO_ENTRY,
    SOLO_PRICE,
    UNMARKED_PRICE,
    Filling,
    Model,
    Stroke,
    decode,
    matra_lengths,
)
from ingest.viterbi import WAYS

LENGTHS = np.array([4.0, 5.0, 6.0, 7.0])


def model_of(strokes, matras, lengths=LENGTHS, **more):
    """A model without fillings, whose matras last exactly their nominal length unless told otherwise."""
    return Model(strokes, matras, lengths, np.ones(matras, bool), **({"slack": 0} | more))


def three_matras(frames, begins, first=0):
    """A model of a tala of three matras, whose strokes are found at the given beginnings and at nothing else."""
    scores = np.full((3, frames), -1.0, np.float32)
    for count, frame in enumerate(begins):
        if 0 <= frame < frames:
            scores[(count + first) % 3, frame] = 100.0  # more than any change of length costs
    return model_of([Stroke(matra, 0.0, scores[matra]) for matra in range(3)], 3)


def test_matra_lengths_run_from_the_shortest_to_the_longest_in_even_steps():
    lengths = matra_lengths(17.2, 517.0)
    assert lengths[0] == 17.2
    assert lengths[-2] < 517 <= lengths[-1]
    np.testing.assert_allclose(lengths[1:] / lengths[:-1], 1.02, rtol=1e-12)


@given(st.lists(st.sampled_from([5, 6]), min_size=5, max_size=12), st.integers(0, 2), st.integers(0, 3))
def test_a_chain_of_strokes_is_found_exactly(gaps, first, start):
    begins = start + np.concatenate([[0], np.cumsum(gaps)])
    frames = int(begins[-1]) + 2
    path = decode(three_matras(frames, begins, first), frames)
    assert path is not None
    found = dict(zip(path.frame, path.matra, strict=True))
    for count, frame in enumerate(begins):
        assert found[frame] == (count + first) % 3


def test_the_score_is_the_sum_over_the_path_and_the_best_there_is():
    random = np.random.default_rng(8)
    frames, lengths = 9, np.array([3.0, 4.0])
    scores = 20 * random.normal(size=(2, frames)).astype(np.float32)  # so that a change of length may pay
    model = model_of([Stroke(m, 0.0, scores[m]) for m in range(2)], 2, lengths)
    change = min((np.log(4 / 3) / CHANGE_SD) ** 2 / 2, JUMP_PRICE)
    price = {(3, 3): 0, (4, 4): 0, (3, 4): change, (4, 3): change}
    best = -np.inf
    for count in range(1, 5):
        for gaps in itertools.product([3, 4], repeat=count):
            for start in range(-gaps[0] + 1, 1):
                begins = start + np.concatenate([[0], np.cumsum(gaps)])
                if not (begins[-2] < frames <= begins[-1]):
                    continue
                for first in range(2):
                    gain = sum(scores[(k + first) % 2, b] for k, b in enumerate(begins[:-1]) if 0 <= b < frames)
                    best = max(best, gain - sum(price[pair] for pair in itertools.pairwise(gaps)))
    path = decode(model, frames)
    assert path is not None
    assert path.score == pytest.approx(best, rel=1e-5)  # single precision


def test_strokes_inside_a_matra_count_at_their_share_of_it():
    frames = 60
    score = np.zeros(frames, np.float32)
    score[[8, 20, 32, 44, 56]] = 4.0  # the off-beat of every second matra of six frames, from frame 5
    inside = Stroke(0, 0.5, score)
    on_beat = np.full(frames, -0.5, np.float32)
    on_beat[[5, 11, 17, 23, 29, 35, 41, 47, 53]] = 4.0
    model = model_of([inside, Stroke(0, 0.0, on_beat), Stroke(1, 0.0, on_beat)], 2)
    path = decode(model, frames)
    assert path is not None
    assert {5: 0, 11: 1, 17: 0, 23: 1}.items() <= dict(
        zip(path.frame.tolist(), path.matra.tolist(), strict=True)
    ).items()


@given(st.integers(0, 59))
def test_a_marked_sam_is_met_wherever_it_is(sam):
    frames = 60
    path = decode(three_matras(frames, range(1, 60, 5)), frames, [sam])
    assert path is not None
    assert 0 in path.matra[path.frame == sam]


@given(st.integers(0, 20), st.integers(12, 21))
def test_two_marked_sams_are_met_when_a_cycle_fits_between_them(first, apart):
    frames = 60
    path = decode(three_matras(frames, range(1, 60, 5)), frames, [first, first + apart])
    assert path is not None
    assert {0} == set(path.matra[np.isin(path.frame, [first, first + apart])])
    assert np.isin([first, first + apart], path.frame).all()


def test_sams_that_no_lengths_can_meet_give_no_path():
    assert decode(three_matras(60, range(1, 60, 5)), 60, [20, 31]) is None  # three matras take 12 frames at least


def test_windows_give_what_the_whole_gives():
    random = np.random.default_rng(9)
    gaps = random.choice([5, 5, 6], 300)
    begins = 2 + np.concatenate([[0], np.cumsum(gaps)])
    frames = int(begins[-1]) + 2
    model = three_matras(frames, begins)
    whole, parts = decode(model, frames), decode(model, frames, window=200, overlap=60)
    assert whole is not None
    assert parts is not None
    np.testing.assert_array_equal(parts.frame, whole.frame)
    np.testing.assert_array_equal(parts.matra, whole.matra)
    assert parts.end == whole.end


def test_windows_keep_to_marked_sams():
    begins = np.arange(1, 900, 5)
    sams = [31, 400, 601]
    path = decode(three_matras(900, begins), 900, sams, window=200, overlap=60)
    assert path is not None
    assert set(path.matra[np.isin(path.frame, sams)]) == {0}
    assert np.isin(sams, path.frame).all()


def test_a_matra_may_come_late_without_the_laya_following_it():
    begins = np.arange(2, 200, 10)
    begins[7] += 1  # one stroke late, the next on time
    scores = np.full((2, 200), -1.0, np.float32)
    for count, frame in enumerate(begins):
        scores[count % 2, frame] = 9.0
    strokes = [Stroke(matra, 0.0, scores[matra]) for matra in range(2)]
    path = decode(model_of(strokes, 2, np.array([9.0, 10.0, 11.0]), slack=1), 200)
    assert path is not None
    assert set(begins) <= set(path.frame)
    # nineteen strokes and the first matra's are found, less the price of one long matra and one short one
    stiff = decode(model_of(strokes, 2, np.array([9.0, 10.0, 11.0])), 200)
    assert path.score > stiff.score
    assert path.score == pytest.approx(9.0 * 20 - 2 * SLACK_PRICE, abs=1e-3)


def solo_model(frames, theka_until, solo_until):
    """Two matras of ten frames with their strokes until a frame, then only strokes on every half, then the theka."""
    scores = np.full((2, frames), -4.0, np.float32)
    hit = np.full(frames, -4.0, np.float32)
    for count, frame in enumerate(range(0, frames, 10)):
        if not theka_until <= frame < solo_until:
            scores[count % 2, frame] = 6.0
    hit[theka_until:solo_until:5] = 4.0
    strokes = [Stroke(matra, 0.0, scores[matra]) for matra in range(2)]
    return model_of(strokes, 2, np.array([9.0, 10.0, 11.0]), hit=hit, solo_parts=np.full((1, 3), 2))


def test_a_solo_is_entered_and_left_at_sam():
    path = decode(solo_model(400, 100, 280), 400)
    assert path is not None
    np.testing.assert_array_equal(path.frame[path.solo], np.arange(100, 280, 10))
    edges = np.flatnonzero(np.diff(path.solo.astype(int))) + 1
    assert (path.matra[edges] == 0).all()
    assert path.score == pytest.approx(22 * 6.0 + 18 * (8.0 - SOLO_PRICE) - SOLO_ENTRY, abs=1e-2)


def test_a_solo_is_no_excuse_where_the_theka_is_played():
    path = decode(solo_model(400, 400, 400), 400)
    assert path is not None
    assert not path.solo.any()


def test_fillings_score_by_the_side_of_the_bayan_and_by_how_usual_they_are():
    frames = 80
    on_beat = np.full(frames, -1.0, np.float32)
    on_beat[::10] = 3.0
    fill = np.zeros((2, 2, frames), np.float32)
    fill[0, 1, 5::20] = 2.0  # rings, in every first matra
    fill[1, 1, 5::20] = -2.0
    strokes = [Stroke(matra, 0.0, on_beat) for matra in range(2)]
    model = Model(
        strokes, 2, np.array([10.0]), np.array([True, False]), slack=0,
        fillings=[Filling(0.5, np.array([2]))], fill=fill,
    )  # fmt: skip
    path = decode(model, frames)
    assert path is not None
    assert (path.matra[path.frame % 20 == 0] == 0).all()
    never = Model(
        strokes, 2, np.array([10.0]), np.array([True, False]), slack=0,
        fillings=[Filling(0.5, np.array([0]))], fill=fill,
    )  # fmt: skip
    assert decode(never, frames).score == pytest.approx(8 * 3.0, abs=1e-3)


def test_two_marks_are_one_avartan_where_the_strokes_do_not_say_otherwise():
    """Nothing is heard: the marks alone decide, and an avartan of any length is as likely."""
    silent = np.zeros(120, np.float32)
    strokes = [Stroke(matra, 0.0, silent) for matra in range(3)]
    path = decode(model_of(strokes, 3, np.arange(4.0, 21.0), slack=1), 120, [30, 60])
    assert path is not None
    between = (path.frame > 30) & (path.frame < 60)
    assert between.sum() == 2
    assert UNMARKED_PRICE > 0


def test_the_ways_and_the_slack_fit_into_one_byte():
    assert WAYS * (2 * 9 + 1) <= 256
