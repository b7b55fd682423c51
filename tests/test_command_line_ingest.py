"""Taking in from the command line: which files make which recording, what it shows, what it says of bad input."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from layakosh import main
from tests.annotate.tapes import make_tape


class Desk:
    """An archive in a folder of its own, and ``layakosh ingest`` on it."""

    def __init__(self, archive: Path) -> None:
        self.archive = archive

    def run(self, *arguments: str | Path, tala: str = "teental") -> Result:
        how = ("--raga", "Desh", "--tala", tala, "--archive", str(self.archive))
        return CliRunner().invoke(main, ["ingest", *map(str, arguments), *how])

    def takes_in(self, *arguments: str | Path) -> Result:
        result = self.run(*arguments)
        assert result.exit_code == 0, (result.output, result.exception)
        return result

    def refuses(self, *arguments: str | Path) -> str:
        result = self.run(*arguments)
        assert result.exit_code == 2, (result.exit_code, result.output, result.exception)
        assert "Traceback" not in result.output
        return result.stderr

    def recordings(self) -> list[str]:
        return sorted(path.name for path in self.archive.glob("recordings/*"))


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk(tmp_path / "archive")


@pytest.fixture(scope="module")
def tapes(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with two short recordings and a file that is no sound."""
    folder = tmp_path_factory.mktemp("tapes")
    make_tape(folder / "desh side a.wav", 5.0, seed=1)
    make_tape(folder / "desh side b.wav", 6.0, seed=2)
    (folder / "notes.txt").write_text("not sound")
    return folder


def test_of_a_folder_every_sound_file_is_a_recording_and_a_run_again_takes_nothing_in_twice(
    desk: Desk, tapes: Path
) -> None:
    result = desk.takes_in(tapes)
    assert result.stdout.split() == ["desh-side-a", "desh-side-b"] == desk.recordings()
    assert "No sound, passed over" in result.stderr
    assert "notes.txt" in result.stderr
    again = desk.takes_in(tapes)
    assert again.stdout == ""
    assert "desh side a.wav: in the archive already, as 'desh-side-a'" in again.stderr
    said = desk.refuses(tapes / "desh side a.wav")  # asked for alone it is an error
    assert "already in the archive as 'desh-side-a'" in said


def test_joined_files_make_one_recording_in_the_order_given_and_the_order_is_shown(desk: Desk, tapes: Path) -> None:
    result = desk.takes_in("--join", tapes / "desh side b.wav", tapes / "desh side a.wav")
    assert result.stdout.split() == ["desh"] == desk.recordings()
    shown = [line.split() for line in result.stderr.splitlines()[1:3]]
    assert shown == [["from", "0:00", "desh", "side", "b.wav"], ["from", "0:06", "desh", "side", "a.wav"]]
    listed = CliRunner().invoke(main, ["concerts", "--json", "--archive", str(desk.archive)])
    assert [file["start_s"] for file in json.loads(listed.stdout)[0]["files"]] == [0.0, 6.0]
    assert "as part of 'desh'" in desk.refuses(tapes / "desh side a.wav")


def test_a_folder_of_stems_makes_one_recording(desk: Desk, tapes: Path, tmp_path: Path) -> None:
    stems = tmp_path / "evening"
    stems.mkdir()
    (stems / "sitar.wav").write_bytes((tapes / "desh side a.wav").read_bytes())
    make_tape(stems / "tabla.wav", 5.0, seed=5)
    result = desk.takes_in("--stems", stems)
    assert result.stdout.split() == ["evening"]
    assert "melody" in result.stderr
    assert "tabla" in result.stderr


def test_what_cannot_be_meant_is_refused_before_anything_is_done(desk: Desk, tapes: Path, tmp_path: Path) -> None:
    one = tapes / "desh side a.wav"
    assert "is a folder" in desk.refuses("--join", tapes)
    assert "only one was named" in desk.refuses("--join", one)
    assert "leave out the other files" in desk.refuses("--stems", tapes, one)
    assert "Nothing to take in" in desk.refuses()
    assert "names one recording" in desk.refuses(tapes, "--title", "Desh")
    assert "Name it once" in desk.refuses(one, one)
    assert "no sound file in the folder" in desk.refuses(_made(tmp_path / "empty"))
    assert "notes.txt" in desk.refuses(one, tapes / "notes.txt")
    assert "cannot be taken as the stems" in desk.refuses("--stems", tmp_path / "empty")
    assert desk.run(one, tala="no such tala").exit_code == 2
    assert not desk.archive.exists()


