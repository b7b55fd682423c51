"""The grid: time to tala and back."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pyarrow.parquet as pq
import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotate import evidence_store
from annotate.archive import Archive
from annotate.grid import Grid, RecordingGrid
from annotate.grid_store import every_sam
from annotate.records import MarkedSam, Section
from annotate.revisions import add, change, withdraw
from tests.annotate.desk import MATRA_S, SAMS_S, SLUG, at, make_evidence
from theory.talas import get_tala

CLOSE_S = 1e-9  # arithmetic of doubles on times below 1e4 s


def drifting_grid() -> Grid:
    """Twelve avartans of jhaptal that get faster from 0.8 to 0.5 s a matra, from 5 s on."""
    lengths = np.linspace(0.8, 0.5, 120)
    times = 5.0 + np.concatenate([[0.0], np.cumsum(lengths)])
    count = np.arange(121)
    return Grid(
        "gat",
        5.0,
        float(times[-1]),
        get_tala("jhaptal"),
        (count // 10 + 1).astype(np.int32),
        (count % 10 + 1).astype(np.int32),
        times,
        np.ones(121, np.float32),
        ("tracked",) * 13,
        np.ones(13, np.float32),
        np.zeros(121, bool),
    )


def test_a_marked_sam_is_matra_one_exactly(archive: Archive) -> None:
    grid = archive.grid(SLUG).at(40)
    assert grid is not None
    for cycle, sam_s in enumerate(SAMS_S, start=1):
        assert grid.position(sam_s) == (cycle, 1.0)
        assert grid.time_of(cycle, Fraction(1)) == sam_s


def test_between_matras_time_is_linear(archive: Archive) -> None:
    grid = archive.grid(SLUG).at(40)
    assert grid is not None
    assert grid.time_of(3, Fraction(33, 2)) == pytest.approx(at(3, 16.5), abs=CLOSE_S)
    assert grid.position(at(3, 16.5)) == (3, pytest.approx(16.5))
    assert grid.matra_length_s(40.1) == pytest.approx(MATRA_S)


@given(time_s=st.floats(-20, 150))
def test_position_and_time_are_each_others_inverse_also_outside_the_grid(time_s: float) -> None:
    grid = drifting_grid()
    cycle, matra = grid.position(time_s)
    assert 1 <= matra < 11
    assert grid.time_of(cycle, matra) == pytest.approx(time_s, abs=1e-7)


@given(first_s=st.floats(-20, 150), second_s=st.floats(-20, 150))
def test_later_is_later_in_the_tala_too(first_s: float, second_s: float) -> None:
    first_s, second_s = sorted((first_s, second_s))
    grid = drifting_grid()
    assert grid.absolute(first_s) <= grid.absolute(second_s)


@given(time_s=st.floats(5, 80), target=st.fractions(1, 10, max_denominator=8))
def test_the_nearest_occurrence_is_the_nearest_of_all(time_s: float, target: Fraction) -> None:
    grid = drifting_grid()
    cycle, nearest_s = grid.nearest_occurrence(time_s, target)
    assert nearest_s == grid.time_of(cycle, target)
    others = [grid.time_of(each, target) for each in range(-2, 16)]
    assert abs(nearest_s - time_s) == pytest.approx(min(abs(other - time_s) for other in others), abs=CLOSE_S)


def test_the_section_is_found_by_time(archive: Archive) -> None:
    grid = archive.grid(SLUG)
    assert grid.at(5) is None
    assert grid.at(91) is None
    assert grid.at(91, slack_s=2) is grid.at(50) is not None
    assert RecordingGrid(()).at(5, slack_s=100) is None


def test_rows_and_sams_are_tables(archive: Archive) -> None:
    grid = archive.grid(SLUG)
    rows, sams = grid.rows(), grid.sams()
    assert list(rows.columns) == ["section", "cycle", "matra", "matra_s", "confidence"]
    assert len(rows) == 161
    assert sams["sam_s"].tolist() == list(SAMS_S)
    assert set(sams["source"]) == {"marked"}
    assert RecordingGrid(()).rows().empty
    assert RecordingGrid(()).sams().empty


def test_the_grid_follows_when_a_sam_is_moved_and_stays_when_a_tihai_is_written(archive: Archive) -> None:
    before = archive.grid(SLUG)
    assert archive.grid(SLUG) is before
    mark = archive.state(SLUG).marked_sams[3]
    archive.commit(SLUG, [change(replace(mark, sam_s=34.5))], "a", "")
    after = archive.grid(SLUG)
    assert after.sams()["sam_s"][3] == 34.5
    assert before.sams()["sam_s"][3] == 34.0


def test_only_the_section_that_changed_is_fitted_again(archive: Archive) -> None:
    archive.commit(SLUG, [add(Section("coda", "gat", 91, 99, "dadra"))], "a", "")
    marks = [MarkedSam(f"s{n}", "coda", 91.0 + n) for n in range(20, 23)]
    marks = [replace(mark, sam_s=91.0 + 2 * n) for n, mark in enumerate(marks)]
    before = archive.grid(SLUG)
    archive.commit(SLUG, [add(mark) for mark in marks], "a", "")
    after = archive.grid(SLUG)
    assert [each.section for each in after.sections] == ["gat", "coda"]
    assert after.sections[0] is before.sections[0]
    assert after.sections[1].tala.key == "dadra"


def test_a_grid_that_an_earlier_version_kept_is_made_again(archive: Archive) -> None:
    folder = archive.folder(SLUG) / "evidence"
    evidence_store.save(folder, make_evidence(100.0))
    (before,) = Archive.open(archive.path).grid(SLUG).sections
    kept = folder / "grid.parquet"
    pq.write_table(pq.read_table(kept).drop_columns(["solo"]), kept)
    (after,) = Archive.open(archive.path).grid(SLUG).sections
    np.testing.assert_array_equal(after.matra_s, before.matra_s)
    np.testing.assert_array_equal(after.solo, before.solo)
    assert "solo" in pq.read_schema(kept).names
    (kept_as_it_is,) = Archive.open(archive.path).grid(SLUG).sections
    assert kept_as_it_is.solo.dtype == bool


def test_one_sam_without_sound_makes_no_grid(archive: Archive) -> None:
    archive.commit(SLUG, [withdraw("sams", mark.sam) for mark in archive.state(SLUG).marked_sams[1:]], "a", "")
    assert archive.grid(SLUG).sections == ()


def test_sams_left_out_between_numbered_ones_are_put_in_evenly() -> None:
    marks = [MarkedSam("a", "gat", 10.0, 3), MarkedSam("b", "gat", 34.0, 6), MarkedSam("c", "gat", 42.0)]
    assert every_sam(marks) == [10.0, 18.0, 26.0, 34.0, 42.0]


def test_a_numbered_sam_keeps_its_number(archive: Archive) -> None:
    first = archive.state(SLUG).marked_sams[0]
    archive.commit(SLUG, [change(replace(first, cycle=7))], "a", "")
    grid = archive.grid(SLUG).at(40)
    assert grid is not None
    assert grid.position(10.0) == (7, 1.0)
    assert grid.position(18.0) == (8, 1.0)


def test_marks_that_no_cycle_can_satisfy_leave_the_archive_readable(archive: Archive) -> None:
    archive.commit(
        SLUG, [add(MarkedSam("s99", "gat", 99.0)), change(Section("gat", "gat", 10, 30, "teental"))], "a", ""
    )
    assert archive.grid(SLUG) is not None
    assert len(archive.index("sams")) >= len(SAMS_S)
