"""Revision files: written once, whole, read back without loss."""

from __future__ import annotations

import errno
import json
import os
from dataclasses import replace
from datetime import UTC, date, datetime
from fractions import Fraction
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotate import files, revisions
from annotate.archive import Archive
from annotate.errors import DamagedRevision, NewerArchive
from annotate.records import MarkedSam, PhraseRecord, Record, Recording, Section, SourceFile, TihaiRecord, key_of
from annotate.revisions import Revision, add, withdraw
from annotate.rows import from_row, to_row
from annotate.schema import ANNOTATION_TABLES, INDEX_TABLES, REVISION, index_schema
from tests.annotate.desk import SLUG, fingerprint, phrase
from theory.tihai import LandingRule

NOW = datetime(2025, 12, 13, 20, 15, tzinfo=UTC)

texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
seconds = st.floats(0, 1e6, allow_nan=False)
matras = st.fractions(1, 200, max_denominator=5040)
moments = st.datetimes(datetime(1970, 1, 1), datetime(2200, 1, 1), timezones=st.just(UTC))

records = st.one_of(
    st.builds(
        Recording,
        slug=st.just("x"),
        title=texts,
        performed_on=st.none() | st.dates(date(1900, 1, 1)),
        venue=texts,
        raga=texts,
        tala=texts,
        lead=texts,
        musicians=st.lists(st.tuples(texts, texts), max_size=3).map(tuple),
        sa_hz=st.none() | seconds,
        duration_s=st.none() | seconds,
        notes=texts,
        files=st.lists(st.builds(SourceFile, texts, texts, seconds, texts), max_size=2).map(tuple),
    ),
    st.builds(Section, texts, texts, seconds, seconds, texts, st.sampled_from(["ingest", "person"])),
    st.builds(MarkedSam, texts, texts, seconds, st.none() | st.integers(0, 10**6)),
    st.builds(
        TihaiRecord,
        tihai=texts,
        palla_s=st.lists(seconds, min_size=1, max_size=3).map(tuple),
        landing_s=seconds,
        tala=texts,
        start=st.none() | matras,
        palla=texts,
        dam=st.none() | matras,
        rule=st.sampled_from(LandingRule),
        target=matras,
        status=st.sampled_from(["proposed", "confirmed", "rejected"]),
        label=texts,
        at=moments,
    ),
    st.builds(PhraseRecord, texts, seconds, seconds, texts, texts, texts, moments),
)


@given(record=records)
def test_a_record_comes_back_from_its_row_exactly(record: Record) -> None:
    edit = add(record)
    assert from_row(edit.table, key_of(record), to_row(record)) == record


@given(rows=st.lists(records, min_size=1, max_size=4))
def test_a_revision_comes_back_from_its_file_exactly(
    tmp_path_factory: pytest.TempPathFactory, rows: list[Record]
) -> None:
    folder = tmp_path_factory.mktemp("revisions")
    written = Revision(1, 0, "ünï", NOW, "because", (*(add(row) for row in rows), withdraw("tihais", "t99")))
    revisions.write(folder, "x", written)
    assert revisions.read(folder, 1) == written


def test_a_revision_is_never_written_over(tmp_path: Path) -> None:
    first = Revision(1, 0, "a", NOW, "", (add(phrase()),))
    revisions.write(tmp_path, "x", first)
    content = revisions.path_of(tmp_path, 1).read_bytes()
    with pytest.raises(FileExistsError):
        revisions.write(tmp_path, "x", replace(first, who="b"))
    assert revisions.path_of(tmp_path, 1).read_bytes() == content
    assert [path.name for path in tmp_path.iterdir()] == ["00000001.parquet"]


def test_without_hard_links_a_file_is_still_created_exclusively(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_links(*_names: object) -> None:
        raise OSError(errno.EPERM, "no links here")

    monkeypatch.setattr(os, "link", no_links)
    files.create_exclusively(tmp_path / "a", b"first")
    with pytest.raises(FileExistsError):
        files.create_exclusively(tmp_path / "a", b"second")
    assert (tmp_path / "a").read_bytes() == b"first"
    assert len(list(tmp_path.iterdir())) == 1


def test_a_full_disk_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_descriptor: int) -> None:
        raise OSError(errno.ENOSPC, "no space left")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="no space"):
        files.create_exclusively(tmp_path / "a", b"x")
    assert list(tmp_path.iterdir()) == []


def test_strays_of_killed_writers_are_swept_and_young_ones_left(archive: Archive) -> None:
    folder = archive.path / "recordings" / SLUG / "revisions"
    old, young = folder / f"{files.STRAY_PREFIX}1-a", folder / f"{files.STRAY_PREFIX}2-b"
    for path in (old, young):
        path.write_bytes(b"half a revision")
    os.utime(old, (1, 1))
    assert Archive.open(archive.path).state(SLUG).revision == 1
    assert not old.exists()
    assert young.exists()


