"""Evidence on disk: whole, exact, replaced and never half there."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from annotate import evidence_store, grid_store
from annotate.archive import Archive
from annotate.marking import mark_sams
from annotate.schema import EVIDENCE
from tests.annotate.desk import SLUG, make_evidence


def test_evidence_comes_back_exactly(tmp_path: Path) -> None:
    evidence = make_evidence(20.0)
    evidence_store.save(tmp_path / "evidence", evidence)
    back = evidence_store.load(tmp_path / "evidence")
    assert back is not None
    for name, value in vars(evidence).items():
        assert np.array_equal(getattr(back, name), value), name
        assert getattr(getattr(back, name), "dtype", None) == getattr(value, "dtype", None), name


def test_every_part_of_the_evidence_has_its_column() -> None:
    """When ingest measures something new, this asks for a place to keep it."""
    columns = {name for schema in EVIDENCE.values() for name in schema.names}
    arrays = {name for name, value in vars(make_evidence(2.0)).items() if isinstance(value, np.ndarray)}
    assert columns == arrays
    assert set(vars(make_evidence(2.0))) - arrays == {
        "duration_s",
        "hop_s",
        "chroma_hop_s",
        "stroke_hop_s",
        "texture_hop_s",
    }


def test_a_recording_without_sound_has_no_evidence(archive: Archive) -> None:
    assert archive.evidence(SLUG) is None
    assert archive.sound_path(SLUG) is None
    assert evidence_store.stamp(archive.folder(SLUG) / "evidence") == ""


@pytest.mark.parametrize("kind", list(EVIDENCE))
def test_damaged_evidence_counts_as_none(tmp_path: Path, kind: str) -> None:
    evidence_store.save(tmp_path, make_evidence(2.0))
    (tmp_path / f"{kind}.parquet").write_bytes(b"not parquet")
    assert evidence_store.load(tmp_path) is None


def test_the_stamp_changes_when_evidence_is_replaced(tmp_path: Path) -> None:
    evidence_store.save(tmp_path, make_evidence(2.0))
    before = evidence_store.stamp(tmp_path)
    evidence_store.save(tmp_path, make_evidence(4.0))
    assert evidence_store.stamp(tmp_path) != before


def test_marking_a_sam_fits_its_section_once(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    evidence_store.save(archive.folder(SLUG) / "evidence", make_evidence(100.0))
    archive.grid(SLUG)
    fitted: list[float] = []
    fit_cycle = grid_store.fit_cycle

    def counting(*arguments: Any, **named: Any) -> Any:
        fitted.append(arguments[1])
        return fit_cycle(*arguments, **named)

    monkeypatch.setattr(grid_store, "fit_cycle", counting)
    grid = mark_sams(archive, SLUG, [34.05])
    assert fitted == [10.0]
    assert 34.05 in grid.sams()["sam_s"].tolist()


def test_the_grid_kept_beside_the_evidence_is_read_and_made_again_when_stale(archive: Archive) -> None:
    folder = archive.folder(SLUG) / "evidence"
    evidence_store.save(folder, make_evidence(100.0))
    first = Archive.open(archive.path).grid(SLUG)
    assert (folder / "grid.parquet").is_file()
    content = (folder / "grid.parquet").read_bytes()
    again = Archive.open(archive.path).grid(SLUG)
    assert (folder / "grid.parquet").read_bytes() == content
    assert again.rows().equals(first.rows())
    assert again.sams().equals(first.sams())
    (folder / "grid.parquet").write_bytes(b"damaged")
    assert Archive.open(archive.path).grid(SLUG).rows().equals(first.rows())
