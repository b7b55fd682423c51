"""Opening an archive: what is one, what is not, and that nothing is damaged by trying."""

from __future__ import annotations

from pathlib import Path

import pytest

from annotate.archive import Archive
from annotate.errors import BadCard, DamagedRevision, NewerArchive, NoSuchRecording, NotAnArchive
from tests.annotate.desk import SLUG
from theory.errors import UnknownName


def everything_in(folder: Path) -> dict[str, bytes]:
    return {str(path): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_a_missing_folder_is_not_an_archive_and_is_not_made(tmp_path: Path) -> None:
    with pytest.raises(NotAnArchive, match="does not exist"):
        Archive.open(tmp_path / "none")
    assert not (tmp_path / "none").exists()


def test_an_empty_folder_becomes_an_archive_only_when_asked(tmp_path: Path) -> None:
    with pytest.raises(NotAnArchive, match="is empty"):
        Archive.open(tmp_path)
    assert list(tmp_path.iterdir()) == []
    Archive.open(tmp_path, create=True)
    assert [path.name for path in tmp_path.iterdir()] == ["archive.toml"]
    assert Archive.open(tmp_path).slugs() == []


@pytest.mark.parametrize("create", [False, True])
def test_a_folder_with_other_files_is_left_as_it_was(tmp_path: Path, create: bool) -> None:
    (tmp_path / "thesis.txt").write_text("do not lose me")
    before = everything_in(tmp_path)
    with pytest.raises(NotAnArchive, match=r"no archive\.toml"):
        Archive.open(tmp_path, create=create)
    assert everything_in(tmp_path) == before


@pytest.mark.parametrize("create", [False, True])
def test_a_file_is_not_an_archive(tmp_path: Path, create: bool) -> None:
    path = tmp_path / "tape.wav"
    path.write_bytes(b"RIFF")
    with pytest.raises(NotAnArchive, match="is a file"):
        Archive.open(path, create=create)
    assert path.read_bytes() == b"RIFF"


@pytest.mark.parametrize("card", ["", "schema = ", "title = 'mine'", b"\xff\xfe"])
def test_another_programs_archive_toml_is_refused_and_kept(tmp_path: Path, card: str | bytes) -> None:
    content = card if isinstance(card, bytes) else card.encode()
    (tmp_path / "archive.toml").write_bytes(content)
    with pytest.raises(NotAnArchive):
        Archive.open(tmp_path, create=True)
    assert (tmp_path / "archive.toml").read_bytes() == content


def test_an_archive_keeps_the_school_of_tempo_names_it_was_begun_with(tmp_path: Path) -> None:
    assert Archive.create(tmp_path / "one").tempo_school == "doubling"
    assert Archive.create(tmp_path / "two", tempo_school="handbook").tempo_school == "handbook"
    assert Archive.create(tmp_path / "two", tempo_school="research").tempo_school == "handbook"  # it was there already
    with pytest.raises(UnknownName, match="doubling, handbook"):
        Archive.create(tmp_path / "three", tempo_school="nobody's")
    assert not (tmp_path / "three").exists()


@pytest.mark.parametrize("school", ["'nobody'", "5"])
def test_a_school_in_the_card_that_is_not_known_is_named_with_the_card(tmp_path: Path, school: str) -> None:
    (tmp_path / "archive.toml").write_text(f"schema = 2\ntempo_school = {school}\n")
    with pytest.raises(BadCard, match=r"archive\.toml, tempo_school: .*doubling, handbook"):
        _ = Archive.open(tmp_path).tempo_school


def test_an_archive_that_names_no_school_goes_by_the_usual_one(tmp_path: Path) -> None:
    (tmp_path / "archive.toml").write_text("schema = 2\n")
    assert Archive.open(tmp_path).tempo_school == "doubling"


def test_a_newer_archive_is_refused(tmp_path: Path) -> None:
    (tmp_path / "archive.toml").write_text("schema = 99\n")
    with pytest.raises(NewerArchive, match="Install that version"):
        Archive.open(tmp_path)


def test_what_a_killed_maker_left_does_not_make_a_folder_something_else(tmp_path: Path) -> None:
    (tmp_path / ".layakosh-tmp-1-abc").write_text("half")
    assert Archive.open(tmp_path, create=True).slugs() == []


def test_opening_writes_nothing(archive: Archive) -> None:
    before = everything_in(archive.path)
    again = Archive.open(archive.path)
    assert again.slugs() == [SLUG]
    assert again.state(SLUG).recording.title == "Evening"
    assert everything_in(archive.path) == before


def test_an_unknown_recording_offers_the_nearest(archive: Archive) -> None:
    with pytest.raises(NoSuchRecording, match="Did you mean evening"):
        archive.state("evenning")


@pytest.mark.parametrize("slug", ["../elsewhere", "/etc", "a/b", "..", "", "Evening", "a b", "x\0y"])
def test_a_slug_cannot_leave_the_archive(archive: Archive, slug: str) -> None:
    with pytest.raises(NoSuchRecording):
        archive.state(slug)
    assert slug not in archive


def test_folders_that_are_no_recordings_are_passed_over(archive: Archive) -> None:
    (archive.path / "recordings" / "notes").mkdir()
    (archive.path / "recordings" / "READ ME.txt").write_text("hello")
    assert archive.slugs() == [SLUG]


def test_a_folder_of_a_recording_that_was_given_another_name_is_told(archive: Archive) -> None:
    (archive.path / "recordings" / SLUG).rename(archive.path / "recordings" / "morning")
    with pytest.raises(DamagedRevision, match="given another name"):
        Archive.open(archive.path).state("morning")
