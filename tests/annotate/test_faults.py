"""A full disk, a folder that cannot be written, a damaged file: a clear message, and nothing is made worse."""

from __future__ import annotations

import contextlib
import os
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import soundfile
from click.testing import CliRunner

from annotate import course_store, evidence_store, levels_store, melody_store, snapshots
from annotate.archive import Archive
from annotate.backup.restoring import restore_backup
from annotate.backup.writing import write_backup
from annotate.check.findings import damage_in
from annotate.check.repairing import repair
from annotate.check.whole import check
from annotate.errors import CannotWrite
from annotate.history import ledger
from annotate.listen_again import listen_again
from annotate.revisions import add, change, path_of
from annotate.schema import INDEX_TABLES
from annotate.store.opening import store_at
from annotate.verify import verify_recording
from ingest.levels import LevelMaker
from ingest.melody import Melody
from layakosh import main
from tests.annotate.check.test_check import content_of
from tests.annotate.desk import SLUG, fingerprint, make_archive, make_evidence, phrase, tihai
from tests.annotate.tapes import make_tape

NOBODY = 65534


def _mount(*arguments: str) -> None:
    subprocess.run(["mount", *arguments], check=True, capture_output=True)


@contextlib.contextmanager
def small_disk(size: str) -> Iterator[Path]:
    """A disk of so many bytes, of memory; only the system's administrator can make one."""
    with tempfile.TemporaryDirectory() as folder:
        try:
            _mount("-t", "tmpfs", "-o", f"size={size},mode=755", "tmpfs", folder)
        except (OSError, subprocess.CalledProcessError):
            pytest.skip("needs a small disk, which only root may mount: mount -t tmpfs")
        try:
            yield Path(folder)
        finally:
            subprocess.run(["umount", "-l", folder], check=False)


def fill_up(folder: Path) -> Path:
    """Fill a disk to its last byte; removing what is returned makes room again."""
    path = folder / "filling"
    with path.open("wb", buffering=0) as out:
        for size in (1 << 16, 1 << 12, 1):
            with contextlib.suppress(OSError):
                while True:
                    out.write(b"x" * size)
    return path


def read_all(archive: Archive) -> None:
    """Whatever readers do; nothing of it may be stopped by a derived file."""
    for slug in archive.slugs():
        state = archive.state(slug)
        archive.history(slug)
        archive.ledger(slug)
        archive.grid(slug)
        archive.evidence(slug)
        archive.melody(slug)
        archive.waveform(slug, 0.0, state.recording.duration_s or 1.0, 200)
        archive.waveform(slug, 0.0, 0.2, 200)
        verify_recording(archive, slug)
    for table in INDEX_TABLES:
        archive.index(table)


def test_a_full_disk_is_told_and_once_there_is_room_one_goes_on() -> None:
    with small_disk("600k") as disk:
        archive = make_archive(disk)
        archive.commit(SLUG, [add(tihai())], "asha", "")
        filling, before = fill_up(disk), fingerprint(archive)
        for _ in range(3):
            with pytest.raises(CannotWrite, match=r"The edit of 'evening' was not written .*make room"):
                archive.commit(SLUG, [add(phrase())], "asha", "")
        said = CliRunner().invoke(
            main,
            ["phrase", SLUG, "--from", "20", "--to", "22", "--swaras", "R m P", "--archive", str(archive.path)],
        )
        assert said.exit_code == 2
        assert "make room" in said.output
        assert fingerprint(archive) == before
        reader = Archive.open(archive.path)
        read_all(reader)
        assert reader.state(SLUG) == archive.state(SLUG)
        assert damage_in(check(archive.store)) == []
        filling.unlink()
        assert archive.commit(SLUG, [add(phrase())], "asha", "") == 3
        read_all(Archive.open(archive.path))
        assert sorted(path.name for path in (disk / "archive" / "recordings" / SLUG / "revisions").iterdir()) == [
            f"{number:08d}.parquet" for number in (1, 2, 3)
        ]
        assert list(check(archive.store)) == []


