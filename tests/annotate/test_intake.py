"""Taking a recording in: all of it or nothing, and what is done is not done twice."""

from __future__ import annotations

import hashlib
from datetime import date
from pathlib import Path

import filelock
import numpy as np
import pytest
import soundfile

from annotate import intake_work, unfinished
from annotate.archive import Archive
from annotate.errors import AlreadyTakenIn, ArchiveError, BadAnnotation, BadOrder, BeingTakenIn
from annotate.intake import take_in
from annotate.intake_source import look_at
from annotate.intake_stages import Step
from ingest.errors import EmptyAudio, UnreadableAudio
from ingest.listen import Sound
from tests.annotate.tapes import LENGTH_S, RATE_HZ, SA_HZ, make_tape
from theory.errors import UnknownName


@pytest.fixture(scope="module")
def tape(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_tape(tmp_path_factory.mktemp("tape") / "evening_raga.wav")


@pytest.fixture
def empty_archive(tmp_path: Path) -> Archive:
    return Archive.create(tmp_path / "archive")


def seen_in(archive: Archive) -> dict[str, str]:
    """Every file that readers of the archive see, with its digest; not the index, which is derived."""
    return {
        str(path.relative_to(archive.path)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(archive.path.rglob("*"))
        if path.is_file() and path.relative_to(archive.path).parts[0] not in ("index", "unfinished")
    }


def left_over(archive: Archive) -> list[str]:
    """What unfinished work has left."""
    return sorted(path.name for path in (archive.path / "unfinished").glob("*") if path.name != "lock")


def test_a_recording_comes_in_whole(empty_archive: Archive, tape: Path) -> None:
    steps: list[Step] = []
    slug = take_in(
        empty_archive, tape, raga="Desh", tala="teen taal", title="Evening at home", performed_on=date(2025, 12, 13),
        musicians=[("tabla", "Devkant")], who="asha", tell=steps.append,
    )  # fmt: skip
    state = empty_archive.state(slug)
    recording = state.recording
    assert (slug, state.revision) == ("evening-at-home", 1)
    assert (recording.raga, recording.tala, recording.performed_on) == ("desh", "teental", date(2025, 12, 13))
    assert recording.duration_s == pytest.approx(LENGTH_S, abs=0.05)  # a frame or two
    assert recording.sa_hz is not None
    cents = 1200 * np.log2(recording.sa_hz / SA_HZ)
    assert (cents + 600) % 1200 - 600 == pytest.approx(0, abs=20)
    evidence = empty_archive.evidence(slug)
    assert evidence is not None
    assert evidence.duration_s == recording.duration_s
    melody = empty_archive.melody(slug)
    assert melody is not None
    assert len(melody.voicing) * melody.hop_s == pytest.approx(LENGTH_S, abs=0.1)
    waveform = empty_archive.waveform(slug, 0.0, LENGTH_S, 100)
    assert waveform is not None
    assert waveform.high.max() > 0.1
    sound = empty_archive.sound_path(slug)
    assert sound is not None
    assert (sound.stem, sound.parent.parent.name) == ("evening-at-home", slug)
    assert [step.overall for step in steps] == sorted(step.overall for step in steps)
    assert steps[-1].overall == pytest.approx(1)
    assert {step.stage for step in steps if step.share == 1} == {step.stage for step in steps}
    assert not any(step.earlier for step in steps)
    assert left_over(empty_archive) == []
    assert not list(empty_archive.path.rglob(".layakosh-tmp-*"))
    assert state.sections
    for section in state.sections:
        assert section.source == "ingest"
        assert section.tala in ("teental", "")
        assert 0 <= section.start_s < section.end_s <= LENGTH_S + 0.05
    for earlier, later in zip(state.sections, state.sections[1:], strict=False):
        assert earlier.end_s <= later.start_s
    grid = empty_archive.folder(slug) / "evidence" / "grid.parquet"
    fitted = grid.stat().st_mtime_ns
    sams = Archive.open(empty_archive.path).grid(slug).sams()
    assert set(sams["section"]) <= {section.section for section in state.sections if section.tala}
    assert len(sams)
    assert grid.stat().st_mtime_ns == fitted  # fitted once, not again by the first reader


def test_the_title_is_the_files_name_and_the_given_sa_is_kept(empty_archive: Archive, tape: Path) -> None:
    slug = take_in(empty_archive, tape, raga="My own raga", tala="teental", sa=146.8, keep="nothing")
    recording = empty_archive.state(slug).recording
    assert (slug, recording.title, recording.sa_hz) == ("evening-raga", "evening raga", 146.8)
    assert (recording.raga, recording.audio_path) == ("My own raga", "")
    assert empty_archive.sound_path(slug) is None
    assert not (empty_archive.folder(slug) / "sound").exists()


def test_the_original_is_kept_when_asked_for(empty_archive: Archive, tape: Path) -> None:
    slug = take_in(empty_archive, tape, raga="Desh", tala="teental", keep="original")
    kept = [path.read_bytes() for path in (empty_archive.folder(slug) / "sound").iterdir()]
    assert len(kept) == 2
    assert tape.read_bytes() in kept


def test_the_same_sound_is_refused_under_any_name_and_the_message_names_the_slug(
    empty_archive: Archive, tape: Path, tmp_path: Path
) -> None:
    slug = take_in(empty_archive, tape, raga="Desh", tala="teental")
    before = seen_in(empty_archive)
    again = tmp_path / "another name.wav"
    again.write_bytes(tape.read_bytes())
    for path in (tape, again):
        with pytest.raises(AlreadyTakenIn, match=f"{path.name} is already in the archive as '{slug}'"):
            take_in(empty_archive, path, raga="Desh", tala="teental", title="Another title")
    other = make_tape(tmp_path / "other.wav", 8.0, seed=4)
    with pytest.raises(AlreadyTakenIn, match=f"{again.name} is already in the archive as '{slug}'"):
        take_in(empty_archive, Sound((other, again)), raga="Desh", tala="teental")
    assert seen_in(empty_archive) == before
    assert left_over(empty_archive) == []


def test_sides_make_one_recording_that_knows_where_each_begins(empty_archive: Archive, tmp_path: Path) -> None:
    sides = (make_tape(tmp_path / "desh side a.wav", 9.0), make_tape(tmp_path / "desh side b.wav", 12.0, seed=8))
    slug = take_in(empty_archive, Sound(sides), raga="Desh", tala="teental")
    recording = Archive.open(empty_archive.path).state(slug).recording
    assert (slug, recording.title) == ("desh", "desh")
    assert recording.duration_s == pytest.approx(21.0, abs=0.05)
    assert [(file.name, file.role, file.start_s) for file in recording.files] == [
        ("desh side a.wav", "whole", 0.0),
        ("desh side b.wav", "whole", 9.0),
    ]
    sound = empty_archive.sound_path(slug)
    assert sound is not None
    assert soundfile.info(sound).duration == pytest.approx(21.0, abs=0.05)
    with pytest.raises(AlreadyTakenIn, match=f"desh side b.wav is already in the archive as part of '{slug}'"):
        take_in(empty_archive, sides[1], raga="Desh", tala="teental")
    known = empty_archive.index("recordings")["files"].iloc[0]
    assert [each["start_s"] for each in known] == [0.0, 9.0]


def test_after_a_side_whose_end_is_broken_the_next_begins_where_it_is_heard(
    empty_archive: Archive, tape: Path, tmp_path: Path
) -> None:
    samples, rate_hz = soundfile.read(tape)
    soundfile.write(tmp_path / "whole.flac", samples, rate_hz)
    content = (tmp_path / "whole.flac").read_bytes()
    (tmp_path / "side 1.flac").write_bytes(content[: len(content) // 2])
    slug = take_in(empty_archive, Sound((tmp_path / "side 1.flac", tape)), raga="Desh", tala="teental", keep="nothing")
    recording = empty_archive.state(slug).recording
    assert recording.duration_s is not None
    heard_s = recording.duration_s - LENGTH_S  # of the first side
    assert 1 < heard_s < LENGTH_S - 1
    assert recording.files[1].start_s == pytest.approx(heard_s, abs=0.01)


def test_the_same_side_twice_is_refused(empty_archive: Archive, tape: Path, tmp_path: Path) -> None:
    again = tmp_path / "side b.wav"
    again.write_bytes(tape.read_bytes())
    with pytest.raises(BadOrder, match=r"side b\.wav is the same sound as evening_raga\.wav"):
        take_in(empty_archive, Sound((tape, again)), raga="Desh", tala="teental")


def test_stems_feed_what_they_serve_and_a_drone_may_serve_two_recordings(
    empty_archive: Archive, tmp_path: Path
) -> None:
    time_s = np.arange(int(LENGTH_S * RATE_HZ)) / RATE_HZ
    for name, hz in (("drone", 147.0), ("sitar", 294.0), ("sitar again", 330.0)):
        soundfile.write(tmp_path / f"{name}.wav", 0.2 * np.sin(2 * np.pi * hz * time_s), RATE_HZ)
    drone, tabla = tmp_path / "drone.wav", make_tape(tmp_path / "tabla.wav")
    stems = Sound((), (tmp_path / "sitar.wav",), (tabla,), (drone,))
    slug = take_in(empty_archive, stems, raga="Desh", tala="teental", title="Stems")
    roles = [file.role for file in empty_archive.state(slug).recording.files]
    assert roles == ["melody", "tabla", "drone"]
    other = Sound((), (tmp_path / "sitar again.wav",), (), (drone,))
    assert take_in(empty_archive, other, raga="Desh", tala="teental", title="Other") == "other"


@pytest.mark.parametrize(
    ("content", "changes", "error"),
    [
        (b"", {}, EmptyAudio),
        (b"this is not sound at all" * 100, {}, UnreadableAudio),
        (None, {}, UnreadableAudio),
        (b"RIFF", {"tala": "tintalaa x"}, UnknownName),
        (b"RIFF", {"tala": ()}, BadAnnotation),
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
    before = seen_in(empty_archive)
    with pytest.raises(error):
        take_in(empty_archive, path, **{"raga": "Desh", "tala": "teental", **changes})  # type: ignore[arg-type]
    assert seen_in(empty_archive) == before
    assert left_over(empty_archive) == []


def test_a_full_disk_leaves_the_archive_as_it_was_and_the_stages_done_for_the_next_run(
    empty_archive: Archive, tape: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_arguments: object) -> None:
        raise OSError(28, "No space left on device")

    before = seen_in(empty_archive)
    monkeypatch.setattr(intake_work.melody_store, "save", full)
    with pytest.raises(OSError, match="No space"):
        take_in(empty_archive, tape, raga="Desh", tala="teental", beside=False)
    assert seen_in(empty_archive) == before
    assert empty_archive.slugs() == []
    monkeypatch.undo()
    steps: list[Step] = []
    assert take_in(empty_archive, tape, raga="Desh", tala="teental", tell=steps.append) == "evening-raga"
    assert [step.stage for step in steps if step.earlier] == ["Listening"]
    assert left_over(empty_archive) == []


def test_what_was_done_for_another_wish_is_done_again(empty_archive: Archive, tape: Path) -> None:
    def stop_at(stage: str) -> object:
        def tell(step: Step) -> None:
            told.append(step)
            if step.stage == stage:
                raise KeyboardInterrupt

        return tell

    told: list[Step] = []
    with pytest.raises(KeyboardInterrupt):
        take_in(empty_archive, tape, raga="Desh", tala="teental", tell=stop_at("Following the cycle"))  # type: ignore[arg-type]
    assert empty_archive.slugs() == []
    told.clear()
    slug = take_in(empty_archive, tape, raga="Bageshri", tala="jhaptal", title="Other", tell=told.append)
    earlier = {step.stage for step in told if step.earlier}
    assert earlier == {"Listening", "Following the melody", "Dividing into sections"}  # the tala is another
    recording = empty_archive.state(slug).recording
    assert (slug, recording.raga, recording.tala) == ("other", "bageshri", "jhaptal")
    with pytest.raises(KeyboardInterrupt):
        take_in(
            empty_archive,
            make_tape(tape.with_name("more.wav"), 8.0, seed=11),
            raga="Desh",
            tala="teental",
            tell=stop_at("Following the melody"),  # type: ignore[arg-type]
        )
    told.clear()
    take_in(empty_archive, tape.with_name("more.wav"), raga="Desh", tala="teental", keep="nothing", tell=told.append)
    assert not any(step.earlier for step in told)  # listened to for a copy, and none is wanted now


def test_evidence_that_is_gone_is_measured_again(empty_archive: Archive, tape: Path) -> None:
    def stop(step: Step) -> None:
        if step.stage == "Dividing into sections":
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        take_in(empty_archive, tape, raga="Desh", tala="teental", tell=stop)
    for path in (empty_archive.path / "unfinished").rglob("frames.parquet"):
        path.write_bytes(b"PAR1")
    assert take_in(empty_archive, tape, raga="Desh", tala="teental") == "evening-raga"


def test_the_melody_can_be_followed_beside_the_rest(empty_archive: Archive, tape: Path, tmp_path: Path) -> None:
    alone = Archive.create(tmp_path / "alone")
    slug = take_in(alone, tape, raga="Desh", tala="teental", beside=False)
    steps: list[Step] = []
    assert take_in(empty_archive, tape, raga="Desh", tala="teental", beside=True, tell=steps.append) == slug
    one, two = alone.melody(slug), empty_archive.melody(slug)
    assert one is not None
    assert two is not None
    np.testing.assert_array_equal(one.voicing, two.voicing)
    assert [step.overall for step in steps] == sorted(step.overall for step in steps)
    assert left_over(empty_archive) == []


def test_who_comes_second_while_a_sound_is_being_taken_in_is_told_so(empty_archive: Archive, tape: Path) -> None:
    refused: list[str] = []

    def second(step: Step) -> None:
        if step.stage == "Listening" and step.share == 0:
            with pytest.raises(BeingTakenIn) as told:
                take_in(Archive.open(empty_archive.path), tape, raga="Desh", tala="teental")
            refused.append(str(told.value))

    slug = take_in(empty_archive, tape, raga="Desh", tala="teental", tell=second)
    assert "evening_raga.wav is being taken in by another process" in refused[0]
    assert empty_archive.slugs() == [slug]


def test_a_recording_that_came_in_alone_meanwhile_is_not_brought_in_again_among_others(
    empty_archive: Archive, tape: Path, tmp_path: Path
) -> None:
    other = make_tape(tmp_path / "other.wav", 8.0, seed=6)

    def meanwhile(step: Step) -> None:
        if step.stage == "Following the cycle" and step.share == 0:
            take_in(Archive.open(empty_archive.path), other, raga="Desh", tala="teental")

    with pytest.raises(AlreadyTakenIn, match="other"):
        take_in(empty_archive, Sound((tape, other)), raga="Desh", tala="teental", tell=meanwhile)
    assert empty_archive.slugs() == ["other"]


def test_each_section_gets_the_tala_that_is_borne_out_best(
    empty_archive: Archive, tape: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[tuple[str, ...]] = []

    def last(_evidence: object, _start_s: float, _end_s: float, talas: list[object]) -> object:
        asked.append(tuple(tala.key for tala in talas))  # type: ignore[attr-defined]
        return talas[-1]

    monkeypatch.setattr(intake_work, "best_tala", last)
    slug = take_in(empty_archive, tape, raga="Desh", tala=["teental", "jhaptal"])
    state = empty_archive.state(slug)
    assert set(asked) == {("teental", "jhaptal")}
    assert {section.tala for section in state.sections} - {""} == {"jhaptal"}
    assert state.recording.tala == "jhaptal"


def test_where_there_are_no_locks_it_is_said_and_nothing_is_done(
    empty_archive: Archive, tape: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def without_locks(_lock: object) -> None:
        raise NotImplementedError("no flock here")

    monkeypatch.setattr(filelock.FileLock, "_acquire", without_locks)
    with pytest.raises(ArchiveError, match="has no locks"):
        take_in(empty_archive, tape, raga="Desh", tala="teental")
    assert empty_archive.slugs() == []


def test_work_given_up_is_swept_after_a_week_and_work_in_hand_is_not(empty_archive: Archive, tape: Path) -> None:
    digest = look_at(tape).sha256
    with unfinished.work_on(empty_archive.path, digest, "tape") as work:
        work.keep("listen", "x", {})
        assert unfinished.sweep(empty_archive.path, lambda _key: True, older_than_s=-1) == 0  # held
    assert unfinished.sweep(empty_archive.path, lambda _key: False) == 0  # young
    assert len(left_over(empty_archive)) == 2
    assert unfinished.sweep(empty_archive.path, lambda _key: False, older_than_s=-1) == 1
    assert left_over(empty_archive) == []


def test_a_second_recording_of_a_title_gets_a_number_and_sweeps_what_is_left_of_one_that_came_in(
    empty_archive: Archive, tape: Path, tmp_path: Path
) -> None:
    take_in(empty_archive, tape, raga="Desh", tala="teental", title="Desh")
    with unfinished.work_on(empty_archive.path, look_at(tape).sha256, "tape") as work:
        work.keep("listen", "x", {})  # as if killed just after the rename
    other = make_tape(tmp_path / "other.wav", 8.0, seed=5)
    slug = take_in(empty_archive, other, raga="Desh", tala="teental", title="Desh")
    assert slug == "desh-2"
    assert left_over(empty_archive) == []
    sound = empty_archive.sound_path(slug)
    assert sound is not None
    assert sound.is_file()


def test_a_long_recording_is_divided_part_by_part_without_gaps(
    empty_archive: Archive, tape: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(intake_work, "DIVIDED_AT_ONCE_S", LENGTH_S / 3)
    slug = take_in(empty_archive, tape, raga="Desh", tala="teental", keep="nothing")
    sections = empty_archive.state(slug).sections
    assert len(sections) >= 2
    assert sections[0].start_s == 0
    assert sections[-1].end_s == pytest.approx(LENGTH_S, abs=0.05)
    assert [each.end_s for each in sections[:-1]] == [each.start_s for each in sections[1:]]
    assert max(each.end_s - each.start_s for each in sections) <= LENGTH_S / 2 + 0.05


@pytest.mark.parametrize("school", ["doubling", "handbook"])
def test_gats_are_named_by_the_archives_school_unless_another_is_asked_for(
    tmp_path: Path, tape: Path, school: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []

    def gat_kind(_laya_mpm: float, school: str) -> str:
        asked.append(school)
        return "drut gat"

    monkeypatch.setattr("ingest.kinds_by_cycle.gat_kind", gat_kind)
    archive = Archive.create(tmp_path / "archive", tempo_school=school)
    assert archive.tempo_school == school
    first = take_in(archive, tape, raga="Desh", tala="teental", keep="nothing")
    assert set(asked) == {school}
    assert "drut gat" in {each.kind for each in archive.state(first).sections}
    shorter = make_tape(tmp_path / "another.wav", LENGTH_S - 1)
    take_in(archive, shorter, raga="Desh", tala="teental", keep="nothing", tempo_school="research")
    assert set(asked) == {school, "research"}
    with pytest.raises(UnknownName, match="doubling, handbook"):
        take_in(archive, shorter, raga="Desh", tala="teental", tempo_school="nobody's")
