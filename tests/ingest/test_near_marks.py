"""Following again near marks gives what following the whole gives, and leaves alone what marks do not touch."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ingest import near_marks
from ingest.bar_pointer import Model, Path, Stroke, decode, matra_lengths
from ingest.near_marks import decode_near

MATRAS, AROUND = 4, 60
LENGTHS = matra_lengths(6.0, 40.0)


def model_of(begins: list[int], frames: int, height: float = 4.0) -> Model:
    """A tala of four matras, whose strokes are found at the given beginnings, the first of them sam."""
    scores = np.full((MATRAS, frames), -0.3, np.float32)
    for count, frame in enumerate(begins):
        if frame < frames:
            scores[count % MATRAS, frame] = height
    strokes = [Stroke(matra, 0.0, scores[matra]) for matra in range(MATRAS)]
    return Model(strokes, MATRAS, LENGTHS, np.ones(MATRAS, bool), slack=1)


def drifting(count: int, first_length: float = 12.0, last_length: float = 15.0) -> list[int]:
    """Beginnings of so many matras whose length grows steadily, in frames."""
    lengths = np.linspace(first_length, last_length, count)
    return [5, *(5 + np.rint(np.cumsum(lengths)).astype(int)).tolist()]


BEGINS = drifting(160)
FRAMES = BEGINS[-1]
MODEL = model_of(BEGINS, FRAMES)
SAMS = BEGINS[:-1:MATRAS]
WHOLE = decode(MODEL, FRAMES)
assert WHOLE is not None


def near(marks: list[int], known: Path = WHOLE, model: Model = MODEL) -> Path:
    path = decode_near(model, FRAMES, marks, known, AROUND)
    assert path is not None
    return path


def same(one: Path, other: Path) -> bool:
    """Whether two courses are the same inside the section; what comes before it nothing tells."""
    inside = [path.frame >= 0 for path in (one, other)]
    return all(
        np.array_equal(getattr(one, name)[inside[0]], getattr(other, name)[inside[1]])
        for name in ("frame", "matra", "solo")
    )


@settings(max_examples=25, deadline=None)
@given(st.sets(st.integers(2, len(SAMS) - 2), min_size=1, max_size=5), st.integers(-1, 1))
def test_marks_at_or_beside_sams_give_what_following_the_whole_gives(numbers: set[int], beside: int) -> None:
    marks = sorted(SAMS[number] + beside for number in numbers)
    assert marks == [frame for frame, matra in zip(*matras(near(marks)), strict=True) if frame in marks and matra == 0]
    whole = decode(MODEL, FRAMES, marks)
    assert whole is not None
    assert same(near(marks), whole)


def matras(path: Path) -> tuple[list[int], list[int]]:
    return path.frame.tolist(), path.matra.tolist()


def test_a_chain_of_matras_goes_on_without_a_gap_through_every_seam() -> None:
    path = near([SAMS[6] + 2, SAMS[25] - 2])
    assert (np.diff(path.frame) > 0).all()
    assert ((np.diff(path.matra) % MATRAS) == 1).all()
    assert path.end == WHOLE.end
    assert math.isnan(path.score)


def test_far_from_a_mark_the_course_stays_to_the_frame() -> None:
    path = near([SAMS[20] + 2])
    far = abs(WHOLE.frame - SAMS[20]) > 3 * MATRAS * 16
    assert set(WHOLE.frame[far].tolist()) <= set(path.frame.tolist())
    assert SAMS[20] + 2 in path.frame


@pytest.mark.parametrize("place", [1, 20, -3])
def test_a_mark_turns_the_cycle_of_the_whole_section_where_the_theka_tells_matras_apart_poorly(place: int) -> None:
    poor = model_of(BEGINS, FRAMES)
    for stroke in poor.strokes:
        stroke.score[BEGINS[:-1]] = np.maximum(stroke.score[BEGINS[:-1]], 3.9)
    known = decode(poor, FRAMES)
    assert known is not None
    assert known.matra[known.frame == SAMS[place]] == 0
    turned = BEGINS[BEGINS.index(SAMS[place]) + 1]
    path = near([turned], known, poor)
    beginnings = dict(zip(*matras(path), strict=True))
    right = [beginnings.get(frame) == (count - 1) % MATRAS for count, frame in enumerate(BEGINS[:-1])]
    assert np.mean(right) > 0.95


def test_two_marks_at_another_laya_are_followed_at_theirs() -> None:
    path = near([SAMS[10], SAMS[12]])  # twice as slow, by the marks
    assert {SAMS[10], SAMS[12]} <= set(path.frame[path.matra == 0].tolist())
    between = (path.frame >= SAMS[10]) & (path.frame < SAMS[12]) & (path.matra == 0)
    assert between.sum() in (1, 2)


def test_marks_that_no_course_meets_are_told() -> None:
    assert decode_near(MODEL, FRAMES, [SAMS[10], SAMS[10] + 8], WHOLE, AROUND) is None


def test_where_the_expected_lengths_meet_no_marks_every_length_is_tried(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(near_marks, "RATIOS", (3.0,))
    path = near([SAMS[10]])
    assert SAMS[10] in path.frame[path.matra == 0]


def test_marks_near_either_end_hold_too() -> None:
    path = near([SAMS[0] + 1, SAMS[-1] - 1])
    assert {SAMS[0] + 1, SAMS[-1] - 1} <= set(path.frame[path.matra == 0].tolist())
