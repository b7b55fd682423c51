"""Taking a recording in: all of it or nothing."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import date
from pathlib import Path

import numpy as np
import pytest
import soundfile

from annotate import intake
from annotate.archive import Archive
from annotate.errors import AlreadyTakenIn, BadAnnotation
from annotate.intake import take_in
from ingest.errors import EmptyAudio, UnreadableAudio
from theory.errors import UnknownName

RATE_HZ = 22050
SA_HZ = 147.0
LENGTH_S = 24.0


@pytest.fixture(scope="module")
def tape(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A drone, and from 8 s on dry strokes twice a second."""
    path = tmp_path_factory.mktemp("tape") / "evening_raga.wav"
    rng = np.random.default_rng(3)
    time_s = np.arange(int(LENGTH_S * RATE_HZ)) / RATE_HZ
    sound = sum(
        0.05 / n * np.sin(2 * np.pi * SA_HZ * ratio * n * time_s) for ratio in (0.5, 1, 1.5) for n in range(1, 6)
    )
    stroke = rng.normal(size=2000) * np.exp(-np.arange(2000) / 300) * 0.4
    for start_s in np.arange(8.0, LENGTH_S - 0.5, 0.5):
        begin = int(start_s * RATE_HZ)
        sound[begin : begin + len(stroke)] += stroke
    soundfile.write(path, sound, RATE_HZ)
    return path


@pytest.fixture
def empty_archive(tmp_path: Path) -> Archive:
    return Archive.create(tmp_path / "archive")


def everything_in(folder: Path) -> list[str]:
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*") if "index" not in path.parts)


def test_a_recording_comes_in_whole(empty_archive: Archive, tape: Path) -> None:
    shares: list[float] = []
    slug = take_in(
        empty_archive, tape, raga="Desh", tala="teen taal", title="Evening at home", performed_on=date(2025, 12, 13),
        musicians=[("tabla", "Devkant")], who="asha", progress=shares.append,
    )  # fmt: skip
    state = empty_archive.state(slug)
    recording = state.recording
    assert (slug, state.revision) == ("evening-at-home", 1)
    assert (recording.raga, recording.tala, recording.performed_on) == ("desh", "teental", date(2025, 12, 13))
    assert recording.duration_s == pytest.approx(LENGTH_S, abs=0.05)  # a frame or two
    assert recording.sa_hz is not None
    assert (
        1200 * np.log2(recording.sa_hz / SA_HZ) % 1200 == pytest.approx(0, abs=20)
        or (1200 * np.log2(recording.sa_hz / SA_HZ) % 1200) > 1180
    )
    evidence = empty_archive.evidence(slug)
    assert evidence is not None
    assert evidence.duration_s == recording.duration_s
    sound = empty_archive.sound_path(slug)
    assert sound is not None
    assert sound.name == "evening-at-home.flac"
    assert shares == sorted(shares)
    assert shares[-1] == 1
    assert not list(empty_archive.path.rglob(".layakosh-tmp-*"))


def test_the_sections_follow_each_other_and_those_with_tabla_have_the_tala(empty_archive: Archive, tape: Path) -> None:
    state = empty_archive.state(take_in(empty_archive, tape, raga="Desh", tala="jhaptal"))
    assert state.sections
    for section in state.sections:
        assert section.source == "ingest"
        assert (section.kind, section.tala) in (("gat", "jhaptal"), ("alap", ""))
        assert 0 <= section.start_s < section.end_s <= LENGTH_S + 0.05
    for earlier, later in zip(state.sections, state.sections[1:], strict=False):
        assert earlier.end_s <= later.start_s


def test_the_title_is_the_files_name_and_the_given_sa_is_kept(empty_archive: Archive, tape: Path) -> None:
    slug = take_in(empty_archive, tape, raga="My own raga", tala="teental", sa=146.8, keep_sound=False)
    recording = empty_archive.state(slug).recording
    assert (slug, recording.title, recording.sa_hz) == ("evening-raga", "evening raga", 146.8)
    assert (recording.raga, recording.audio_path) == ("My own raga", "")
    assert empty_archive.sound_path(slug) is None


