"""Checking an archive: every kind of damage is found and named; nothing is written; what is sound is called sound."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import threading
from dataclasses import replace
from pathlib import Path

import numpy as np
import pyarrow.parquet as pq
import pytest
import soundfile
from click.testing import CliRunner

from annotate import evidence_store, revisions, snapshots
from annotate.archive import Archive
from annotate.check.findings import Finding, damage_in
from annotate.check.repairing import repair
from annotate.check.whole import check
from annotate.errors import NewerArchive, NotAnArchive
from annotate.files import STRAY_PREFIX
from annotate.history import ledger
from annotate.records import MarkedSam, PhraseRecord, Recording, Section, SourceFile
from annotate.revisions import Revision, add, change
from annotate.schema import INDEX_TABLES, SCHEMA_VERSION
from annotate.state import empty, replay
from annotate.store.base import Store
from annotate.store.opening import store_at
from layakosh import main
from tests.annotate.backup.test_backup import content_of, fill
from tests.annotate.desk import SLUG, make_evidence, phrase, tihai
from tests.annotate.store.conftest import bucket, endpoint, place
from tests.annotate.test_migrations import OLD

__all__ = ["bucket", "endpoint", "place"]
HOME = f"recordings/{SLUG}"


def kinds(store: Store) -> list[str]:
    """What is found, damage only, by kind."""
    return [finding.kind for finding in damage_in(check(store))]


def noted(store: Store) -> list[str]:
    return [finding.kind for finding in check(store) if not finding.damage]


def only(store: Store, kind: str) -> Finding:
    (finding,) = [finding for finding in check(store) if finding.kind == kind]
    assert finding.where
    assert finding.means.endswith((".", ")"))
    assert finding.mend.endswith(".")
    return finding


def flip(path: Path, position: int) -> None:
    content = bytearray(path.read_bytes())
    content[position] ^= 4
    path.write_bytes(content)


@pytest.fixture
def long(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> Archive:
    """A recording of 20 revisions with snapshots, a ledger and the index."""
    monkeypatch.setattr(snapshots, "EVERY", 8)
    monkeypatch.setattr(ledger, "EVERY", 8)
    for number in range(19):
        archive.commit(SLUG, [add(phrase(f"p{number:02d}", 20.0 + number, 21.0 + number))], "asha", f"phrase {number}")
    for table in INDEX_TABLES:
        archive.index(table)
    return archive


@pytest.fixture
def heard(archive: Archive, tmp_path: Path) -> Archive:
    """A recording with sound of a second and evidence."""
    sound = archive.path / HOME / "sound"
    sound.mkdir()
    soundfile.write(sound / "copy.wav", np.zeros(8000), 8000)
    soundfile.write(sound / "copy-original-1.wav", np.zeros(8000), 8000)
    evidence_store.save(archive.evidence_folder(SLUG), make_evidence(100.0))
    archive.grid(SLUG)
    recording = archive.state(SLUG).recording
    digest = hashlib.sha256((sound / "copy-original-1.wav").read_bytes()).hexdigest()
    changed = replace(
        recording,
        duration_s=100.0,
        audio_path=f"{HOME}/sound/copy.wav",
        audio_sha256=digest,
        files=(SourceFile("side.wav", "whole", 0.0, digest),),
    )
    archive.commit(SLUG, [change(changed)], "asha", "")
    return archive


def test_a_sound_archive_is_called_sound_wherever_it_lies_and_nothing_is_written(place: str, tmp_path: Path) -> None:
    archive = fill(place, tmp_path)
    before = {entry.name: entry.stamp for entry in archive.store.walk()}
    told: list[float] = []
    assert list(damage_in(check(archive.store, tell=told.append))) == []
    assert told[-1] == 1
    assert {entry.name: entry.stamp for entry in archive.store.walk()} == before


def test_an_archive_of_an_older_schema_is_sound(tmp_path: Path) -> None:
    assert list(check(store_at(shutil.copytree(OLD, tmp_path / "old")))) == []


def test_a_long_history_with_all_that_follows_from_it_is_sound(long: Archive) -> None:
    assert snapshots.numbers(long._place(SLUG)) == [8, 16]
    assert list((long.path / HOME / "ledger").iterdir())
    assert list(check(long.store)) == []


def test_what_is_no_archive_is_told(tmp_path: Path) -> None:
    with pytest.raises(NotAnArchive):
        list(check(store_at(tmp_path)))
    (tmp_path / "archive.toml").write_text("schema = 99\n")
    with pytest.raises(NewerArchive):
        list(check(store_at(tmp_path)))


def test_a_damaged_revision_is_named_with_what_it_still_says_of_itself(long: Archive) -> None:
    path = revisions.path_of(long.path / HOME / "revisions", 5)
    flip(path, 60)
    finding = only(long.store, "revision damaged")
    assert finding.where == f"{HOME}/revisions/00000005.parquet"
    assert "by asha" in finding.means
    assert "'phrase 3'" in finding.means
    assert "Nothing is lost" in finding.mend


@pytest.mark.parametrize("number", [1, 5, 20])
def test_a_missing_revision_is_found_also_the_first_and_the_last(long: Archive, number: int) -> None:
    revisions.path_of(long.path / HOME / "revisions", number).unlink()
    assert only(long.store, "revision missing").where.endswith(f"{number:08d}.parquet")


def test_a_revision_under_another_number_is_told(long: Archive) -> None:
    folder = long.path / HOME / "revisions"
    shutil.copy(folder / "00000004.parquet", folder / "00000007.parquet")
    finding = only(long.store, "revision misnamed")
    assert finding.where.endswith("00000007.parquet")
    assert f"revision 4 of '{SLUG}'" in finding.means


def test_a_revision_of_another_recording_is_told(long: Archive) -> None:
    long.commit("morning", [add(Recording("morning", "Morning"))], "bela", "")
    folder = long.path / HOME / "revisions"
    shutil.copy(long.path / "recordings" / "morning" / "revisions" / "00000001.parquet", folder / "00000003.parquet")
    assert "of 'morning'" in only(long.store, "revision misnamed").means


def test_two_files_of_one_revision_are_told_and_whether_they_agree(long: Archive) -> None:
    folder = long.path / HOME / "revisions"
    shutil.copy(folder / "00000006.parquet", folder / "00000006 (copy).parquet")
    assert "a second copy of revision 6, the same" in only(long.store, "revision twice").means
    other = Revision(6, 5, "bela", revisions.read(folder, 6).when, "on the train", (add(phrase("train")),))
    (folder / "00000006 (copy).parquet").write_bytes(revisions.to_bytes(SLUG, other))
    assert "by bela" in only(long.store, "revision twice").means


def test_a_newer_revision_is_told_and_left_alone(long: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = long.path / HOME / "revisions"
    monkeypatch.setattr(revisions, "SCHEMA_VERSION", SCHEMA_VERSION + 1)
    newer = Revision(21, 20, "a", revisions.read(folder, 6).when, "", (add(phrase("new")),))
    revisions.write(folder, SLUG, newer)
    monkeypatch.undo()
    finding = only(long.store, "newer revision")
    assert finding.job is None
    repair(long.store, check(long.store))
    assert (folder / "00000021.parquet").exists()


def test_a_folder_that_was_given_another_name_is_told(archive: Archive) -> None:
    (archive.path / HOME).rename(archive.path / "recordings" / "night")
    finding = only(archive.store, "folder renamed")
    assert SLUG in finding.mend


@pytest.mark.parametrize("what", ["snapshots/00000016.parquet", "snapshots/00000008.parquet", "ledger"])
def test_a_damaged_snapshot_or_ledger_is_found(long: Archive, what: str) -> None:
    path = long.path / HOME / what
    path = next(path.iterdir()) if path.is_dir() else path
    path.write_bytes(path.read_bytes()[:-100])
    assert kinds(long.store) == ["ledger damaged" if what == "ledger" else "snapshot damaged"]


def test_a_snapshot_that_lies_is_found(long: Archive) -> None:
    honest = replay(empty(SLUG), revisions.read_since(long.path / HOME / "revisions", 0, 8))
    rows = {**honest.rows, "phrases": {"p99": phrase("p99")}}
    snapshots.write(long._place(SLUG), replace(honest, rows=rows))
    assert kinds(long.store) == ["snapshot lies"]


def test_damaged_evidence_is_found_in_every_file(heard: Archive) -> None:
    assert kinds(heard.store) == ["sound differs"]  # one second of sound for a hundred of recording
    folder = heard.path / HOME / "evidence"
    for path in sorted(folder.iterdir()):
        content = path.read_bytes()
        flip(path, len(content) // 3)
        found = [
            finding for finding in damage_in(check(heard.store)) if finding.where == f"{HOME}/evidence/{path.name}"
        ]
        assert [finding.kind for finding in found] == [
            "grid damaged" if path.stem in ("grid", "courses") else "evidence damaged"
        ]
        path.write_bytes(content)


def test_missing_evidence_is_noted_with_what_makes_it_again(heard: Archive) -> None:
    shutil.rmtree(heard.path / HOME / "evidence")
    finding = only(heard.store, "evidence missing")
    assert not finding.damage
    assert f"layakosh listen-again {SLUG}" in finding.mend


def test_sound_that_is_missing_cannot_be_played_or_is_another_is_found(heard: Archive, tmp_path: Path) -> None:
    copy = heard.path / HOME / "sound" / "copy.wav"
    assert "1.0 s long and the recording 100.0 s" in only(heard.store, "sound differs").means
    copy.write_bytes(b"RIFF" + bytes(100))
    assert kinds(heard.store) == ["sound damaged"]
    copy.unlink()
    assert kinds(heard.store) == ["sound missing"]
    (tmp_path / "private.wav").write_bytes(b"x")
    copy.symlink_to(tmp_path / "private.wav")
    assert kinds(heard.store) == ["sound outside"]
    assert "link" in noted(heard.store)


def test_an_original_is_held_against_its_digest_when_that_is_asked_for(heard: Archive) -> None:
    flip(heard.path / HOME / "sound" / "copy-original-1.wav", 500)
    assert kinds(heard.store) == ["sound differs"]
    found = [finding.where for finding in damage_in(check(heard.store, listen=True))]
    assert f"{HOME}/sound/copy-original-1.wav" in found


def test_a_sound_path_that_leads_elsewhere_is_found(archive: Archive) -> None:
    recording = replace(archive.state(SLUG).recording, audio_path="../../private.wav")
    archive.commit(SLUG, [change(recording)], "a", "")
    assert kinds(archive.store) == ["sound outside"]


def test_a_damaged_part_of_the_index_and_one_that_lies_are_found(long: Archive) -> None:
    path = long.path / "index" / "phrases" / "0-of-1.parquet"
    content = path.read_bytes()
    flip(path, 100)
    assert kinds(long.store) == ["index damaged"]
    path.write_bytes(content)
    table = pq.read_table(path)
    pq.write_table(table.slice(1).replace_schema_metadata(pq.read_schema(path).metadata), path)
    assert kinds(long.store) == ["index lies"]
    path.write_bytes(content)
    shutil.copy(path, path.with_name("1-of-2.parquet"))
    assert kinds(long.store) == ["index twice"]


def test_an_index_that_is_behind_is_noted_and_no_damage(long: Archive) -> None:
    long.commit(SLUG, [add(phrase("late"))], "a", "")
    assert kinds(long.store) == []
    assert set(noted(long.store)) == {"index behind"}


def test_rows_that_cannot_be_true_are_named(archive: Archive) -> None:
    archive.commit(
        SLUG,
        [
            add(replace(tihai(), landing_s=1.0)),
            add(PhraseRecord("p01", 30.0, 29.0, "S")),
            add(MarkedSam("s77", "gat", 300.0)),
            add(Section("odd", "gat", 95.0, 91.0)),
            add(Section("strange", "gat", 91.0, 95.0, "no-such-tala")),
        ],
        "a",
        "",
    )
    found = [finding.where for finding in damage_in(check(archive.store))]
    assert sorted(found) == [
        f"{SLUG}, phrase p01",
        f"{SLUG}, sam s77",
        f"{SLUG}, section odd",
        f"{SLUG}, section strange",
        f"{SLUG}, tihai t01",
    ]


def test_strays_unfinished_work_and_foreign_files_are_noted(archive: Archive) -> None:
    stray = archive.path / HOME / "revisions" / f"{STRAY_PREFIX}1-a"
    stray.write_bytes(b"half")
    assert noted(archive.store) == []  # its writer may be at work
    os.utime(stray, (1, 1))
    (archive.path / "unfinished" / "abc" / "recording").mkdir(parents=True)
    for name in ("thesis.txt", "recordings/READ ME.txt", f"{HOME}/cover.jpg", f"{HOME}/revisions/notes.txt", "mine/x"):
        path = archive.path / name
        path.parent.mkdir(exist_ok=True)
        path.write_text("mine")
    (archive.path / "recordings" / "Not A Slug").mkdir()
    assert sorted(noted(archive.store)) == ["foreign file"] * 6 + ["stray", "unfinished work"]
    assert kinds(archive.store) == []


def test_a_damaged_card_is_found(archive: Archive) -> None:
    (archive.path / "archive.toml").write_bytes(b"\xff\xfe schema")
    assert kinds(archive.store) == ["card damaged"]
    (archive.path / "archive.toml").unlink()
    assert kinds(archive.store) == ["card damaged"]


def test_the_command_tells_by_its_exit_code_and_as_json(long: Archive) -> None:
    place = str(long.path)
    run = CliRunner().invoke
    said = run(main, ["check", "--archive", place])
    assert (said.exit_code, said.stdout) == (0, "The archive is sound.\n")
    revisions.path_of(long.path / HOME / "revisions", 5).unlink()
    said = run(main, ["check", "--archive", place])
    assert said.exit_code == 1
    assert "revision missing: recordings/evening/revisions/00000005.parquet" in said.output
    assert "'layakosh check --repair' mends 1 of them" in said.output
    told = json.loads(run(main, ["check", "--archive", place, "--json"]).stdout)
    assert told["sound"] is False
    assert [each["kind"] for each in told["findings"]] == ["revision missing"]
    said = run(main, ["check", "--repair", "--archive", place])
    assert said.exit_code == 0, said.output
    assert "The archive is sound again." in said.output
    assert run(main, ["check", "--archive", place]).exit_code == 0
    assert run(main, ["check", "--archive", str(long.path / "none")]).exit_code == 2
    assert run(main, ["check", "x.zip", "--repair", "--archive", place]).exit_code == 2


def test_the_command_checks_a_backup(archive: Archive, tmp_path: Path) -> None:
    kept, run = str(tmp_path / "kept.zip"), CliRunner().invoke
    run(main, ["backup", kept, "--archive", str(archive.path)])
    said = run(main, ["check", kept])
    assert said.exit_code == 0, said.output
    assert "sound. 1 recordings in 2 files" in said.output
    assert json.loads(run(main, ["check", kept, "--json"]).stdout)["files"] == 2
    flip(Path(kept), 300)
    said = run(main, ["check", kept])
    assert said.exit_code == 2
    assert "cannot be used as a backup" in said.output


def test_while_others_edit_nothing_is_taken_for_damage(long: Archive) -> None:
    stop, done = threading.Event(), []

    def edit() -> None:
        mine = Archive.open(long.path)
        while not stop.is_set():
            done.append(mine.commit(SLUG, [add(phrase(f"x{len(done)}"))], "asha", ""))
            mine.index("phrases")
            mine.ledger(SLUG)

    editor = threading.Thread(target=edit)
    editor.start()
    try:
        for _ in range(8):
            assert damage_in(check(long.store)) == []
    finally:
        stop.set()
        editor.join()
    assert len(done) > 8


def test_fingerprints_of_what_people_wrote_are_the_same_after_a_check(long: Archive) -> None:
    before = content_of(long.store)
    flip(revisions.path_of(long.path / HOME / "revisions", 5), 60)
    damaged = content_of(long.store)
    list(check(long.store))
    assert content_of(long.store) == damaged != before
