"""The command line as a musician uses it: what each command prints, and what it says of bad input."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from layakosh import main

MATRA_S = 0.5
FIRST_SAM_S = 10.0
CYCLE_S = 16 * MATRA_S


def at(cycle: int, matra: float) -> float:
    """Time of a matra in the made-up recording: teental at 120 matras a minute, first sam at 10 s."""
    return FIRST_SAM_S + (cycle - 1) * CYCLE_S + (matra - 1) * MATRA_S


class Desk:
    """An archive in a folder of its own and the commands on it."""

    def __init__(self, archive: Path) -> None:
        self.archive = archive

    def run(self, *arguments: str) -> Result:
        command, *rest = arguments
        return CliRunner().invoke(main, [command, "--archive", str(self.archive), *rest])

    def json(self, *arguments: str) -> object:
        result = self.run(*arguments, "--json")
        assert result.exit_code == 0, result.output
        return json.loads(result.stdout)

    def files(self) -> dict[str, bytes]:
        """What can never be made again: the revisions."""
        return {str(p): p.read_bytes() for p in sorted(self.archive.rglob("revisions/*"))}

    def refuses(self, *arguments: str) -> str:
        """Run a command that must fail with exit code 2 and leave the archive unchanged; return what it says."""
        before = self.files()
        result = self.run(*arguments)
        assert result.exit_code == 2, (result.exit_code, result.output, result.exception)
        assert "Traceback" not in result.output
        assert self.files() == before
        return result.stderr


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    """An archive that holds one recording without sound: six avartans of teental."""
    (tmp_path / "sections.csv").write_text("start_s,end_s,section,kind,tala\n5,70,gat,gat,teental\n")
    rows = "".join(f"gat,{cycle},{at(cycle, 1)}\n" for cycle in range(1, 8))
    (tmp_path / "sams.csv").write_text("section,cycle,sam_s\n" + rows)
    desk = Desk(tmp_path / "archive")
    result = desk.run(
        "load", "evening", "--sections", str(tmp_path / "sections.csv"), "--sams", str(tmp_path / "sams.csv"),
        "--raga", "Desh",
    )  # fmt: skip
    assert result.exit_code == 0, result.output
    return desk


def tihai_from_sam(late_s: float = 0.0, dam: str = "1") -> list[str]:
    """5 + 1 + 5 + 1 + 5 = 17 from the sam of cycle 2 to that of cycle 3."""
    starts = ",".join(f"{at(2, matra):.3f}" for matra in (1, 7, 13))
    return ["--starts", starts, "--landing", f"{at(3, 1) + late_s:.3f}", "--palla", "R m P N S'", "--dam", dam]


def test_a_loaded_recording_is_listed_with_its_counts(desk: Desk) -> None:
    (row,) = desk.json("concerts")
    assert (row["recording"], row["raga"], row["talas"], row["sams_marked"]) == ("evening", "Desh", ["teental"], 7)


def test_the_grid_in_csv_has_a_row_per_matra(desk: Desk) -> None:
    rows = list(csv.DictReader(io.StringIO(desk.run("grid", "evening", "--csv").stdout)))
    assert list(rows[0]) == ["section", "cycle", "matra", "matra_s"]
    third = [float(r["matra_s"]) for r in rows if r["cycle"] == "3"]
    assert third == pytest.approx([at(3, m) for m in range(1, 17)], abs=1e-6)


def test_a_tihai_that_is_right_on_paper_and_in_time_lands(desk: Desk) -> None:
    verdict = desk.json("tihai", "evening", *tihai_from_sam(late_s=0.02))
    assert verdict["verdict"] == "lands"
    assert verdict["landing_dev_ms"] == pytest.approx(20, abs=0.5)
    assert verdict["paper"]["lands"] is True
    assert verdict["paper"]["sum"].startswith("5 + 1 + 5 + 1 + 5 = 17")
    assert verdict["paper"]["total"] == "17/1"
    (again,) = desk.json("verify")
    assert again == verdict


def test_a_tihai_played_late_is_late_though_the_paper_is_right(desk: Desk) -> None:
    verdict = desk.json("tihai", "evening", *tihai_from_sam(late_s=0.19))
    assert (verdict["paper"]["lands"], verdict["verdict"]) == (True, "late")


def test_verify_prints_the_sum_and_the_sentence(desk: Desk) -> None:
    desk.run("tihai", "evening", *tihai_from_sam())
    printed = " ".join(desk.run("verify", "evening").stdout.split())
    assert "lands" in printed
    assert "1 of 1" in printed


def test_paper_needs_no_archive(tmp_path: Path) -> None:
    desk = Desk(tmp_path / "nothing-here")
    answer = desk.json(
        "paper", "--tala", "teental", "--start", "1", "--palla", "Dha Ti Ta Ka Dha", "--dam", "1", "--rule", "within"
    )
    assert answer["lands"] is True
    assert (answer["landing_matra"], answer["shortfall"], answer["total"], answer["cycles"]) == (
        "1/1",
        "0/1",
        "17/1",
        1,
    )
    assert not desk.archive.exists()


def test_paper_that_misses_names_three_mends(tmp_path: Path) -> None:
    answer = Desk(tmp_path).json("paper", "--tala", "teental", "--start", "1", "--palla", "Dha Ti Ta Dha", "--dam", "1")
    assert answer["lands"] is False
    assert answer["shortfall"] == "3/1"
    assert sorted(mend["change"] for mend in answer["mends"]) == ["dam", "palla", "start"]


def test_phrases_are_counted_per_raga(desk: Desk) -> None:
    for start_s in (12, 20):
        result = desk.run(
            "phrase",
            "evening",
            "--from",
            str(start_s),
            "--to",
            f"0:{start_s + 2}",
            "--swaras",
            "R m P",
            "--role",
            "mukhra",
        )
        assert result.exit_code == 0, result.output
    (row,) = desk.json("phrases", "--raga", "Desh")
    assert (row["raga"], row["swaras"], row["role"], row["count"], row["performances"]) == (
        "Desh",
        "R m P",
        "mukhra",
        2,
        1,
    )
    assert 0 < row["share_of_time"] < 1


def test_marking_a_sam_moves_the_grid(desk: Desk) -> None:
    rows = desk.json("sam", "evening", f"{at(8, 1)}")
    assert rows[-1]["sam_s"] == pytest.approx(at(8, 1))


def test_an_unknown_tala_is_answered_with_the_nearest_names(desk: Desk) -> None:
    said = desk.refuses("paper", "--tala", "tintaal16", "--start", "1", "--palla", "Dha", "--dam", "0")
    assert "tintaal16" in said
    assert "teental" in said.lower()


def test_a_palla_that_does_not_parse_is_shown_with_a_caret(desk: Desk) -> None:
    said = desk.refuses("paper", "--tala", "teental", "--start", "1", "--palla", "R m X N", "--dam", "0")
    text, caret = said.rstrip("\n").splitlines()[-2:]
    assert text[caret.index("^")] == "X"


def test_sams_out_of_order_are_refused(desk: Desk) -> None:
    assert "order" in desk.refuses("sam", "evening", "34", "26")


def test_a_landing_before_the_third_palla_is_refused(desk: Desk) -> None:
    said = desk.refuses("tihai", "evening", "--starts", "18,21,24", "--landing", "23", "--palla", "R m P N S'")
    assert "third palla" in said


def test_an_unknown_recording_is_answered_with_the_nearest_name(desk: Desk) -> None:
    assert "evening" in desk.refuses("verify", "evenning")


def test_a_folder_that_is_something_else_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "holiday.txt").write_text("not an archive")
    said = Desk(tmp_path).refuses("concerts")
    assert str(tmp_path) in said
    assert sorted(p.name for p in tmp_path.iterdir()) == ["holiday.txt"]


@pytest.mark.parametrize(
    ("name", "content"), [("empty.wav", b""), ("letter.wav", b"Dear festival,\n"), ("letter.mp3", b"Dear festival,\n")]
)
def test_a_file_that_is_no_sound_is_refused_and_nothing_is_taken_in(tmp_path: Path, name: str, content: bytes) -> None:
    (tmp_path / name).write_bytes(content)
    desk = Desk(tmp_path / "archive")
    said = desk.refuses("ingest", str(tmp_path / name), "--raga", "Desh", "--tala", "teental")
    assert name in said
    assert not list(desk.archive.glob("recordings/*"))


def test_ingest_of_a_tala_that_does_not_exist_leaves_no_archive(tmp_path: Path) -> None:
    desk = Desk(tmp_path / "archive")
    (tmp_path / "a.wav").write_bytes(b"RIFF")
    assert "teental" in desk.refuses("ingest", str(tmp_path / "a.wav"), "--raga", "Desh", "--tala", "tental").lower()
    assert not desk.archive.exists()


def test_a_csv_with_a_bad_number_names_the_file_row_and_column(desk: Desk, tmp_path: Path) -> None:
    (tmp_path / "more.csv").write_text("section,cycle,sam_s\ngat,9,68\ngat,10,eighty\n")
    said = desk.refuses("load", "evening", "--sams", str(tmp_path / "more.csv"))
    assert all(word in said for word in ("more.csv", "sam_s", "eighty"))


def test_a_command_without_audio_imports_nothing_heavy() -> None:
    import subprocess
    import sys

    heavy = {"librosa", "pandas", "pyarrow", "dash", "scipy", "numba", "av", "soundfile"}
    code = "import layakosh, sys; print(*sorted(m for m in sys.modules if '.' not in m))"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    assert heavy.isdisjoint(loaded)