def _made(folder: Path) -> Path:
    folder.mkdir()
    return folder


def test_several_are_reported_together_and_no_sound_is_kept_when_none_is_wanted(desk: Desk, tapes: Path) -> None:
    result = desk.takes_in(tapes, "--keep", "nothing", "--json")
    assert [row["recording"] for row in json.loads(result.stdout)] == ["desh-side-a", "desh-side-b"]
    assert "desh side b.wav: Listening: done in" in result.stderr
    assert not list(desk.archive.rglob("sound"))


def test_an_archive_that_cannot_be_written_is_a_message_and_not_a_traceback(
    desk: Desk, tapes: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from annotate import intake_work

    def full(*_arguments: object) -> None:
        raise OSError(28, "No space left on device", "some file")

    monkeypatch.setattr(intake_work.evidence_store, "save", full)
    said = desk.refuses(tapes / "desh side a.wav")
    assert "No space left on device (some file)" in said
    assert "run it again" in said
    said = desk.refuses(tapes)
    assert said.count("No space left") == 2
    assert "2 of 2 recordings could not be taken in" in said
    assert desk.recordings() == []


def test_an_archive_that_cannot_be_begun_is_a_message(tapes: Path, tmp_path: Path) -> None:
    (tmp_path / "a file").write_text("no folder")
    said = Desk(tmp_path / "a file" / "archive").refuses(tapes / "desh side a.wav")
    assert "was not written (Not a directory)" in said


def test_quiet_shows_nothing_but_the_short_name(desk: Desk, tapes: Path) -> None:
    result = desk.takes_in(tapes / "desh side a.wav", "--quiet")
    assert (result.stdout, result.stderr) == ("desh-side-a\n", "")


def test_listen_again_measures_what_is_missing_and_says_from_what(desk: Desk, tapes: Path) -> None:
    def again(*arguments: str) -> Result:
        return CliRunner().invoke(main, ["listen-again", *arguments, "--archive", str(desk.archive)])

    desk.takes_in(tapes)
    assert "The evidence of every recording with sound is there." in again().stdout
    for path in desk.archive.glob("recordings/desh-side-b/evidence/*"):
        path.unlink()
    listed = CliRunner().invoke(main, ["concerts", "--archive", str(desk.archive)])
    assert "Measured by another version, or not to the end: desh-side-b." in listed.stdout
    result = again()
    assert result.exit_code == 0, result.output
    assert "Measured by" not in CliRunner().invoke(main, ["concerts", "--archive", str(desk.archive)]).stdout
    assert result.stdout == "desh-side-b: listened to again, from the listening copy.\n"
    refused = again("desh-side-b", "--from", str(tapes / "desh side a.wav"))
    assert refused.exit_code == 2
    assert "no file has the content of desh side b.wav" in refused.stderr
    assert again("desh-side-x").exit_code == 2
    assert again("--from", str(tapes / "desh side a.wav")).exit_code == 2


def test_stopped_at_the_second_recording_the_first_is_in_and_named(
    desk: Desk, tapes: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from annotate import intake_many

    take_in = intake_many.take_in

    def stopped(*arguments: object, **how: object) -> str:
        if "side b" in str(arguments):
            raise KeyboardInterrupt
        return take_in(*arguments, **how)  # type: ignore[arg-type]

    monkeypatch.setattr(intake_many, "take_in", stopped)
    result = desk.run(tapes)
    assert (result.exit_code, result.stdout) == (130, "desh-side-a\n")
    assert "Stopped." in result.stderr
    assert desk.recordings() == ["desh-side-a"]


def test_a_school_of_tempo_names_that_is_not_known_is_told_with_those_that_are(desk: Desk, tapes: Path) -> None:
    said = desk.refuses(tapes / "desh side a.wav", "--tempo-names", "mine")
    assert "'mine'" in said
    assert "research" in said
    assert not desk.archive.exists()
