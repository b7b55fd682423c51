"""The command practice-sound: what it prints, what it refuses, and that it leaves nothing behind then."""

import json
import signal
import subprocess
import sys
import time

import pytest
from click.testing import CliRunner

from layakosh import main
from tests.dashboard.conftest import SLUG


def run(concert, *words):
    return CliRunner().invoke(
        main, ["practice-sound", f"{SLUG}/t03", *map(str, words), "--archive", concert.store.place]
    )


def test_a_climb_is_printed_with_the_times_at_which_it_goes_on(concert, tmp_path):
    file = tmp_path / "climb.flac"
    words = ("--from", "notation", "--from-laya", 200, "--to-laya", 270, "--step", 40, "--rounds", 1, "--count-in", 4)
    done = run(concert, file, *words, "--no-tanpura", "--sa", "C#")
    assert done.exit_code == 0, done.output
    # 4 matras at 200, then 14 matras at 200, 240 and 270 each
    assert done.stdout.splitlines()[:5] == [
        "0:00.000  count-in",
        "0:01.200  round 1 at 200 matras a minute",
        "0:05.400  round 1 at 240 matras a minute",
        "0:08.900  round 1 at 270 matras a minute",
        "0:12.011  closing sam",
    ]
    assert "LUFS" in done.stdout.splitlines()[5]
    assert file.exists()


def test_json_lists_every_part_and_what_was_made_otherwise(concert, tmp_path):
    done = run(concert, tmp_path / "t03.mp3", "--speeds", "100", "--rounds", 1, "--count-in", "3", "--mono", "--json")
    told = json.loads(done.stdout)
    assert told["duration_s"] == 3 * 0.5 + 7 * 0.5 + 1.0
    assert [each["kind"] for each in told["parts"]][:2] == ["count-in", "round"]
    assert "No avartan of the section" in told["told"][0]


def test_a_command_that_is_ended_while_it_works_leaves_nothing(concert, tmp_path):
    program = "import sys; from layakosh import main; main(sys.argv[1:])"
    words = [
        "practice-sound",
        f"{SLUG}/t01",
        str(tmp_path / "t01.mp3"),
        "--rounds",
        "40",
        "--archive",
        concert.store.place,
    ]
    running = subprocess.Popen([sys.executable, "-c", program, *words], stderr=subprocess.DEVNULL)
    deadline = time.monotonic() + 60
    while not any(tmp_path.iterdir()) and time.monotonic() < deadline:
        time.sleep(0.02)
    assert [each.name for each in tmp_path.iterdir()] == [f".t01.mp3.{running.pid}.unfinished"]
    running.terminate()
    assert running.wait(30) == 128 + signal.SIGTERM
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--speeds", "10"), "25 to 100 percent"),
        (("--speeds", "slow"), "is no number"),
        (("--from", "notation", "--from-laya", "90", "--to-laya", "60"), "above the first"),
        (("--from", "notation", "--from-laya", "60"), "--from-laya with --to-laya"),
        (("--laya", "60"), "goes with --from notation"),
        (("--sa", "H"), "Hz or a note name"),
        (("--rounds", "0"), "rounds: 1 to 100"),
    ],
)
def test_what_cannot_be_is_told_in_a_sentence_and_nothing_is_made(concert, tmp_path, words, says):
    done = run(concert, tmp_path / "t03.flac", *words)
    assert done.exit_code == 2
    assert says in done.output
    assert "Traceback" not in done.output
    assert list(tmp_path.iterdir()) == []
