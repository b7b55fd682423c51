"""The best division into segments: against all divisions there are."""

from itertools import groupby, pairwise, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ingest.section_decode import divided


def worth(labels, scores, least, price):
    """What a division is worth; nothing when a segment is too short."""
    runs = [(label, len(list(run))) for label, run in groupby(labels)]
    if any(length < least[label] for label, length in runs):
        return -np.inf
    return sum(scores[row, label] for row, label in enumerate(labels)) - price * (len(runs) - 1)


def as_labels(segments):
    return [kind for kind, first, last in segments for _ in range(last - first)]


@settings(max_examples=60, deadline=None)
@given(
    scores=st.lists(st.tuples(*[st.floats(-3, 0)] * 3), min_size=3, max_size=7),
    least=st.tuples(*[st.integers(1, 3)] * 3),
    price=st.floats(0, 3),
)
def test_no_other_division_is_worth_more(scores, least, price):
    scores = np.array(scores)
    segments = divided(scores, least, price)
    best = max(worth(labels, scores, least, price) for labels in product(range(3), repeat=len(scores)))
    assert worth(as_labels(segments), scores, least, price) == pytest.approx(best, abs=1e-9)


@given(rows=st.integers(1, 60), kinds=st.integers(1, 4), seed=st.integers(0, 99))
def test_segments_follow_each_other_without_gaps(rows, kinds, seed):
    scores = np.random.default_rng(seed).normal(size=(rows, kinds))
    segments = divided(scores, [5] * kinds, 1.0)
    assert [first for _, first, _ in segments] == [0, *(last for _, _, last in segments[:-1])]
    assert segments[-1][2] == rows
    assert all(before[0] != after[0] for before, after in pairwise(segments))


def test_a_recording_too_short_for_any_kind_is_one_segment_of_the_best():
    assert divided(np.array([[0.0, -1.0], [-3.0, -1.0]]), [5, 5], 1.0) == [(1, 0, 2)]