def test_a_disk_that_fills_up_while_many_edit_loses_nothing_acknowledged(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(snapshots, "EVERY", 4)
    monkeypatch.setattr(ledger, "EVERY", 4)
    with small_disk("900k") as disk:
        archive, done = make_archive(disk), 0
        with pytest.raises(CannotWrite, match="make room"):  # noqa: PT012 - whichever edit it is
            while True:
                archive.commit(SLUG, [add(phrase(f"p{done}"))], "asha", "")
                done += 1
                archive.index("phrases")
        assert done > 10
        reader = Archive.open(archive.path)
        assert len(reader.state(SLUG).phrases) == len(reader.history(SLUG)) - 1 == done
        assert len(reader.index("phrases")) == done
        assert damage_in(check(archive.store)) == []


def test_a_taking_in_on_a_full_disk_is_told_and_goes_on_when_there_is_room(tmp_path: Path) -> None:
    tape = make_tape(tmp_path / "tape.wav", 8.0)
    with small_disk("4m") as disk:
        place = str(disk / "archive")
        Archive.create(place)
        filling = fill_up(disk)
        order = ["ingest", str(tape), "--raga", "Desh", "--tala", "teental", "--quiet", "--archive", place]
        said = CliRunner().invoke(main, order)
        assert said.exit_code in (1, 2), said.output
        assert "No space left" in said.output
        assert "Traceback" not in said.output
        assert isinstance(said.exception, SystemExit)
        assert Archive.open(place).slugs() == []
        filling.unlink()
        said = CliRunner().invoke(main, order)
        assert said.exit_code == 0, said.output
        assert Archive.open(place).slugs() == ["tape"]
        assert damage_in(check(Archive.open(place).store)) == []


def test_a_backup_to_a_full_disk_and_one_restored_onto_it_leave_nothing_behind(tmp_path: Path) -> None:
    archive = make_archive(tmp_path)
    sound = archive.path / "recordings" / SLUG / "sound"
    sound.mkdir()
    (sound / "copy.opus").write_bytes(os.urandom(400_000))
    write_backup(archive.store, tmp_path / "kept.zip")
    with small_disk("256k") as disk:
        with pytest.raises(CannotWrite, match="make room"):
            write_backup(archive.store, disk / "kept.zip")
        with pytest.raises(CannotWrite, match="make room"):
            restore_backup(tmp_path / "kept.zip", store_at(disk / "there"))
        assert list(disk.iterdir()) == []


def test_a_disk_that_is_read_only_can_be_read_checked_and_backed_up(tmp_path: Path) -> None:
    with small_disk("4m") as disk:
        archive = make_archive(disk)
        archive.commit(SLUG, [add(tihai())], "asha", "")
        _mount("-o", "remount,ro", str(disk))
        reader = Archive.open(archive.path)
        read_all(reader)
        with pytest.raises(CannotWrite, match="read-only: copy the archive"):
            reader.commit(SLUG, [add(phrase())], "asha", "")
        assert list(check(reader.store)) == []
        write_backup(reader.store, tmp_path / "kept.zip")
        with pytest.raises(CannotWrite):
            restore_backup(tmp_path / "kept.zip", store_at(disk / "there"))
        said = CliRunner().invoke(main, ["load", "new", "--sams", __file__, "--archive", str(disk / "other")])
        assert said.exit_code == 2
        assert "Traceback" not in said.output


@contextlib.contextmanager
def as_nobody() -> Iterator[None]:
    """Go on as a user to whom nothing belongs; root may write everywhere."""
    if os.geteuid():
        yield
        return
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)


