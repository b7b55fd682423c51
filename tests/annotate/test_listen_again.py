"""Evidence made again from the sound; annotations as they were."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest

from annotate.archive import Archive
from annotate.errors import NoSound
from annotate.intake import take_in
from annotate.listen_again import listen_again
from annotate.marking import mark_sams
from ingest.listen import Sound
from tests.annotate.desk import SLUG, fingerprint, make_archive
from tests.annotate.tapes import make_tape


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    return Archive.create(tmp_path / "archive")


def spoil(archive: Archive, slug: str) -> None:
    """Make the evidence as if another version had written it."""
    (archive.folder(slug) / "evidence" / "frames.parquet").write_bytes(b"PAR1")


@pytest.mark.parametrize(("keep", "what"), [("compact", "the listening copy"), ("original", "the originals")])
def test_evidence_is_made_again_from_what_the_archive_keeps_and_annotations_stay(
    archive: Archive, tmp_path: Path, keep: str, what: str
) -> None:
    tape = make_tape(tmp_path / "evening.wav")
    slug = take_in(archive, tape, raga="Desh", tala="teental", keep=keep)  # type: ignore[arg-type]
    tape.unlink()
    before = archive.evidence(slug)
    assert before is not None
    assert archive.without_evidence() == []
    spoil(archive, slug)
    archive = Archive.open(archive.path)
    said, sound = fingerprint(archive), archive.sound_path(slug)
    assert archive.evidence(slug) is None
    assert archive.without_evidence() == [slug]
    assert listen_again(archive, slug) == what
    after = archive.evidence(slug)
    assert after is not None
    assert after.duration_s == pytest.approx(before.duration_s, abs=0.05)
    shared = min(len(after.treble), len(before.treble))
    assert np.corrcoef(after.treble[:shared], before.treble[:shared])[0, 1] > 0.9  # the copy is not the same, but near
    assert fingerprint(archive) == said
    assert archive.sound_path(slug) == sound
    assert archive.without_evidence() == []
    assert [path.name for path in (archive.path / "unfinished").iterdir()] == ["lock"]


def test_the_files_themselves_are_used_when_they_are_given_under_whatever_name(
    archive: Archive, tmp_path: Path
) -> None:
    sides = [make_tape(tmp_path / f"side {n}.wav", 6.0, seed=n) for n in (1, 2)]
    slug = take_in(archive, Sound(tuple(sides)), raga="Desh", tala="teental", keep="nothing")
    before = archive.evidence(slug)
    assert before is not None
    shutil.rmtree(archive.folder(slug) / "evidence")
    moved = [side.rename(tmp_path / f"renamed {n}.wav") for n, side in enumerate(sides)]
    with pytest.raises(NoSound, match=r"Name the files that it was taken in from \(side 1\.wav, side 2\.wav\)"):
        listen_again(archive, slug)
    with pytest.raises(NoSound, match=r"no file has the content of side 2\.wav"):
        listen_again(archive, slug, moved[:1])
    assert listen_again(archive, slug, moved[::-1]) == "the files"
    after = archive.evidence(slug)
    assert after is not None
    np.testing.assert_array_equal(after.treble, before.treble)


def test_the_grid_follows_from_the_new_evidence_and_the_marked_sams(archive: Archive, tmp_path: Path) -> None:
    slug = take_in(archive, make_tape(tmp_path / "evening.wav"), raga="Desh", tala="teental")
    section = next(each for each in archive.state(slug).sections if each.tala)
    mark_sams(archive, slug, [section.start_s + 1.0], who="asha")
    spoil(archive, slug)
    archive = Archive.open(archive.path)
    listen_again(archive, slug)
    sams = archive.grid(slug).sams()
    assert section.start_s + 1.0 in set(sams.loc[sams["source"] == "marked", "sam_s"])


def test_a_recording_made_without_sound_has_nothing_to_listen_to(tmp_path: Path) -> None:
    archive = make_archive(tmp_path)
    assert archive.without_evidence() == []
    with pytest.raises(NoSound, match="made without sound"):
        listen_again(archive, SLUG)
