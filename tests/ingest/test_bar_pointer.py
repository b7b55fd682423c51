"""The Viterbi search itself, on scores laid out by hand: exact answers, hard sams, windows."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ingest.bar_pointer import CHANGE_SD, NEIGHBOURS, Model, Stroke, decode, matra_lengths

LENGTHS = np.array([4, 5, 6, 7])
FREE = np.zeros(len(LENGTHS), np.float32)


def three_matras(frames, begins, first=0):
    """A model of a tala of three matras, whose strokes are found at the given beginnings and at nothing else."""
    scores = np.full((3, frames), -1.0, np.float32)
    for count, frame in enumerate(begins):
        if 0 <= frame < frames:
            scores[(count + first) % 3, frame] = 50.0  # more than any change of length costs
    return Model([Stroke(matra, 0.0, scores[matra]) for matra in range(3)], 3, LENGTHS, FREE)


def test_matra_lengths_run_from_the_shortest_to_the_longest_without_large_steps():
    lengths = matra_lengths(34, 345)
    assert lengths[0] == 34
    assert lengths[-1] >= 345
    assert np.all(np.diff(lengths) >= 1)
    assert np.all(np.diff(lengths) <= 0.025 * lengths[:-1] + 0.5)


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
    frames, lengths = 9, np.array([3, 4])
    scores = random.normal(size=(2, frames)).astype(np.float32)
    model = Model([Stroke(m, 0.0, scores[m]) for m in range(2)], 2, lengths, np.zeros(2, np.float32))
    change = (np.log(4 / 3) / CHANGE_SD) ** 2 / 2
    price = {(3, 3): 0, (4, 4): 0, (3, 4): min(change, 14), (4, 3): min(change, 14)}
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
    assert path.score == pytest.approx(best, abs=0.02)  # scores are rounded to 1/256 each


def test_strokes_inside_a_matra_count_at_their_share_of_it():
    frames = 60
    score = np.zeros(frames, np.float32)
    score[[8, 20, 32, 44, 56]] = 4.0  # the off-beat of every second matra of six frames, from frame 5
    inside = Stroke(0, 0.5, score)
    on_beat = np.full(frames, -0.5, np.float32)
    on_beat[[5, 11, 17, 23, 29, 35, 41, 47, 53]] = 4.0
    model = Model([inside, Stroke(0, 0.0, on_beat), Stroke(1, 0.0, on_beat)], 2, LENGTHS, FREE)
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


def test_the_neighbouring_lengths_fit_into_the_bits_that_name_them():
    assert 2 * NEIGHBOURS + 2 <= 16
