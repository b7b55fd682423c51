"""A backup: an archive in one file, and back again, on a disk and in an object store."""

from __future__ import annotations

import hashlib
import threading
import zipfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import soundfile
from click.testing import CliRunner

from annotate import evidence_store
from annotate.archive import Archive
from annotate.backup.contents import LIST
from annotate.backup.errors import PlaceTaken
from annotate.backup.restoring import restore_backup
from annotate.backup.writing import write_backup
from annotate.errors import CannotWrite, NotAnArchive
from annotate.records import Recording
from annotate.revisions import add, change
from annotate.schema import INDEX_TABLES
from annotate.store.base import Store
from annotate.store.disk import DiskStore
from annotate.store.opening import store_at
from layakosh import main
from tests.annotate.desk import SLUG, make_evidence, phrase, tihai
from tests.annotate.store.conftest import bucket, endpoint, place

__all__ = ["bucket", "endpoint", "place"]
SOUND = f"recordings/{SLUG}/sound/copy.wav"


def fill(place: str, folder: Path) -> Archive:
    """An archive with two recordings, one of them with sound and evidence, and everything derived made."""
    archive = Archive.create(place)
    archive.commit(SLUG, [add(Recording(SLUG, "Evening", raga="desh"))], "asha", "")
    archive.commit("morning", [add(Recording("morning", "Morning"))], "asha", "")
    archive.commit(SLUG, [add(tihai()), add(phrase())], "bela", "")
    soundfile.write(folder / "copy.wav", np.zeros(8000), 8000)
    archive.store.put_file(SOUND, folder / "copy.wav")
    evidence_store.save(archive.evidence_folder(SLUG), make_evidence(10.0))
    evidence_store.save(archive.evidence_folder("morning"), make_evidence(10.0))
    recording = archive.state(SLUG).recording
    archive.commit(SLUG, [change(replace(recording, audio_path=SOUND, audio_sha256="ab"))], "asha", "")
    for table in INDEX_TABLES:
        archive.index(table)
    archive.store.replace("set-aside/2026-01-02/recordings/x/revisions/00000001.parquet", b"damaged")
    return archive


def content_of(store: Store, *parts: str) -> dict[str, str]:
    """Digests by name of the files that cannot be made again."""
    return {
        entry.name: hashlib.sha256(store.read(entry.name)).hexdigest()
        for entry in store.walk()
        if entry.name == "archive.toml" or any(part in entry.name for part in ("revisions", "set-aside", *parts))
    }


def test_what_cannot_be_made_again_comes_back_byte_for_byte(place: str, tmp_path: Path) -> None:
    archive = fill(place, tmp_path)
    write_backup(archive.store, tmp_path / "kept.zip")
    for target in (str(tmp_path / "there"), place + "-restored"):
        restored = store_at(target)
        restore_backup(tmp_path / "kept.zip", restored)
        assert content_of(restored, "sound") == content_of(archive.store, "sound")
        again = Archive.open(target)
        assert again.slugs() == [SLUG, "morning"]
        assert again.state(SLUG) == archive.state(SLUG)
        assert [each.who for each in again.history(SLUG)] == ["asha", "bela", "asha"]
        assert again.has_sound(SLUG)
        assert again.commit(SLUG, [add(phrase("p02"))], "a", "") == 4
        assert len(again.index("phrases")) == 2


def test_evidence_is_within_where_nothing_can_be_listened_to_again(place: str, tmp_path: Path) -> None:
    archive = fill(place, tmp_path)
    write_backup(archive.store, tmp_path / "kept.zip")
    restore_backup(tmp_path / "kept.zip", store_at(tmp_path / "there"))
    again = Archive.open(tmp_path / "there")
    assert again.evidence(SLUG) is None
    assert again.evidence("morning") is not None


def test_with_evidence_all_of_it_is_within_and_the_grid_is_not(place: str, tmp_path: Path) -> None:
    archive = fill(place, tmp_path)
    write_backup(archive.store, tmp_path / "kept.zip", evidence=True, sound=False)
    restore_backup(tmp_path / "kept.zip", store_at(tmp_path / "there"))
    again = Archive.open(tmp_path / "there")
    evidence = again.evidence(SLUG)
    assert evidence is not None
    assert np.array_equal(evidence.strokes, make_evidence(10.0).strokes)
    assert not again.has_sound(SLUG)
    names = [entry.name for entry in again.store.walk()]
    assert not any("grid" in name or name.startswith("index") or "snapshots" in name for name in names)


def test_any_program_opens_a_backup_and_finds_a_digest_of_every_file(place: str, tmp_path: Path) -> None:
    archive = fill(place, tmp_path)
    written = write_backup(archive.store, tmp_path / "kept.zip")
    with zipfile.ZipFile(tmp_path / "kept.zip") as file:
        assert file.testzip() is None
        names = set(file.namelist())
        assert LIST in names
        assert names - {LIST} == set(written.contents.members)
        for name, member in written.contents.members.items():
            content = file.read(name)
            assert (len(content), hashlib.sha256(content).hexdigest()) == (member.size, member.sha256)
            assert content == archive.store.read(name)


def test_others_edit_while_a_backup_is_written_and_it_holds_a_whole_history(archive: Archive, tmp_path: Path) -> None:
    stop = threading.Event()

    def edit() -> None:
        mine, number = Archive.open(archive.path), 0
        while not stop.is_set():
            mine.commit(SLUG, [add(phrase(f"x{number}"))], "asha", "")
            number += 1

    editor = threading.Thread(target=edit)
    editor.start()
    try:
        for number in range(6):
            before = Archive.open(archive.path).state(SLUG).revision
            write_backup(archive.store, tmp_path / f"{number}.zip")
            restore_backup(tmp_path / f"{number}.zip", store_at(tmp_path / f"r{number}"))
            again = Archive.open(tmp_path / f"r{number}")
            history = again.history(SLUG)
            assert [each.number for each in history] == list(range(1, len(history) + 1))
            assert len(history) >= before
    finally:
        stop.set()
        editor.join()


