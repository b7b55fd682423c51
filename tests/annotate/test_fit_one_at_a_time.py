"""Several threads that ask at once for the grid of a recording just edited: it is fitted once, the others find it."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from annotate import evidence_store
from annotate.archive import Archive
from annotate.marking import mark_sams
from annotate.records import Recording, Section
from annotate.revisions import add
from ingest.cycle import fit_cycle
from tests.annotate.desk import SLUG, make_evidence

ASKED_AT_ONCE = 5


def test_a_grid_that_several_threads_want_is_fitted_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    archive = Archive.create(tmp_path / "archive")
    rows: list[Recording | Section] = [
        Recording(SLUG, "Evening", tala="teental", duration_s=100.0),
        Section("gat", "gat", 0.0, 100.0, "teental"),
    ]
    archive.commit(SLUG, [add(row) for row in rows], "test", "made")
    evidence_store.save(archive.folder(SLUG) / "evidence", make_evidence(100.0))
    mark_sams(archive, SLUG, [8.0], who="test")
    (archive.folder(SLUG) / "evidence" / "grid.parquet").unlink()
    fitted: list[str] = []
    there = threading.Barrier(ASKED_AT_ONCE)

    def counting(*arguments: Any, **named: Any) -> Any:
        fitted.append(threading.current_thread().name)
        return fit_cycle(*arguments, **named)

    def ask(_number: int) -> dict[str, str]:
        own = Archive.open(archive.path)  # remembers nothing yet
        there.wait(timeout=30)
        return dict(own.grid(SLUG).digests)

    monkeypatch.setattr("annotate.grid_store.fit_cycle", counting)
    with ThreadPoolExecutor(ASKED_AT_ONCE) as people:
        digests = list(people.map(ask, range(ASKED_AT_ONCE)))
    assert len(fitted) == 1
    assert all(each == digests[0] for each in digests)
