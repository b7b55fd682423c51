"""A taking in that is killed at any moment: the archive is as it was, and the next run goes on from what was done."""

from __future__ import annotations

import json
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from click.testing import CliRunner

from annotate.archive import Archive
from annotate.intake import take_in
from layakosh import main
from tests.annotate.tapes import make_tape
from tests.annotate.test_intake import left_over, seen_in

ROOT = Path(__file__).parents[2]
KILLS = 4
STAGES = ("Listening", "Following the melody", "Dividing into sections", "Following the cycle")

INGEST = [sys.executable, "-c", "import layakosh; layakosh.main()", "ingest"]


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """An archive that holds another recording."""
    archive = Archive.create(tmp_path / "archive")
    take_in(archive, make_tape(tmp_path / "morning.wav", 8.0, seed=2), raga="Desh", tala="teental")
    return archive


def begin(archive: Archive, audio: Path) -> subprocess.Popen[str]:
    """Start ``layakosh ingest`` in a process of its own."""
    return subprocess.Popen(
        [*INGEST, str(audio), "--raga", "Desh", "--tala", "teental", "--archive", str(archive.path)],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # a suite run in the background has it ignored
    )  # fmt: skip


def listed(archive: Archive) -> list[str]:
    result = CliRunner().invoke(main, ["concerts", "--json", "--archive", str(archive.path)])
    return [row["recording"] for row in json.loads(result.stdout)]


def wait_for(process: subprocess.Popen[str], folder: Path, pattern: str) -> None:
    """Wait until a file is there, or the process has ended."""
    while process.poll() is None and not list(folder.glob(pattern)):
        time.sleep(0.002)


def test_killed_at_any_moment_the_archive_is_as_it_was_and_the_next_run_ends_with_one_recording(
    archive: Archive, tmp_path: Path
) -> None:
    tape, before = make_tape(tmp_path / "evening.wav", 12.0), seen_in(archive)
    moments = random.Random(7)
    for number in range(KILLS):
        process = begin(archive, tape)
        # the work begins with its lock; from there on any moment
        wait_for(process, archive.path / "unfinished", "*.lock")
        time.sleep(moments.uniform(0.0, 0.25 * (number + 1)))
        process.send_signal(signal.SIGKILL)
        process.communicate()
        if process.returncode == 0 or seen_in(archive) != before:
            break  # it came to its end, before the signal or by the very rename
        assert listed(archive) == ["morning"]
    else:
        process = begin(archive, tape)
        out, err = process.communicate()
        assert (process.returncode, out) == (0, "evening\n"), err
    now = seen_in(archive)
    assert {name: now[name] for name in before} == before
    assert listed(archive) == ["evening", "morning"]
    whole = Archive.open(archive.path)
    assert whole.evidence("evening") is not None
    assert whole.melody("evening") is not None
    assert whole.sound_path("evening") is not None
    whole.index("matras")


def test_the_stages_done_before_a_kill_are_not_done_again(archive: Archive, tmp_path: Path) -> None:
    tape = make_tape(tmp_path / "evening.wav")
    process = begin(archive, tape)
    wait_for(process, archive.path / "unfinished", "*/melody.json")
    process.send_signal(signal.SIGKILL)
    process.communicate()
    assert process.returncode == -signal.SIGKILL
    assert listed(archive) == ["morning"]
    process = begin(archive, tape)
    out, err = process.communicate()
    assert (process.returncode, out) == (0, "evening\n"), err
    said = [line.split(": ", 1)[1] for line in err.splitlines()]
    for stage in STAGES[:2]:
        assert f"{stage}: done earlier" in said
    assert not any(line.startswith(STAGES[-1]) and line.endswith("earlier") for line in said)
    assert left_over(archive) == []


def test_ctrl_c_ends_with_a_sentence_and_the_archive_as_it_was(archive: Archive, tmp_path: Path) -> None:
    tape, before = make_tape(tmp_path / "evening.wav", 30.0), seen_in(archive)
    process = begin(archive, tape)
    wait_for(process, archive.path / "unfinished", "*/listen.json")
    process.send_signal(signal.SIGINT)
    out, err = process.communicate()
    assert (process.returncode, out) == (130, "")
    assert err.splitlines()[-1].startswith("Stopped.")
    assert "Traceback" not in err
    assert seen_in(archive) == before


def test_two_who_take_in_the_same_file_at_once_end_with_one_recording(archive: Archive, tmp_path: Path) -> None:
    tape = make_tape(tmp_path / "evening.wav", 10.0)
    pair = [begin(archive, tape) for _ in range(2)]
    told = [process.communicate() for process in pair]
    codes = sorted(process.returncode for process in pair)
    assert codes == [0, 2], told
    (refused,) = [err for process, (_, err) in zip(pair, told, strict=True) if process.returncode == 2]
    assert "being taken in by another process" in refused or "already in the archive as 'evening'" in refused
    assert "Traceback" not in refused
    assert listed(archive) == ["evening", "morning"]
    assert left_over(archive) == []
