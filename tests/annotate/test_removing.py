"""A withdrawn recording removed for good: all of its room is free, and a kill leaves the whole or what is finished."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from annotate.archive import Archive
from annotate.backup.restoring import restore_backup
from annotate.backup.writing import write_backup
from annotate.check.findings import damage_in
from annotate.check.repairing import repair
from annotate.check.whole import check
from annotate.errors import CannotWrite, NoSuchRecording, NotWithdrawn
from annotate.layout import removal_of
from annotate.removing import begun, finish, remove
from annotate.revisions import add
from annotate.schema import INDEX_TABLES
from annotate.store.disk import DiskStore
from annotate.withdrawing import bring_back, withdraw_recording, withdrawn
from tests.annotate.desk import SLUG, make_archive, phrase, tihai

ROOT = Path(__file__).parents[2]
CHILD = """
import os, signal, sys
from annotate.archive import Archive
from annotate.removing import remove
from annotate.store.disk import DiskStore
left = int(sys.argv[2])
def killing(name):
    was = getattr(DiskStore, name)
    def counted(*told):
        global left
        left -= 1
        if left < 0:
            os.kill(os.getpid(), signal.SIGKILL)
        return was(*told)
    setattr(DiskStore, name, counted)
for name in ("create_exclusively", "delete", "drop_folder"):
    killing(name)
remove(Archive.open(sys.argv[1]), "evening", "asha")
"""
"""Removes the recording, and is killed at the step whose number it is told."""


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """An archive with a withdrawn recording that has annotations and some sound."""
    made = make_archive(tmp_path)
    made.commit(SLUG, [add(tihai())], "asha", "")
    made.commit(SLUG, [add(phrase())], "asha", "")
    for table in INDEX_TABLES:
        made.index(table)
    sound = made.path / "recordings" / SLUG / "sound"
    sound.mkdir()
    (sound / "copy.opus").write_bytes(os.urandom(10_000))
    withdraw_recording(made, SLUG, "asha")
    return made


def left_of(archive: Archive) -> list[str]:
    return [entry.name for entry in archive.store.walk() if SLUG in entry.name]


def test_what_is_removed_leaves_nothing_and_its_name_is_free(archive: Archive) -> None:
    assert remove(archive, SLUG, "asha") > 10_000
    assert left_of(archive) == []
    assert not (archive.path / "recordings" / SLUG).exists()
    assert list(check(archive.store)) == []
    assert withdrawn(archive) == []
    with pytest.raises(NoSuchRecording):
        archive.state(SLUG)
    for part in archive.path.glob("index/*/*.parquet"):
        assert SLUG.encode() not in part.read_bytes()


def test_only_what_was_withdrawn_is_removed(archive: Archive) -> None:
    bring_back(archive, SLUG, "asha")
    with pytest.raises(NotWithdrawn, match="layakosh withdraw evening"):
        remove(archive, SLUG, "asha")
    with pytest.raises(NoSuchRecording):
        remove(archive, "no-such", "asha")
    with pytest.raises(NoSuchRecording):
        remove(archive, "../elsewhere", "asha")
    assert len(archive.state(SLUG).tihais) == 1
    assert begun(archive.store) == []


def test_a_removal_killed_at_any_step_leaves_the_whole_or_what_a_check_can_finish(tmp_path: Path) -> None:
    whole, broken_off, step = 0, 0, 0
    while True:
        (tmp_path / str(step)).mkdir()
        archive = make_archive(tmp_path / str(step))
        archive.commit(SLUG, [add(tihai())], "asha", "")
        rows = archive.state(SLUG).rows
        withdraw_recording(archive, SLUG, "asha")
        ended = subprocess.run([sys.executable, "-c", CHILD, str(archive.path), str(step)], cwd=ROOT, check=False)
        again = Archive.open(archive.path)
        assert damage_in(check(again.store)) == [], step
        assert again.slugs() == []
        if ended.returncode == 0:
            break
        assert ended.returncode == -signal.SIGKILL
        if begun(again.store):
            broken_off += 1
            assert withdrawn(again) == []
            findings = list(check(again.store))
            assert [each.kind for each in findings] == ["removal not finished"]
            with pytest.raises(NoSuchRecording):
                bring_back(again, SLUG, "bela")
            if step % 2:
                repair(again.store, findings)
            else:
                remove(again, SLUG, "asha")
            assert left_of(again) == []
            assert list(check(again.store)) == []
        else:
            whole += 1
            bring_back(again, SLUG, "asha")
            assert again.state(SLUG).rows == rows
        step += 1
    print(f"killed at {step} steps: {whole} times before it was decided, {broken_off} times after")
    assert whole >= 1
    assert broken_off >= 6  # two revisions of three, the folder, what an object store has beside, the note


def test_a_removal_that_was_broken_off_is_in_no_backup(archive: Archive, tmp_path: Path) -> None:
    archive.store.create_exclusively(removal_of(SLUG), b"{}")
    (archive.path / "recordings" / SLUG / "revisions" / "00000001.parquet").unlink()
    write_backup(archive.store, tmp_path / "kept.zip")
    restore_backup(tmp_path / "kept.zip", DiskStore(tmp_path / "again"))
    assert left_of(Archive.open(tmp_path / "again")) == []


def test_one_who_is_faster_in_bringing_it_back_keeps_it(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    other, create = Archive.open(archive.path), DiskStore.create_exclusively

    def meanwhile(store: DiskStore, name: str, content: bytes) -> None:
        monkeypatch.setattr(DiskStore, "create_exclusively", create)
        bring_back(other, SLUG, "bela")
        create(store, name, content)

    monkeypatch.setattr(DiskStore, "create_exclusively", meanwhile)
    with pytest.raises(NotWithdrawn, match="brought back at this moment"):
        remove(archive, SLUG, "asha")
    assert len(archive.state(SLUG).tihais) == 1
    assert begun(archive.store) == []


def test_another_process_that_had_it_open_sees_that_it_is_gone(archive: Archive) -> None:
    other = Archive.open(archive.path)
    assert other.state_or_withdrawn(SLUG).withdrawn
    remove(archive, SLUG, "asha")
    with pytest.raises(NoSuchRecording):
        other.state_or_withdrawn(SLUG)
    assert other.slugs() == []
    make_archive(archive.path.parent)  # the same name, taken again
    assert other.state(SLUG).revision == 1


def test_a_disk_that_refuses_is_told_and_nothing_is_removed(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(*_told: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(DiskStore, "create_exclusively", refused)
    before = left_of(archive)
    with pytest.raises(CannotWrite):
        remove(archive, SLUG, "asha")
    assert left_of(archive) == before


def test_files_that_come_while_it_is_removed_go_too(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    late = archive.path / "recordings" / SLUG / "evidence" / "grid.parquet"
    delete, written = DiskStore.delete, []

    def and_a_late_grid(store: DiskStore, name: str) -> None:
        delete(store, name)
        if not written:
            written.append(name)
            late.parent.mkdir(exist_ok=True)
            late.write_bytes(b"late")

    monkeypatch.setattr(DiskStore, "delete", and_a_late_grid)
    remove(archive, SLUG, "asha")
    assert written
    assert left_of(archive) == []
    assert finish(archive.store, SLUG) == 0  # once more does no harm