def test_progress_goes_from_nothing_to_all(archive: Archive, tmp_path: Path) -> None:
    told: list[float] = []
    write_backup(archive.store, tmp_path / "kept.zip", tell=told.append)
    assert told == sorted(told)
    assert told[-1] == 1
    told.clear()
    restore_backup(tmp_path / "kept.zip", store_at(tmp_path / "there"), told.append)
    assert told == sorted(told)
    assert told[-1] == 1


def test_a_file_that_is_there_is_not_written_over_unless_that_is_asked_for(archive: Archive, tmp_path: Path) -> None:
    path = tmp_path / "kept.zip"
    path.write_text("my thesis")
    with pytest.raises(PlaceTaken, match="--replace"):
        write_backup(archive.store, path)
    assert path.read_text() == "my thesis"
    write_backup(archive.store, path, replace=True)
    assert zipfile.is_zipfile(path)
    assert sorted(each.name for each in tmp_path.iterdir()) == ["archive", "kept.zip"]


def test_what_is_no_archive_is_not_backed_up(tmp_path: Path) -> None:
    with pytest.raises(NotAnArchive):
        write_backup(store_at(tmp_path / "none"), tmp_path / "kept.zip")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_missing_is_told(archive: Archive, tmp_path: Path) -> None:
    with pytest.raises(CannotWrite, match=r"none.kept\.zip"):
        write_backup(archive.store, tmp_path / "none" / "kept.zip")


def test_files_that_are_no_archives_are_left_out_and_told(archive: Archive, tmp_path: Path) -> None:
    (archive.path / "thesis.txt").write_text("x")
    written = write_backup(archive.store, tmp_path / "kept.zip")
    assert written.left_out == ("thesis.txt",)
    assert "thesis.txt" not in written.contents.members


def test_a_link_that_leads_out_of_the_archive_is_not_taken_in(archive: Archive, tmp_path: Path) -> None:
    (tmp_path / "private").write_text("a secret")
    sound = archive.path / "recordings" / SLUG / "sound"
    sound.mkdir()
    (sound / "copy.opus").symlink_to(tmp_path / "private")
    written = write_backup(archive.store, tmp_path / "kept.zip")
    assert written.contents.holds("sound") == 0
    assert b"a secret" not in (tmp_path / "kept.zip").read_bytes()


def test_a_backup_goes_into_a_new_or_empty_place_only(place: str, tmp_path: Path) -> None:
    archive = fill(place, tmp_path)
    write_backup(archive.store, tmp_path / "kept.zip")
    before = content_of(archive.store)
    with pytest.raises(PlaceTaken, match="an archive already"):
        restore_backup(tmp_path / "kept.zip", archive.store)
    assert content_of(archive.store) == before
    other = store_at(place + "-other")
    other.replace("thesis.txt", b"x")
    with pytest.raises(PlaceTaken, match="something else"):
        restore_backup(tmp_path / "kept.zip", other)
    assert [entry.name for entry in other.walk()] == ["thesis.txt"]
    (tmp_path / "empty").mkdir()
    restore_backup(tmp_path / "kept.zip", store_at(tmp_path / "empty"))
    assert Archive.open(tmp_path / "empty").slugs() == [SLUG, "morning"]


def test_of_two_that_restore_into_one_place_one_is_told(place: str, tmp_path: Path) -> None:
    archive = fill(place, tmp_path)
    write_backup(archive.store, tmp_path / "kept.zip")
    target, start, told = place + "-both", threading.Barrier(2), []

    def put_back() -> None:
        start.wait()
        try:
            restore_backup(tmp_path / "kept.zip", store_at(target))
            told.append("done")
        except PlaceTaken:
            told.append("taken")

    both = [threading.Thread(target=put_back) for _ in range(2)]
    for each in both:
        each.start()
    for each in both:
        each.join()
    assert sorted(told) == ["done", "taken"]
    assert content_of(store_at(target), "sound") == content_of(archive.store, "sound")


def test_a_disk_that_is_full_while_restoring_leaves_nothing(
    archive: Archive, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_backup(archive.store, tmp_path / "kept.zip")

    def full(*_names: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("annotate.backup.restoring.sync_tree", full)
    with pytest.raises(CannotWrite, match="make room"):
        restore_backup(tmp_path / "kept.zip", DiskStore(tmp_path / "there"))
    assert not (tmp_path / "there").exists()


def test_the_commands_write_check_and_put_back(place: str, tmp_path: Path) -> None:
    fill(place, tmp_path)
    kept, there = str(tmp_path / "kept.zip"), str(tmp_path / "there")
    said = CliRunner().invoke(main, ["backup", kept, "--archive", place])
    assert said.exit_code == 0, said.output
    assert "2 recordings, 4 revisions, 1 files of sound, 5 of evidence" in said.output
    assert CliRunner().invoke(main, ["backup", kept, "--archive", place]).exit_code == 2
    said = CliRunner().invoke(main, ["restore", kept, "--archive", there])
    assert said.exit_code == 0, said.output
    assert Archive.open(there).slugs() == [SLUG, "morning"]
    said = CliRunner().invoke(main, ["restore", kept, "--archive", there])
    assert said.exit_code == 2
    assert "holds an archive already" in said.output
