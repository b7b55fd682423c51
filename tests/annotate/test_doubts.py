"""Which sams are named as doubtful, in what order, and where to listen."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from annotate.doubts import doubts
from annotate.grid import Grid, RecordingGrid
from theory.talas import get_tala

TEENTAL = get_tala("teental")


def grid_of(
    confidence: Sequence[float], marked: Sequence[int] = (), lengths_s: Sequence[float] = (), name: str = "gat"
) -> RecordingGrid:
    """A section of teental with a sam of each confidence; sams from 10 s on, 8 s apart or as given."""
    lengths = np.array(lengths_s or [8.0] * len(confidence))
    sams_s = 10 + np.concatenate([[0], np.cumsum(lengths)])
    position = np.arange(len(confidence) * 16)
    times_s = np.interp(position, np.arange(len(sams_s)) * 16, sams_s)
    source = tuple("marked" if each in marked else "tracked" for each in range(len(confidence)))
    matra = (position % 16 + 1).astype(np.int32)
    cycle = (position // 16 + 1).astype(np.int32)
    sure = np.ones(len(position), np.float32)
    least, theka = np.array(confidence, np.float32), np.zeros(len(position), bool)
    grid = Grid(name, 10.0, float(sams_s[-1]), TEENTAL, cycle, matra, times_s, sure, source, least, theka)
    return RecordingGrid((grid,))


def test_of_a_run_the_middle_one_is_named() -> None:
    (doubt,) = doubts(grid_of([0.9, 0.1, 0.4, 0.2, 0.9]))
    assert (doubt.cycle, doubt.sam_s, doubt.run) == (3, 26.0, 3)
    assert (doubt.run_start_s, doubt.run_end_s) == (18.0, 34.0)
    assert doubt.weight == pytest.approx(2.3)
    assert "the middle one of 3 in a row, 0:18.0 to 0:34.0" in doubt.why


def test_the_run_that_holds_most_doubt_comes_first() -> None:
    found = doubts(grid_of([0.0, 0.9, 0.4, 0.4, 0.4, 0.9, 0.3]))
    assert [doubt.cycle for doubt in found] == [4, 1, 7]


def test_a_mark_divides_a_run_and_is_never_in_doubt() -> None:
    found = doubts(grid_of([0.1, 0.1, 0.0, 0.1, 0.1, 0.1], marked=[2]))
    assert [(doubt.cycle, doubt.run) for doubt in found] == [(5, 3), (1, 2)]


def test_listening_starts_at_the_last_vibhag_before_the_sam() -> None:
    (doubt,) = doubts(grid_of([0.9, 0.1, 0.9]))
    assert doubt.listen_s == pytest.approx(18 - 4 * 0.5)


def test_in_a_slow_laya_listening_starts_at_most_ten_seconds_before() -> None:
    (doubt,) = doubts(grid_of([0.9, 0.1, 0.9], lengths_s=[64.0] * 3))
    assert doubt.listen_s == pytest.approx(74 - 10)


def test_a_change_of_laya_is_given_as_the_reason() -> None:
    (doubt,) = doubts(grid_of([0.9, 0.1, 0.9], lengths_s=[8.0, 6.0, 6.0]))
    assert doubt.why == "the avartan before it lasts 8.0 s, the one after 6.0 s"


def test_where_nothing_is_in_doubt_there_is_no_row() -> None:
    assert doubts(grid_of([0.9, 0.8])) == []
    assert doubts(RecordingGrid(())) == []
