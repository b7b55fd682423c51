"""What both stores promise: a folder on a disk, and a bucket of a real server."""

from __future__ import annotations

import os
import threading
from pathlib import Path

import pytest

from annotate.errors import ArchiveError, BadName, NotAnArchive
from annotate.files import STRAY_PREFIX
from annotate.store import objects
from annotate.store.base import Store
from annotate.store.disk import DiskStore
from annotate.store.objects import ObjectStore
from annotate.store.opening import store_at, url_of


def test_what_was_created_is_read_back(store: Store) -> None:
    store.create_exclusively("a/b/one", b"content")
    assert store.read("a/b/one") == b"content"
    with store.open("a/b/one") as file:
        file.seek(-3, 2)
        assert file.read() == b"ent"
    assert store.local("a/b/one").read_bytes() == b"content"


def test_a_name_is_created_once_and_never_written_over(store: Store) -> None:
    store.create_exclusively("a/one", b"first")
    with pytest.raises(FileExistsError):
        store.create_exclusively("a/one", b"second")
    assert store.read("a/one") == b"first"


def test_of_many_writers_of_one_name_one_wins(store: Store) -> None:
    start, won = threading.Barrier(8), []

    def write(number: int) -> None:
        start.wait()
        try:
            store.create_exclusively("a/one", str(number).encode())
            won.append(number)
        except FileExistsError:
            pass

    writers = [threading.Thread(target=write, args=(number,)) for number in range(8)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    assert len(won) == 1
    assert store.read("a/one") == str(won[0]).encode()


def test_what_is_missing_is_told_as_missing(store: Store) -> None:
    for read in (store.read, store.open, store.local):
        with pytest.raises(FileNotFoundError):
            read("a/none")
    assert store.stamp("a/none") == ""
    assert store.files("a") == store.folders("a") == store.walk("a") == []
    store.delete("a/none")


def test_a_stamp_changes_with_the_content(store: Store) -> None:
    store.replace("a/one", b"one")
    before = store.stamp("a/one")
    store.replace("a/one", b"longer")
    assert store.read("a/one") == b"longer"
    assert store.stamp("a/one") != before


def test_files_and_folders_are_listed_in_order(store: Store) -> None:
    for name in ("b", "a/2", "a/1", "a/deep/x", "ab/3"):
        store.create_exclusively(name, b"x")
    assert [entry.name for entry in store.files("a")] == ["a/1", "a/2"]
    assert [entry.last for entry in store.files("a", after="1")] == ["2"]
    assert store.folders("") == ["a", "ab"]
    assert store.folders("a") == ["deep"]
    assert [entry.name for entry in store.files("")] == ["b"]
    assert [entry.name for entry in store.walk()] == ["a/1", "a/2", "a/deep/x", "ab/3", "b"]
    assert [entry.name for entry in store.walk("a")] == ["a/1", "a/2", "a/deep/x"]
    assert {entry.size for entry in store.walk()} == {1}


def test_a_large_file_is_put_in_and_taken_out_in_pieces(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(objects, "PIECE", 5 << 20)  # the least that the protocol allows
    content = bytes(range(256)) * (11 << 12)
    (tmp_path / "sound").write_bytes(content)
    store.put_file("sound/copy.ogg", tmp_path / "sound")
    copy = store.local("sound/copy.ogg")
    assert copy.read_bytes() == content
    assert copy.suffix == ".ogg"
    assert store.local("sound/copy.ogg") == copy
    with store.writing("sound/other") as out:
        out.write(content)
    assert store.stamp("sound/other") != ""
    with store.open("sound/other") as file:
        file.seek(1 << 20)
        assert file.read(256) == bytes(range(256))


def test_what_is_written_piece_by_piece_is_not_there_when_it_breaks_off(store: Store) -> None:
    def break_off() -> None:
        with store.writing("a/one") as out:
            out.write(b"half")
            raise RuntimeError

    with pytest.raises(RuntimeError):
        break_off()
    assert store.walk() == []


@pytest.mark.parametrize(
    "name", ["../x", "a/../../x", "/etc/passwd", "a//b", "a/./b", "a\\..\\b", "a\0b", "..", "recordings/../../x"]
)
def test_no_name_leaves_the_store(store: Store, name: str) -> None:
    for call in (store.read, store.open, store.local, store.delete, store.files, store.folders):
        with pytest.raises(BadName):
            call(name)
    for write in (store.create_exclusively, store.replace):
        with pytest.raises(BadName):
            write(name, b"x")
    assert store.walk() == []


def test_a_link_that_leads_out_of_a_folder_is_not_followed_to_sound(tmp_path: Path) -> None:
    (tmp_path / "outside").write_bytes(b"private")
    (tmp_path / "archive").mkdir()
    (tmp_path / "archive" / "sound").symlink_to(tmp_path / "outside")
    with pytest.raises(FileNotFoundError):
        DiskStore(tmp_path / "archive").local("sound")


def test_what_a_killed_writer_left_is_swept_by_the_next_one_in_that_folder(tmp_path: Path) -> None:
    store = DiskStore(tmp_path / "archive")
    store.replace("evidence/grid", b"x")
    old, new = (tmp_path / "archive" / "evidence" / f"{STRAY_PREFIX}{name}" for name in ("old", "new"))
    for stray in (old, new):
        stray.write_bytes(b"half")
    os.utime(old, (0, 0))
    store.replace("evidence/grid", b"y")
    assert not old.exists()
    assert new.exists()  # its writer may be at work
    assert [entry.last for entry in store.files("evidence")] == ["grid"]


def test_a_stamp_tells_in_which_folder_something_was_created(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("evening", "morning"):
        store.announce(f"recordings/{name}")
        store.create_exclusively(f"recordings/{name}/revisions/1", b"x")
    before = store.stamps("recordings", ["revisions"])
    assert set(before) == {"evening", "morning"}
    assert not any(stamp.settled for stamp in before.values())  # another may come at the same time
    other = store_at(store.place)
    other.announce("recordings/evening")
    other.create_exclusively("recordings/evening/revisions/2", b"x")
    after = store.stamps("recordings", ["revisions"])
    assert after["evening"] != before["evening"]
    assert after["morning"] == before["morning"]
    monkeypatch.setattr("annotate.store.disk.SETTLED_S", -1)
    monkeypatch.setattr("annotate.store.objects.SETTLED_S", -60)
    assert all(stamp.settled for stamp in store.stamps("recordings", ["revisions"]).values())


def test_a_put_that_finds_its_own_file_was_not_beaten(bucket: str) -> None:
    """The answer to a put can be lost on the way; sent again, it finds the name taken, by itself."""
    store = store_at(bucket)
    store.create_exclusively("a", b"drawn by lot: 1")
    store.create_exclusively("a", b"drawn by lot: 1")
    with pytest.raises(FileExistsError):
        store.create_exclusively("a", b"drawn by lot: 2")


def test_a_store_that_cannot_be_reached_is_an_error_of_the_system(bucket: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("AWS_ENDPOINT_URL", "http://127.0.0.1:9")
    store = ObjectStore(bucket)
    store._bucket = type(store._bucket)(
        "institute", client_options={"allow_http": True}, retry_config={"max_retries": 0}
    )
    with pytest.raises(OSError, match="could not be reached"):
        store.read("a")


def test_a_place_is_a_folder_or_a_bucket() -> None:
    assert url_of("s3://bucket/a/b/") == url_of(Path("s3://bucket/a/b")) == "s3://bucket/a/b"
    assert url_of("archive") is url_of("/srv/archive") is url_of("C:\\archive") is None
    for bad in ("https://somewhere/x", "s3://", "s3://a/../b", "ftp://x"):
        with pytest.raises(NotAnArchive, match="s3://BUCKET"):
            url_of(bad)


def test_without_the_library_it_is_said_how_to_install_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "obstore.store", None)
    with pytest.raises(ArchiveError, match=r"layakosh\[objects\]"):
        store_at("s3://bucket/a")