def test_the_same_sound_is_refused_and_the_message_names_the_slug(empty_archive: Archive, tape: Path) -> None:
    slug = take_in(empty_archive, tape, raga="Desh", tala="teental")
    before = everything_in(empty_archive.path)
    with pytest.raises(AlreadyTakenIn, match=f"already in the archive as '{slug}'"):
        take_in(empty_archive, tape, raga="Desh", tala="teental", title="Another title")
    assert everything_in(empty_archive.path) == before


def test_a_second_recording_of_the_same_title_gets_a_number(empty_archive: Archive, tape: Path, tmp_path: Path) -> None:
    take_in(empty_archive, tape, raga="Desh", tala="teental", title="Desh")
    samples, rate_hz = soundfile.read(tape)
    soundfile.write(tmp_path / "other.wav", samples * 0.9, rate_hz)
    assert take_in(empty_archive, tmp_path / "other.wav", raga="Desh", tala="teental", title="Desh") == "desh-2"


@pytest.mark.parametrize(
    ("content", "changes", "error"),
    [
        (b"", {}, EmptyAudio),
        (b"this is not sound at all" * 100, {}, UnreadableAudio),
        (None, {}, UnreadableAudio),
        (b"RIFF", {"tala": "tintalaa x"}, UnknownName),
        (b"RIFF", {"sa": -5.0}, BadAnnotation),
        (b"RIFF", {"sa": float("nan")}, BadAnnotation),
    ],
)
def test_what_cannot_be_taken_in_leaves_nothing(
    empty_archive: Archive, tmp_path: Path, content: bytes | None, changes: dict[str, object], error: type[Exception]
) -> None:
    path = tmp_path / "bad.wav"
    if content is not None:
        path.write_bytes(content)
    before = everything_in(empty_archive.path)
    with pytest.raises(error):
        take_in(empty_archive, path, **{"raga": "Desh", "tala": "teental", **changes})  # type: ignore[arg-type]
    assert everything_in(empty_archive.path) == before


def test_a_failure_half_way_leaves_nothing(empty_archive: Archive, tape: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_arguments: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(intake, "keep_copy", full)
    with pytest.raises(OSError, match="No space"):
        take_in(empty_archive, tape, raga="Desh", tala="teental")
    assert [name for name in everything_in(empty_archive.path) if name.startswith("recordings/")] == []
    monkeypatch.undo()
    assert take_in(empty_archive, tape, raga="Desh", tala="teental") == "evening-raga"


def test_a_claim_of_a_killed_process_is_passed_by_and_swept_a_day_later(empty_archive: Archive, tape: Path) -> None:
    killed = """
import os, sys
from annotate import intake
from annotate.archive import Archive
intake.keep_copy = lambda *arguments: os._exit(9)
intake.take_in(Archive.open(sys.argv[1]), sys.argv[2], raga="Desh", tala="teental")
"""
    done = subprocess.run(
        [sys.executable, "-c", killed, str(empty_archive.path), str(tape)], cwd=Path(__file__).parents[2], check=False
    )
    assert done.returncode == 9
    left = empty_archive.path / "recordings" / "evening-raga"
    assert left.is_dir()
    assert empty_archive.slugs() == []
    assert take_in(empty_archive, tape, raga="Desh", tala="teental") == "evening-raga-2"
    os.utime(left / intake._CLAIM, (1, 1))
    with pytest.raises(AlreadyTakenIn):
        take_in(empty_archive, tape, raga="Desh", tala="teental")
    intake._sweep_claims(empty_archive.path / "recordings")
    assert not left.exists()
    assert empty_archive.slugs() == ["evening-raga-2"]
