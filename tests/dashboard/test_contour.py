"""The melody as it is drawn: the room it needs, what is left of it at a closeness, gaps that stay gaps."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.figures.contour import LEAST_SEMITONES, MOST_SEMITONES, SURE, Contour
from ingest.melody import Melody
from ingest.swaras_heard import VOICED

HOP_S = 0.02


def contour(cents: list[float], certainty: list[int] | None = None) -> Contour:
    count = len(cents)
    sure = np.full(count, 2) if certainty is None else np.array(certainty)
    return Contour(HOP_S, np.array(cents, dtype=np.int16), sure.astype(np.int8))


def test_a_contour_counts_from_the_middle_sa_and_tells_sure_from_unsure_from_silent() -> None:
    voicing = np.array([0.0, VOICED, SURE, 1.0], dtype=np.float32)
    melody = Melody(HOP_S, np.array([200.0, 400.0, 300.0, 200.0], dtype=np.float32), voicing, voicing)
    made = Contour.of(melody, 200.0)
    assert made.certainty.tolist() == [0, 1, 2, 2]
    assert made.cents.tolist() == [0, 1200, 702, 0]  # 3/2 is 701.955 cents


def test_a_held_swara_gets_room_for_a_fifth_around_it() -> None:
    (low, high), *_ = contour([700.0] * 100).ranges([(0.0, 2.0)])  # type: ignore[misc]
    assert high - low == LEAST_SEMITONES
    assert low <= 4 <= 9 <= high


def test_a_run_over_two_octaves_gets_room_for_all_of_it() -> None:
    (span,) = contour(list(np.linspace(-500, 1900, 400))).ranges([(0.0, 8.0)])
    assert span is not None
    low, high = span
    assert low <= -5
    assert high >= 19


def test_an_octave_mistaken_for_a_moment_makes_no_row_higher() -> None:
    cents = [200.0] * 1000
    cents[500:505] = [200.0 - 2400] * 5
    assert contour(cents).ranges([(0.0, 20.0)]) == contour([200.0] * 1000).ranges([(0.0, 20.0)])


def test_no_row_is_higher_than_two_octaves_and_a_half() -> None:
    (span,) = contour([*[-2400.0] * 200, *[2400.0] * 200]).ranges([(0.0, 8.0)])
    assert span is not None
    assert span[1] - span[0] == MOST_SEMITONES


def test_where_nothing_sounds_no_room_is_asked_for() -> None:
    silent_then_sa = contour([0.0] * 200, [0] * 100 + [2] * 100)
    assert silent_then_sa.ranges([(0.0, 2.0), (2.0, 4.0), (4.0, 6.0)])[::2] == [None, None]
    assert contour([]).ranges([(0.0, 2.0)]) == [None]
    assert contour([0.0] * 10).ranges([]) == []


def test_each_frame_is_told_where_there_is_room_and_the_middle_of_many_where_there_is_none() -> None:
    made = contour([0.0, 100.0, 200.0, 300.0, 400.0, 500.0])
    assert made.between(0.0, 0.12, HOP_S)["cents"] == [0, 100, 200, 300, 400, 500]
    thin = made.between(0.0, 0.12, 3 * HOP_S)
    assert thin["cents"] == [100, 400]
    assert (thin["from_s"], thin["step_s"]) == (0.02, 0.06)  # the middle frame of the first three


def test_silence_stays_a_gap_and_doubt_is_told() -> None:
    made = contour([700.0] * 8, [2, 2, 0, 0, 1, 1, 2, 2])
    course = made.between(0.0, 0.16, HOP_S)
    assert course["cents"] == [700, 700, None, None, 700, 700, 700, 700]
    assert course["unsure"] == [[4, 6]]


def test_a_silent_frame_among_voiced_ones_does_not_pull_the_pitch() -> None:
    made = contour([700.0, -9000.0, 700.0, 700.0], [2, 0, 2, 2])
    assert made.between(0.0, 0.08, 4 * HOP_S)["cents"] == [700]


@given(
    start_s=st.floats(-5.0, 30.0),
    length_s=st.floats(0.0, 30.0),
    cell_s=st.floats(0.001, 3.0),
)
def test_any_stretch_at_any_closeness_lies_within_the_recording(start_s: float, length_s: float, cell_s: float) -> None:
    made = contour([700.0] * 1000)
    course = made.between(start_s, start_s + length_s, cell_s)
    assert set(course["cents"]) <= {700}
    assert course["from_s"] >= 0.0
    last_s = course["from_s"] + course["step_s"] * (len(course["cents"]) - 1)
    assert not course["cents"] or last_s == pytest.approx(min(last_s, 20.0))
