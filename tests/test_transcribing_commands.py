"""Transcribing and the swaras heard, as a musician uses them from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile

from annotate import melody_store
from annotate.archive import Archive
from annotate.revisions import change
from tests.ingest.heard_melody import SA_HZ, written_melody
from tests.test_command_line import FIRST_SAM_S, MATRA_S, Desk, at
from tests.test_command_line import desk as desk  # the fixture: six avartans of teental, sams marked at 10, 18 ... 58 s

SURE = 0.95
LINE = [0.0, 200.0, 500.0, 700.0, 1100.0, 1200.0, 1100.0, 700.0]  # S R m P N S' N P


def know_sa(desk: Desk, sa_hz: float | None = SA_HZ) -> Archive:
    from dataclasses import replace

    archive = Archive.open(desk.archive)
    recording = replace(archive.state("evening").recording, sa_hz=sa_hz)
    archive.commit("evening", [change(recording)], "tester", "Sa")
    return archive


@pytest.fixture
def heard(desk: Desk) -> Desk:
    """The archive with a melody: one swara a matra from the first sam on, the last one of an avartan halved."""
    notes = [(FIRST_SAM_S, 0.0, 0.0)]
    for _ in range(6):
        notes += [(MATRA_S, cents, SURE) for cents in (LINE * 2)[:15]]
        notes += [(MATRA_S / 2, 500.0, SURE), (MATRA_S / 2, 200.0, SURE)]
    melody_store.save(know_sa(desk).folder("evening") / "evidence", written_melody(*notes))
    return desk


def test_a_draft_has_one_avartan_a_line_under_the_numbers_of_the_matras(heard: Desk) -> None:
    printed = heard.run("transcribe", "evening", "--from", str(at(2, 1)), "--to", str(at(4, 1))).stdout.splitlines()
    assert "Teental" in printed[0]
    assert printed[3].split() == [str(matra) for matra in range(1, 17)]
    rows = [line.replace("|", " ").split() for line in printed if line.startswith(("2 |", "3 |"))]
    wanted = ["S", "R", "m", "P", "N", "S'", "N", "P", "S", "R", "m", "P", "N", "S'", "N", "mR"]
    assert rows == [["2", *wanted], ["3", *wanted]]
    assert "none of them doubtful" in printed[-1]


def test_the_json_of_a_draft_has_the_notation_and_the_place_time_and_sureness_of_every_note(heard: Desk) -> None:
    drafted = heard.json("transcribe", "evening", "--cycle", "3")
    assert isinstance(drafted, dict)
    assert drafted["text"] == "S R m P | N S' N P | S R m P | N S' N mR"
    assert (drafted["tala"], drafted["raga"], drafted["cycle"], drafted["matra"]) == ("teental", "desh", 3, 1)
    last = drafted["notes"][-1]
    assert (last["swara"], last["cycle"], last["matra"]) == ("R", 3, "33/2")
    assert last["start_s"] == pytest.approx(at(3, 16.5), abs=0.001)
    assert last["sureness"] > 0.7


def test_a_stretch_may_begin_anywhere_and_be_divided_as_asked(heard: Desk) -> None:
    drafted = heard.json("transcribe", "evening", "--from", str(at(2, 15)), "--to", str(at(3, 3)), "--parts", "2")
    assert isinstance(drafted, dict)
    assert (drafted["cycle"], drafted["matra"], drafted["divisions"]) == (2, 15, [2, 2, 2, 2])
    assert drafted["text"] == "N mR | S R"


def test_doubtful_notes_are_listed_with_their_place_and_what_else_they_may_be(heard: Desk) -> None:
    archive = Archive.open(heard.archive)
    notes = [(at(2, 1), 0.0, 0.0), (0.3, 0.0, SURE), (0.2, 200.0, SURE), (MATRA_S, 400.0, SURE)]
    melody_store.save(archive.folder("evening") / "evidence", written_melody(*notes))
    arguments = ("--from", str(at(2, 1)), "--to", str(at(2, 3)), "--parts", "1")
    printed = heard.run("transcribe", "evening", *arguments).stdout
    assert "1 of 2 notes are doubtful" in printed
    assert "avartan 2, matra 1: S (or R)" in printed


def test_what_of_a_stretch_lies_outside_the_matras_is_said(heard: Desk) -> None:
    printed = heard.run("transcribe", "evening", "--from", "0", "--to", str(at(1, 5))).stdout
    assert "Not drafted, 'gat' has no matras there: 0:00.0 to 0:0" in printed
    assert "Not drafted" not in heard.run("transcribe", "evening", "--from", "20", "--to", "30").stdout


def test_a_sam_that_the_grid_is_in_doubt_of_is_named_with_the_draft(heard: Desk) -> None:
    (doubt,) = heard.json("doubts", "evening")  # type: ignore[misc] # a list with the last avartan, which no mark holds
    printed = heard.run("transcribe", "evening", "--cycle", str(doubt["cycle"])).stdout
    assert "in doubt of the sam at 1:0" in printed
    assert "in doubt" not in heard.run("transcribe", "evening", "--cycle", "2").stdout


def test_the_swaras_are_listed_with_their_share_and_what_is_foreign_to_the_raga(heard: Desk) -> None:
    found = heard.json("swaras", "evening", "--from", str(FIRST_SAM_S), "--to", str(at(2, 1)))
    assert isinstance(found, dict)
    assert found["shares"]["S"] == pytest.approx(4 / 16, abs=0.01)
    assert found["shares"]["G"] == 0
    assert found["held"][0] == {"swara": "S", "start_s": FIRST_SAM_S, "end_s": FIRST_SAM_S + MATRA_S}
    printed = heard.run("swaras", "evening").stdout
    assert "25.1%" in printed  # 4 of 16, and the halves end a frame short
    assert "not in the raga's table" not in printed


def test_a_recording_taken_in_before_has_its_melody_followed_in_the_sound_kept(desk: Desk) -> None:
    from dataclasses import replace

    archive = know_sa(desk)
    rate_hz = 22050
    t = np.arange(int(30 * rate_hz)) / rate_hz
    hz = np.where(t % 2 < 1, 2 * SA_HZ, 3 * SA_HZ)  # S and P by turns: what always sounds is taken for the drone
    sound = sum(np.sin(2 * np.pi * n * np.cumsum(hz) / rate_hz) / n for n in range(1, 7)) * np.exp(-2 * (t % 1))
    folder = archive.folder("evening") / "sound"
    folder.mkdir()
    soundfile.write(folder / "evening.flac", 0.1 * sound, rate_hz)
    recording = replace(archive.state("evening").recording, audio_path="recordings/evening/sound/evening.flac")
    archive.commit("evening", [change(recording)], "tester", "sound")
    assert archive.melody("evening") is None
    found = desk.json("swaras", "evening")
    assert isinstance(found, dict)
    assert found["shares"]["S"] + found["shares"]["P"] > 0.7
    assert archive.melody("evening") is not None


@pytest.mark.parametrize("sa", ["164.81", "E3"])
def test_another_sa_names_the_same_pitches_anew_without_listening_again(heard: Desk, sa: str) -> None:
    drafted = heard.json("transcribe", "evening", "--cycle", "2", "--sa", sa)
    assert isinstance(drafted, dict)
    assert drafted["sa_hz"] == pytest.approx(164.81, abs=0.01)
    assert drafted["text"].startswith(".n S g m")  # S R m P, a whole tone lower
    found = heard.json("swaras", "evening", "--sa", sa)
    assert isinstance(found, dict)
    assert found["shares"]["n"] > 0.2


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        (["transcribe", "evening"], "--from T --to T, or --cycle N"),
        (["transcribe", "evening", "--from", "10"], "--from T --to T, or --cycle N"),
        (["transcribe", "evening", "--from", "10", "--to", "20", "--cycle", "1"], "either --from and --to, or --cycle"),
        (["transcribe", "evening", "--from", "20", "--to", "10"], "not after its start"),
        (["transcribe", "evening", "--from", "1", "--to", "3"], "No matras are known between 0:01 and 0:03"),
        (["transcribe", "evening", "--from", "20.2", "--to", "20.3"], "give a longer stretch"),
        (["transcribe", "evening", "--cycle", "77"], "has no avartan 77"),
        (["transcribe", "evening", "--cycle", "2", "--section", "jor"], "has no avartan 2"),
        (["transcribe", "evening", "--from", "9", "--to", "20", "--section", "gat"], "--section goes with --cycle"),
        (["swaras", "evening", "--from", "20", "--to", "20"], "Nothing lies between"),
        (["swaras", "evening", "--sa", "H"], "H"),
        (["swaras", "morning"], "no recording 'morning'"),
    ],
)
def test_a_stretch_that_cannot_be_is_refused_with_what_to_do(heard: Desk, arguments: list[str], why: str) -> None:
    assert why in " ".join(heard.refuses(*arguments).split())


def test_without_melody_or_sound_or_sa_nothing_is_made_up(desk: Desk, heard: Desk) -> None:
    know_sa(heard, None)
    assert "Sa of 'evening' is not known" in heard.refuses("swaras", "evening")
    know_sa(heard)
    (Archive.open(heard.archive).folder("evening") / "evidence" / melody_store.FILE).unlink()
    assert "keeps no sound of it" in heard.refuses("transcribe", "evening", "--cycle", "2")


def test_json_is_json(heard: Desk, tmp_path: Path) -> None:
    assert json.loads(heard.run("swaras", "evening", "--json").stdout)["sa_hz"] == pytest.approx(SA_HZ, abs=0.01)
