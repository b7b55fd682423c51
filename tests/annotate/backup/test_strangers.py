"""A backup that was cut short, altered, or made to do harm: a clear message, and nothing is put in place."""

from __future__ import annotations

import hashlib
import json
import random
import stat
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from annotate.archive import Archive
from annotate.backup.contents import LIST
from annotate.backup.errors import BadBackup
from annotate.backup.reading import open_backup, verify
from annotate.backup.restoring import restore_backup
from annotate.backup.writing import write_backup
from annotate.errors import NewerArchive
from annotate.revisions import add
from annotate.store.opening import store_at
from tests.annotate.backup.test_backup import content_of
from tests.annotate.desk import SLUG, phrase
from tests.annotate.store.conftest import bucket, endpoint, place

__all__ = ["bucket", "endpoint", "place"]


@pytest.fixture
def kept(archive: Archive, tmp_path: Path) -> Path:
    archive.commit(SLUG, [add(phrase())], "asha", "")
    write_backup(archive.store, tmp_path / "kept.zip")
    return tmp_path / "kept.zip"


def refused(path: Path, target: str, error: type[Exception] = BadBackup, match: str | None = None) -> None:
    """It is refused when it is looked at and when it is restored, and nothing is left in the target."""
    with pytest.raises(error, match=match), open_backup(path) as backup:
        verify(backup)
    with pytest.raises(error, match=match):
        restore_backup(path, store_at(target))
    assert store_at(target).walk() == []
    assert not Path(target).exists()


def made_over(path: Path, change: Callable[[dict[str, bytes], dict[str, Any]], None]) -> Path:
    """Write a backup anew with other members and another list; digests and lengths are made to fit."""
    with zipfile.ZipFile(path) as file:
        members = {name: file.read(name) for name in file.namelist() if name != LIST}
        told = json.loads(file.read(LIST))
    change(members, told)
    other = path.with_name("other.zip")
    with zipfile.ZipFile(other, "w") as file:
        for name, content in members.items():
            file.writestr(name, content)
        file.writestr(LIST, json.dumps(told))
    return other