def test_a_folder_that_is_not_ones_own_can_be_read_and_is_not_written() -> None:
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        archive = make_archive(home)
        archive.commit(SLUG, [add(tihai())], "asha", "")
        flip(path_of(archive.path / "recordings" / SLUG / "revisions", 2))
        damaged = fingerprint(archive)
        read_all(make_archive(home / "other"))
        for path in [home, *home.rglob("*")]:
            path.chmod(0o555 if path.is_dir() else 0o444)
        try:
            with as_nobody():
                reader = Archive.open(home / "other" / "archive")
                read_all(reader)
                with pytest.raises(CannotWrite, match="cannot be written by you"):
                    reader.commit(SLUG, [add(phrase())], "asha", "")
                with pytest.raises(CannotWrite, match="cannot be written by you"):
                    repair(archive.store, check(archive.store))
                with pytest.raises(CannotWrite, match="cannot be written by you"):
                    write_backup(reader.store, home / "kept.zip")
        finally:
            for path in [home, *home.rglob("*")]:
                path.chmod(0o755 if path.is_dir() else 0o644)
        assert fingerprint(archive) == damaged


def flip(path: Path) -> None:
    content = bytearray(path.read_bytes())
    content[60] ^= 4
    path.write_bytes(content)


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Archive:
    """An archive with a file of every kind."""
    archive = make_archive(tmp_path_factory.mktemp("whole"))
    place = archive.path / "recordings" / SLUG
    (place / "sound").mkdir()
    soundfile.write(place / "sound" / "copy.wav", np.zeros(22050 * 2), 22050)
    evidence_store.save(archive.evidence_folder(SLUG), make_evidence(100.0))
    course = np.zeros(50, np.float32)
    melody_store.save(archive.evidence_folder(SLUG), Melody(0.02, course + 200, course, course))
    maker = LevelMaker()
    maker.add(np.zeros(22050 * 2, np.float32))
    levels_store.save(archive.evidence_folder(SLUG), maker.finish())
    recording = replace(
        archive.state(SLUG).recording, audio_path=f"recordings/{SLUG}/sound/copy.wav", audio_sha256="ab"
    )
    archive.commit(SLUG, [change(recording), add(tihai()), add(phrase())], "asha", "")
    ledger._write(archive._place(SLUG), archive.ledger(SLUG))
    snapshots.write(archive._place(SLUG), archive.state(SLUG))
    read_all(archive)
    names = {path.relative_to(archive.path).as_posix() for path in archive.path.rglob("*.parquet")}
    assert len(names) == 2 + 1 + 1 + len(INDEX_TABLES) + 7 + 2, names
    assert course_store.load(archive.evidence_folder(SLUG))
    return archive


DAMAGES: dict[str, Callable[[bytes], bytes]] = {
    "empty": lambda _content: b"",
    "cut short": lambda content: content[: len(content) // 2],
    "without its end": lambda content: content[:-9],
    "altered": lambda content: content[:30] + bytes(20) + content[50:],
    "something else": lambda _content: b"PAR1 not really PAR1",
}


@pytest.mark.parametrize("damage", DAMAGES)
def test_a_damaged_file_that_follows_from_others_stops_nobody(whole: Archive, damage: str) -> None:
    state = whole.state(SLUG)
    for path in sorted(whole.path.rglob("*")):
        if not path.is_file() or path.parent.name == "revisions" or path.name == "archive.toml":
            continue
        content = path.read_bytes()
        path.write_bytes(DAMAGES[damage](content))
        try:
            reader = Archive.open(whole.path)
            read_all(reader)
            assert reader.state(SLUG) == state, path
        finally:
            path.write_bytes(content)


def test_a_listening_copy_that_cannot_be_played_is_told_by_whoever_needs_it(whole: Archive) -> None:
    from ingest.errors import IngestError

    path = whole.path / "recordings" / SLUG / "sound" / "copy.wav"
    content = path.read_bytes()
    path.write_bytes(b"RIFF")
    try:
        with pytest.raises(IngestError):
            listen_again(whole, SLUG)
    finally:
        path.write_bytes(content)
    assert content_of(whole.store, "sound")


def test_a_refusal_of_the_system_that_no_command_expects_is_a_message_and_no_traceback(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_told: object, **_more: object) -> None:
        raise OSError(28, "No space left on device", "/srv/archive/x")

    monkeypatch.setattr(Archive, "open", full)
    said = CliRunner().invoke(main, ["concerts", "--archive", str(tmp_path)])
    assert said.exit_code == 2
    assert "/srv/archive/x: No space left on device. The disk is full: make room" in said.output
