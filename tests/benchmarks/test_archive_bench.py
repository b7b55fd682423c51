"""The archive's benchmark measures what it says: its large archive is one, and its keepers keep."""

from __future__ import annotations

from pathlib import Path

import pytest

from annotate.archive import Archive
from annotate.verify import verify_recording
from benchmarks.archive_edits import killed, latency, make, together
from benchmarks.archive_keepers import KEEPERS
from benchmarks.archive_scale import JOBS, Stopwatch, measured
from benchmarks.large_archive import make as make_large
from benchmarks.large_archive import records_of, slug_of


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("large") / "archive"
    make_large(folder, recordings=4, rows=400, workers=1)
    return folder


def test_a_recording_is_made_up_from_its_number_alone() -> None:
    assert records_of(3, 50) == records_of(3, 50)
    assert records_of(3, 50) != records_of(4, 50)


def test_the_large_archive_is_one_that_the_program_reads(large: Path) -> None:
    archive = Archive.open(large)
    assert len(archive.index("tihais")) + len(archive.index("phrases")) == 400
    assert archive.without_evidence() == []
    verdicts = verify_recording(archive, slug_of(1))
    assert {"lands", "misses"} <= {verdict.verdict for verdict in verdicts}
    assert archive.state(slug_of(2)).recording == records_of(2, 100)[0]


def test_a_job_is_timed_in_a_process_of_its_own(large: Path) -> None:
    found = measured("open and list", large)
    assert found.note == "4 recordings"
    assert 0 < found.work_s < 60
    assert found.peak_mb > 20


@pytest.mark.parametrize("job", ["tihais by arithmetic", "the same tihai elsewhere", "phrases by contour"])
def test_the_searches_that_are_timed_search(large: Path, job: str) -> None:
    watch = Stopwatch()
    assert JOBS[job](Archive.open(large), watch).endswith("rows")
    assert len(watch.times) == 1


@pytest.mark.parametrize("keeper", KEEPERS)
def test_edits_are_timed_and_what_was_acknowledged_is_looked_for(keeper: str, tmp_path: Path) -> None:
    if keeper != "layakosh":
        pytest.importorskip("deltalake", reason="pip install -c constraints.txt -e '.[tables]'")
    make(keeper, tmp_path / "kept", 4)
    assert latency(keeper, tmp_path / "kept", 3, 4).median_ms > 0
    assert together(keeper, tmp_path / "kept", 0.5, same=True).lost == 0
    after = killed(keeper, tmp_path / "kept", 1)
    assert after.acknowledged > 0
    assert after.lost == 0
