"""An archive does the same on a disk and in an object store."""

from __future__ import annotations

import threading
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import soundfile
from click.testing import CliRunner

from annotate import evidence_store, revisions, snapshots
from annotate.archive import Archive
from annotate.check.findings import damage_in
from annotate.check.repairing import repair
from annotate.check.whole import check
from annotate.errors import ConflictingEdit, NotAnArchive, OnlyOnDisk
from annotate.layout import removal_of
from annotate.records import MarkedSam, Recording, Section
from annotate.removing import remove
from annotate.revisions import add, change
from annotate.schema import INDEX_TABLES
from annotate.store.disk import DiskStore
from annotate.store.folder import as_folder
from annotate.store.opening import store_at
from annotate.withdrawing import bring_back, withdraw_recording, withdrawn
from layakosh import main
from tests.annotate.desk import SAMS_S, SLUG, make_evidence, phrase, tihai


@pytest.fixture
def archive(place: str) -> Archive:
    archive = Archive.create(place)
    rows = [
        Recording(SLUG, "Evening", raga="desh", tala="teental", duration_s=100.0),
        Section("gat", "gat", 10.0, 90.0, "teental"),
        *(MarkedSam(f"s{n:02d}", "gat", sam_s) for n, sam_s in enumerate(SAMS_S, start=1)),
    ]
    archive.commit(SLUG, [add(row) for row in rows], "test", "made")
    return archive


def test_an_archive_is_made_once_and_opened_again(place: str) -> None:
    with pytest.raises(NotAnArchive):
        Archive.open(place)
    Archive.create(place)
    assert Archive.open(place).slugs() == []


def test_what_is_no_archive_is_left_as_it_is(place: str) -> None:
    store_at(place).replace("thesis.txt", b"do not lose me")
    with pytest.raises(NotAnArchive, match="holds other files"):
        Archive.create(place)
    assert [entry.name for entry in store_at(place).walk()] == ["thesis.txt"]


def test_edits_of_one_are_seen_by_another_and_conflicts_told(archive: Archive, place: str) -> None:
    other = Archive.open(place)
    archive.commit(SLUG, [add(tihai())], "asha", "")
    assert other.state(SLUG).tihais == (tihai(),)
    other.commit(SLUG, [change(replace(tihai(), label="theirs"))], "bela", "")
    with pytest.raises(ConflictingEdit):
        archive.commit(SLUG, [change(replace(tihai(), label="mine"))], "asha", "", parent=2)
    assert archive.commit(SLUG, [add(phrase())], "asha", "", parent=2) == 4


def test_writers_at_once_lose_nothing(archive: Archive, place: str) -> None:
    def write(name: str) -> None:
        mine = Archive.open(place)
        for number in range(8):
            mine.commit(SLUG, [add(phrase(f"{name}{number}"))], name, "")

    writers = [threading.Thread(target=write, args=(name,)) for name in "abc"]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    assert len(archive.state(SLUG).phrases) == 24
    assert [each.number for each in archive.history(SLUG)] == list(range(1, 26))


def test_the_index_follows_the_edits_of_another_process(archive: Archive, place: str) -> None:
    for table in INDEX_TABLES:
        archive.index(table)
    reader = Archive.open(place)
    assert len(reader.index("phrases")) == 0
    archive.commit(SLUG, [add(phrase())], "a", "")
    archive.commit("morning", [add(Recording("morning", "Morning"))], "a", "")
    assert len(reader.index("phrases")) == 1
    assert sorted(Archive.open(place).index("recordings")["recording"]) == [SLUG, "morning"]


def test_an_archive_is_opened_from_its_snapshot(archive: Archive, place: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(snapshots, "EVERY", 8)
    for number in range(20):
        archive.commit(SLUG, [add(phrase(f"p{number:02d}"))], "a", "")
    fresh = Archive.open(place)
    read = []
    real = revisions.read
    monkeypatch.setattr(revisions, "read", lambda folder, number: read.append(number) or real(folder, number))
    assert fresh.state(SLUG) == archive.state(SLUG)
    assert read == list(range(17, 22))


def test_evidence_and_sound_are_kept_there_too(archive: Archive, place: str, tmp_path: Path) -> None:
    assert not archive.has_sound(SLUG)
    assert archive.sound_path(SLUG) is None
    evidence_store.save(archive.evidence_folder(SLUG), make_evidence(100.0))
    soundfile.write(tmp_path / "copy.wav", np.zeros(8000), 8000)
    audio_path = f"recordings/{SLUG}/sound/copy.wav"
    archive.store.put_file(audio_path, tmp_path / "copy.wav")
    recording = archive.state(SLUG).recording
    archive.commit(SLUG, [change(replace(recording, audio_path=audio_path, audio_sha256="ab"))], "a", "")
    other = Archive.open(place)
    evidence = other.evidence(SLUG)
    assert evidence is not None
    assert np.array_equal(evidence.strokes, make_evidence(100.0).strokes)
    assert other.has_sound(SLUG)
    copy = other.sound_path(SLUG)
    assert copy is not None
    assert copy.read_bytes() == (tmp_path / "copy.wav").read_bytes()
    assert other.without_evidence() == [SLUG]  # the melody is missing
    before = other.grid(SLUG).rows()
    assert len(before) > 100
    assert as_folder(archive.evidence_folder(SLUG)).stamp("grid.parquet") != ""
    assert Archive.open(place).grid(SLUG).rows().equals(before)


def test_only_a_disk_has_a_path(archive: Archive) -> None:
    if isinstance(archive.store, DiskStore):
        assert archive.folder(SLUG).is_dir()
        assert archive.workshop == archive.path
    else:
        with pytest.raises(OnlyOnDisk, match="object store"):
            archive.folder(SLUG)
        assert "cache" in archive.workshop.parts


def test_the_commands_take_either(archive: Archive, place: str) -> None:
    run = CliRunner().invoke
    said = run(main, ["phrase", SLUG, "--from", "20", "--to", "22", "--swaras", "R m P", "--archive", place])
    assert said.exit_code == 0, said.output
    said = run(main, ["concerts", "--archive", place])
    assert "1 phrases" in said.output
    assert '"matra": 16' in run(main, ["grid", SLUG, "--json", "--archive", place]).output


def test_a_recording_is_withdrawn_brought_back_and_removed_for_good(archive: Archive, place: str) -> None:
    other = Archive.open(place)
    assert other.slugs() == [SLUG]
    rows = archive.state(SLUG).rows
    withdraw_recording(archive, SLUG, "asha")
    assert other.slugs() == []
    assert other.index("sams").empty
    assert [each.slug for each in withdrawn(other)] == [SLUG]
    bring_back(other, SLUG, "bela")
    assert archive.state(SLUG).rows == rows
    withdraw_recording(archive, SLUG, "asha")
    assert remove(archive, SLUG, "asha") > 1000
    assert [entry.name for entry in archive.store.walk() if SLUG in entry.name] == []
    assert other.slugs() == withdrawn(other) == []


def test_a_removal_broken_off_is_finished_by_a_repair(archive: Archive, place: str) -> None:
    withdraw_recording(archive, SLUG, "asha")
    archive.store.create_exclusively(removal_of(SLUG), b"{}")
    archive.store.delete(f"recordings/{SLUG}/revisions/00000001.parquet")
    findings = list(check(archive.store))
    assert [each.kind for each in damage_in(findings)] == []
    repair(archive.store, findings)
    assert [entry.name for entry in store_at(place).walk() if SLUG in entry.name] == []
    assert list(check(archive.store)) == []
