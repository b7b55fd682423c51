"""Snapshots: opening replays few revisions, and a snapshot that cannot be relied on is passed over."""

from __future__ import annotations

import shutil
from dataclasses import replace

import pytest

from annotate import revisions, snapshots
from annotate.archive import Archive
from annotate.errors import DamagedRevision
from annotate.revisions import add, change, path_of
from annotate.store.disk import DiskStore
from annotate.store.folder import Folder
from tests.annotate.desk import SLUG, phrase, tihai


@pytest.fixture
def long(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> Archive:
    """A recording of 41 revisions, a snapshot every 8."""
    monkeypatch.setattr(snapshots, "EVERY", 8)
    archive.commit(SLUG, [add(tihai())], "a", "")
    for number in range(38):
        archive.commit(SLUG, [change(replace(tihai(), label=str(number)))], "a", "")
    archive.withdraw(SLUG, "tihais", "t01", who="a")
    return archive


def place(archive: Archive) -> Folder:
    return Folder(archive.store, f"recordings/{SLUG}")


def replayed(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Open the archive anew and tell which revisions are read; the state is the same."""
    read: list[int] = []
    real = revisions.read

    def counted(folder: Folder, number: int) -> revisions.Revision:
        read.append(number)
        return real(folder, number)

    monkeypatch.setattr(revisions, "read", counted)
    assert Archive.open(archive.path).state(SLUG) == archive.state(SLUG)
    monkeypatch.setattr(revisions, "read", real)
    return read


def test_opening_replays_what_came_after_the_newest_snapshot(long: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    assert snapshots.numbers(place(long)) == [32, 40]
    assert replayed(long, monkeypatch) == [41]


def test_keys_spent_before_a_snapshot_are_not_used_again(long: Archive) -> None:
    for _ in range(8):
        long.commit(SLUG, [add(phrase(long.state(SLUG).next_keys("phrases", 1)[0]))], "a", "")
    assert snapshots.numbers(place(long))[-1] == 48
    assert Archive.open(long.path).state(SLUG).next_keys("tihais", 1) == ["t02"]


@pytest.mark.parametrize("damage", [lambda content: content[:200], lambda _: b"", lambda _: b"PAR1 not really"])
def test_a_damaged_snapshot_is_passed_over(long: Archive, monkeypatch: pytest.MonkeyPatch, damage: object) -> None:
    path = long.path / "recordings" / SLUG / "snapshots" / "00000040.parquet"
    path.write_bytes(damage(path.read_bytes()))  # type: ignore[operator]
    assert replayed(long, monkeypatch) == list(range(33, 42))


def test_without_any_snapshot_all_is_replayed_and_one_made_again(
    long: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    shutil.rmtree(long.path / "recordings" / SLUG / "snapshots")
    assert replayed(long, monkeypatch) == list(range(1, 42))
    assert replayed(long, monkeypatch) == []
    assert snapshots.numbers(place(long)) == [41]


def test_a_snapshot_of_another_history_is_not_believed(long: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = long.path / "recordings" / SLUG / "revisions"
    other = replace(revisions.read(folder, 40), who="somebody else")
    path_of(folder, 40).unlink()
    revisions.write(folder, SLUG, other)
    assert replayed(long, monkeypatch) == list(range(33, 42))


def test_every_byte_of_a_snapshot_counts(long: Archive) -> None:
    """A flipped bit anywhere is noticed, or does not change what is read."""
    path = long.path / "recordings" / SLUG / "snapshots" / "00000040.parquet"
    content, state = path.read_bytes(), snapshots.read(place(long), SLUG, 40)
    assert state is not None
    for position in range(0, len(content), 97):
        path.write_bytes(content[:position] + bytes([content[position] ^ 4]) + content[position + 1 :])
        assert snapshots.read(place(long), SLUG, 40) in (None, state), position


def test_an_archive_that_cannot_be_written_goes_without(long: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    shutil.rmtree(long.path / "recordings" / SLUG / "snapshots")

    def full(*_told: object, **_more: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(DiskStore, "replace", full)
    assert Archive.open(long.path).state(SLUG) == long.state(SLUG)


def test_a_damaged_revision_beneath_a_snapshot_is_told_where_history_is_asked_for(long: Archive) -> None:
    path_of(long.path / "recordings" / SLUG / "revisions", 5).write_bytes(b"")
    fresh = Archive.open(long.path)
    assert fresh.state(SLUG) == long.state(SLUG)
    with pytest.raises(DamagedRevision, match=r"00000005"):
        fresh.history(SLUG)