def put_in(name: str, content: bytes = b"x") -> Callable[[dict[str, bytes], dict[str, Any]], None]:
    """A change that puts in a member and lists it rightly."""

    def change(members: dict[str, bytes], told: dict[str, Any]) -> None:
        members[name] = content
        told["files"][name] = {"bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}

    return change


def test_a_backup_that_was_made_over_without_a_change_is_taken(kept: Path, tmp_path: Path) -> None:
    other = made_over(kept, lambda _members, _told: None)
    restore_backup(other, store_at(tmp_path / "there"))
    assert Archive.open(tmp_path / "there").slugs() == [SLUG]


@pytest.mark.parametrize("share", [0.0, 0.1, 0.5, 0.9, 0.99])
def test_a_backup_that_was_cut_short_is_refused(kept: Path, tmp_path: Path, share: float) -> None:
    content = kept.read_bytes()
    kept.write_bytes(content[: int(share * len(content))])
    refused(kept, str(tmp_path / "there"), match="cut short")


def test_a_backup_with_any_byte_altered_is_refused_or_is_as_good_as_it_was(
    kept: Path, tmp_path: Path, archive: Archive
) -> None:
    content, chance, refusals = kept.read_bytes(), random.Random(5), 0
    right = content_of(archive.store)
    for number in range(250):
        position = chance.randrange(len(content))
        kept.write_bytes(content[:position] + bytes([content[position] ^ (1 << number % 8)]) + content[position + 1 :])
        target = tmp_path / f"there{number}"
        try:
            restore_backup(kept, store_at(target))
        except BadBackup:
            refusals += 1
            assert not target.exists()
        else:
            assert content_of(store_at(target)) == right, position
    assert refusals > 200


def test_bytes_of_something_else_are_no_backup(tmp_path: Path) -> None:
    path = tmp_path / "kept.zip"
    for content in (b"", b"PK", bytes(5000), b"PK\x05\x06" + bytes(18), random.Random(1).randbytes(5000)):
        path.write_bytes(content)
        refused(path, str(tmp_path / "there"))
    refused(tmp_path / "none.zip", str(tmp_path / "there"), match="No such file")
    refused(tmp_path, str(tmp_path / "there"))


@pytest.mark.parametrize(
    "name",
    [
        "../outside",
        "/etc/outside",
        "recordings/../../outside",
        "recordings/evening/sound/../../../../outside",
        "C:\\outside",
        "recordings\\evening",
        "recordings/evening//x",
        "set-aside/../../outside",
        "./archive.toml",
        "thesis.txt",
        "recordings/Evening/revisions/00000001.parquet",
        "recordings/evening/revisions/1.parquet",
        "recordings/evening/sound/.hidden",
        "recordings/evening/sound/deep/copy.opus",
        "index/phrases/0-of-1.parquet",
        "unfinished/lock",
    ],
)
def test_a_name_that_no_archive_has_or_that_leads_elsewhere_is_refused(kept: Path, tmp_path: Path, name: str) -> None:
    refused(made_over(kept, put_in(name)), str(tmp_path / "there"), match="has no file of the name|out of the archive")
    assert not (tmp_path / "outside").exists()


def test_links_folders_and_what_is_compressed_are_refused(kept: Path, tmp_path: Path) -> None:
    name = "recordings/evening/sound/copy.opus"

    def with_header(header: zipfile.ZipInfo, content: bytes = b"/etc/passwd") -> Path:
        other = made_over(kept, lambda _members, told: put_in(name, content)({}, told))
        with zipfile.ZipFile(other, "a") as file:
            file.writestr(header, content)
        return other

    link = zipfile.ZipInfo(name)
    link.external_attr = (stat.S_IFLNK | 0o777) << 16
    refused(with_header(link), str(tmp_path / "there"), match="a link or a folder")
    packed = zipfile.ZipInfo(name)
    packed.compress_type = zipfile.ZIP_DEFLATED
    refused(with_header(packed, bytes(10_000_000)), str(tmp_path / "there"), match="compressed")


def test_a_name_that_comes_twice_is_refused(kept: Path, tmp_path: Path) -> None:
    with pytest.warns(UserWarning, match="Duplicate"), zipfile.ZipFile(kept, "a") as file:
        file.writestr("archive.toml", "schema = 1\n")
    refused(kept, str(tmp_path / "there"), match="comes twice")


def test_a_list_that_does_not_fit_is_refused(kept: Path, tmp_path: Path) -> None:
    revision = f"recordings/{SLUG}/revisions/00000001.parquet"
    changes: list[tuple[Callable[[dict[str, bytes], dict[str, Any]], None], str]] = [
        (lambda _members, told: told["files"][revision].update(sha256="0" * 64), "its digest differs"),
        (lambda _members, told: told["files"][revision].update(bytes=5), "differ"),
        (lambda _members, told: told["files"].pop(revision), "differ"),
        (lambda members, _told: members.pop(revision), "differ"),
        (lambda _members, told: told.pop("files"), "cannot be read"),
        (lambda _members, told: told.update(files=[1]), "cannot be read"),
        (lambda _members, told: told.update(made="yesterday"), "cannot be read"),
        (lambda members, told: (members.pop("archive.toml"), told["files"].pop("archive.toml")), r"no archive\.toml"),
        (put_in("archive.toml", b"title = 'mine'"), "is not the card of an archive"),
        (put_in("archive.toml", bytes(2 << 20)), r"no archive\.toml"),
    ]
    for change, match in changes:
        refused(made_over(kept, change), str(tmp_path / "there"), match=match)
    with zipfile.ZipFile(tmp_path / "bare.zip", "w") as file:
        file.writestr("archive.toml", "schema = 2")
    refused(tmp_path / "bare.zip", str(tmp_path / "there"), match="the list of what is in it")


def test_a_backup_of_a_newer_version_is_told_as_such_whatever_is_in_it(kept: Path, tmp_path: Path) -> None:
    def newer(members: dict[str, bytes], told: dict[str, Any]) -> None:
        put_in("recordings/evening/lessons/1.parquet")(members, told)
        told["backup"] = 99

    refused(made_over(kept, newer), str(tmp_path / "there"), NewerArchive, "Install that version")
    later = made_over(kept, lambda _members, told: told.update(schema=99))
    refused(later, str(tmp_path / "there"), NewerArchive, "Install that version")
    card = made_over(kept, put_in("archive.toml", b"schema = 99"))
    refused(card, str(tmp_path / "there"), NewerArchive, "Install that version")


def test_into_an_object_store_nothing_is_put_before_all_of_it_was_read(kept: Path, bucket: str) -> None:
    content = bytearray(kept.read_bytes())
    with zipfile.ZipFile(kept) as file:
        last = file.getinfo(f"recordings/{SLUG}/revisions/00000002.parquet")
    content[last.header_offset + 200] ^= 1
    kept.write_bytes(content)
    with pytest.raises(BadBackup):
        restore_backup(kept, store_at(bucket))
    assert store_at(bucket).walk() == []
