"""Courses without marks are kept beside the evidence, and marks are fitted from there."""

from __future__ import annotations

from pathlib import Path as FilePath
from typing import Any

import numpy as np
import pytest

from annotate import course_store, evidence_store, grid_store
from annotate.archive import Archive
from annotate.marking import drop_sams, mark_sams
from annotate.records import Recording, Section
from annotate.revisions import add
from ingest.bar_pointer import Path
from tests.annotate.desk import SLUG, make_evidence


@pytest.fixture
def unmarked(tmp_path: FilePath) -> Archive:
    """An archive with evidence in it and nothing marked."""
    archive = Archive.create(tmp_path / "archive")
    rows = [
        Recording(SLUG, "Evening", tala="teental", duration_s=100.0),
        Section("gat", "gat", 0.0, 50.0, "teental"),
        Section("gat 2", "gat", 50.0, 100.0, "jhaptal"),
    ]
    archive.commit(SLUG, [add(row) for row in rows], "test", "made")
    evidence_store.save(archive.folder(SLUG) / "evidence", make_evidence(100.0))
    return archive


def course(matras: int) -> Path:
    frame = np.arange(matras) * 40 - 3
    return Path(frame, np.arange(matras) % 16, np.arange(matras) > 5, 40 * matras, 12.5)


def test_courses_come_back_as_they_were_and_what_is_not_wanted_goes(tmp_path: FilePath) -> None:
    course_store.save(tmp_path, {"a": course(3), "b": course(20)}, {"b"})
    found = course_store.load(tmp_path)
    assert list(found) == ["b"]
    assert found["b"].end == 800
    assert found["b"].score == 12.5
    for name in ("frame", "matra", "solo"):
        np.testing.assert_array_equal(getattr(found["b"], name), getattr(course(20), name))


def test_none_are_read_where_none_are_kept_or_the_file_is_damaged(tmp_path: FilePath) -> None:
    assert course_store.load(tmp_path) == {}
    (tmp_path / course_store.FILE).write_bytes(b"damaged")
    assert course_store.load(tmp_path) == {}
    course_store.save(tmp_path, {}, ())
    assert course_store.load(tmp_path) == {}


def test_a_section_is_followed_once_whatever_is_marked_in_it(
    unmarked: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    followed: list[float] = []
    follow = grid_store.follow_unmarked

    def counting(evidence: Any, start_s: float, *more: Any) -> Any:
        followed.append(start_s)
        return follow(evidence, start_s, *more)

    monkeypatch.setattr(grid_store, "follow_unmarked", counting)
    unmarked.grid(SLUG)
    assert followed == [0.0, 50.0]
    mark_sams(Archive.open(unmarked.path), SLUG, [8.0, 16.0])
    drop_sams(Archive.open(unmarked.path), SLUG, [8.0])
    assert followed == [0.0, 50.0]


def test_the_grid_is_the_same_whatever_the_order_in_which_sams_were_marked(unmarked: Archive) -> None:
    times_s = [8.06, 24.0, 40.52]
    for time_s in (times_s[1], times_s[2], times_s[0]):
        mark_sams(Archive.open(unmarked.path), SLUG, [time_s])
    piecemeal = Archive.open(unmarked.path).grid(SLUG)
    drop_sams(unmarked, SLUG, times_s)
    at_once = mark_sams(Archive.open(unmarked.path), SLUG, times_s)
    assert at_once.rows().equals(piecemeal.rows())
    (unmarked.folder(SLUG) / "evidence" / course_store.FILE).unlink()
    (unmarked.folder(SLUG) / "evidence" / "grid.parquet").unlink()
    assert Archive.open(unmarked.path).grid(SLUG).rows().equals(piecemeal.rows())