def test_a_truncated_revision_is_named_and_left_alone(archive: Archive) -> None:
    path = revisions.path_of(archive.path / "recordings" / SLUG / "revisions", 1)
    path.write_bytes(path.read_bytes()[:100])
    before = fingerprint(archive)
    with pytest.raises(DamagedRevision, match=r"00000001\.parquet cannot be read"):
        Archive.open(archive.path).state(SLUG)
    assert fingerprint(archive) == before


def test_a_parquet_file_of_something_else_is_no_revision(archive: Archive) -> None:
    path = revisions.path_of(archive.path / "recordings" / SLUG / "revisions", 2)
    pq.write_table(index_schema("phrases").empty_table(), path)
    with pytest.raises(DamagedRevision):
        archive.state(SLUG)


def test_a_missing_revision_is_named(archive: Archive) -> None:
    archive.commit(SLUG, [add(phrase())], "a", "")
    revisions.path_of(archive.path / "recordings" / SLUG / "revisions", 1).unlink()
    with pytest.raises(DamagedRevision, match=r"00000001\.parquet is missing"):
        Archive.open(archive.path).state(SLUG)


def test_a_revision_of_a_newer_version_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(revisions, "SCHEMA_VERSION", revisions.SCHEMA_VERSION + 1)
    revisions.write(tmp_path, "x", Revision(1, 0, "", NOW, "", (add(phrase()),)))
    monkeypatch.undo()
    with pytest.raises(NewerArchive):
        revisions.read(tmp_path, 1)


def test_a_revision_written_before_the_files_had_a_column_is_read(tmp_path: Path) -> None:
    recording = Recording("x", "Evening", musicians=(("tabla", "Devkant"),), audio_sha256="ab")
    revisions.write(tmp_path, "x", Revision(1, 0, "", NOW, "", (add(recording),)))
    path = revisions.path_of(tmp_path, 1)
    rows = pq.read_table(path)
    old_struct = pa.struct([field for field in rows.schema.field("recordings").type if field.name != "files"])
    old = [{name: each for name, each in row.items() if name != "files"} for row in rows["recordings"].to_pylist()]
    place = rows.schema.get_field_index("recordings")
    rows = rows.set_column(place, pa.field("recordings", old_struct), pa.array(old, old_struct))
    note = json.loads(rows.schema.metadata[b"layakosh"]) | {"schema": 1}
    del note["digest"]  # older files have none
    pq.write_table(rows.replace_schema_metadata({b"layakosh": json.dumps(note).encode()}), path)
    assert revisions.read(tmp_path, 1).edits[0].record == recording


def test_every_column_says_what_it_means() -> None:
    for table in INDEX_TABLES:
        for column in index_schema(table):
            assert column.metadata[b"meaning"], (table, column.name)
            timed = column.name.endswith(("_s", "_hz", "_ms", "_matras"))
            assert not timed or b"unit" in column.metadata, (table, column.name)


def test_a_revision_file_can_be_read_by_any_parquet_reader(archive: Archive) -> None:
    path = revisions.path_of(archive.path / "recordings" / SLUG / "revisions", 1)
    table = pq.read_table(path)
    assert table.schema.names == REVISION.names == ["table", "key", "action", *ANNOTATION_TABLES]
    assert table["recordings"][0].as_py()["title"] == "Evening"
    assert table["sections"][0].as_py() is None


def test_rationals_are_kept_as_text_with_both_parts(archive: Archive) -> None:
    record = TihaiRecord("t01", (1.0,), 2.0, start=Fraction(17), dam=Fraction(1, 3))
    row = to_row(record)
    assert (row["start"], row["dam"], row["target"]) == ("17/1", "1/3", "1/1")


def test_only_the_revision_that_withdraws_the_recording_is_told_to_do_so_whatever_words_others_have(
    archive: Archive,
) -> None:
    folder = archive.path / "recordings" / SLUG / "revisions"
    says = "withdraws the recording"
    archive.commit(SLUG, [add(replace(phrase(), role=says))], says, f'"{says}": true')
    archive.withdraw(SLUG, "phrases", "p01", who=says)
    number = archive.withdraw(SLUG, "recordings", SLUG, who="asha")
    assert [revisions.withdraws_all(folder, each) for each in range(1, number + 2)] == [
        False,
        False,
        False,
        True,
        False,
    ]
    revisions.path_of(folder, number).write_bytes(b"no table at all: withdraws the recording")
    assert not revisions.withdraws_all(folder, number)
