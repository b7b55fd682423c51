"""The commands of statistics: tables, JSON, what a slip of the pen gets."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from annotate.archive import Archive
from annotate.records import PhraseRecord, Recording
from annotate.revisions import add
from commands.statistics import OF
from layakosh import main


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three years of Desh, a phrase more each year; one Bhupali; two people write."""
    archive = Archive.create(tmp_path_factory.mktemp("season") / "archive")
    for number in range(3):
        recording = Recording(f"y{number}", f"Year {number}", date(2010 + number, 1, 5), raga="desh", lead="sitar")
        phrases = [
            PhraseRecord(f"p{n}", 5.0 * n, 5.0 * n + 3, line, "mukhra", "Asha" if n % 2 else "Devkant")
            for n, line in enumerate(["R m P", "n D P", "m G R"] + ["R m P"] * number)
        ]
        archive.commit(recording.slug, [add(row) for row in (recording, *phrases)], "a", "")
    night = [Recording("night", "Night", raga="bhupali"), PhraseRecord("p1", 0.0, 4.0, "S R G P", "mukhra")]
    archive.commit("night", [add(row) for row in night], "a", "")
    return archive.path


def run(folder: Path, *words: str) -> Result:
    return CliRunner().invoke(main, [*words, "--archive", str(folder)])


def printed(folder: Path, *words: str) -> Any:
    result = run(folder, *words, "--json")
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def test_the_use_of_a_raga_is_printed_and_given_as_json(folder: Path) -> None:
    (first, *_) = printed(folder, "raga-use", "Desh")
    assert (first["swaras"], first["count"], first["performances"]) == ("R m P", 6, 3)
    assert "R m P" in run(folder, "raga-use", "Desh").output
    runs = {row["item"]: row for row in printed(folder, "raga-use", "Desh", "--of", "ngrams", "--length", "3")}
    assert (runs["R m P"]["count"], runs["R m P"]["in_aroha"], runs["R m P"]["unusual"]) == (6, True, False)


@pytest.mark.parametrize("of", OF)
@pytest.mark.parametrize("by", ["", "year", "instrument", "musician", "performance"])
def test_everything_is_counted_by_everything(folder: Path, of: str, by: str) -> None:
    words = ["raga-use", "desh", "--of", of, *(["--by", by] if by else [])]
    rows = printed(folder, *words)
    none = of in ("heard", "places") or by == "musician"  # no sound, no tala, nobody named
    assert bool(rows) == (not none or (of == "ngrams" and not by))
    assert run(folder, *words).exit_code == 0


def test_a_change_over_the_years_is_told_with_its_interval(folder: Path) -> None:
    (row, *_) = printed(folder, "raga-use", "Desh", "--change")
    assert row["item"] == "R m P"
    assert row["change_per_year"] > 0
    assert "only 3 performances" in run(folder, "raga-use", "Desh", "--change").output


def test_two_sides_are_compared_and_the_draws_are_told(folder: Path) -> None:
    told = printed(folder, "side-by-side", "y0", "y2", "--of", "endings", "--draws", "200", "--seed", "4")
    assert (told["drawn"], told["units_a"], told["units_b"], told["seed"], told["resamples"]) == (
        "phrases",
        3,
        5,
        4,
        200,
    )
    assert sum(row["difference"] for row in told["rows"]) == pytest.approx(0)
    shown = run(folder, "side-by-side", "y0", "y2", "--draws", "200").output
    assert "Drawn again: 3 and 5 phrases, 200 times, seed 20." in shown
    assert "Note: " in shown


def test_two_annotators_of_a_recording_or_two_files_are_compared(folder: Path, tmp_path: Path) -> None:
    told = printed(folder, "agreement", "y2", "--between", "asha", "devkant")
    assert (told["marks_a"], told["marks_b"], told["pairs"], told["kappa"]) == (2, 3, 0, None)
    (tmp_path / "a.tsv").write_text("0\t3\tmukhra\n5\t8\tmukhra\n")
    (tmp_path / "b.csv").write_text("start_s,end_s,label\n0.1,3,mukhra\n5.3,8.5,tan\n")
    both = printed(folder, "agreement", str(tmp_path / "a.tsv"), str(tmp_path / "b.csv"))
    assert (both["pairs"], both["start_off_ms"], both["labels_alike"]) == (2, 200, 0.5)
    shown = run(folder, "agreement", "y2", str(tmp_path / "b.csv"), "--within", "1").output
    assert "1 x 'mukhra' is 'tan' for b.csv" in shown
    assert "Note: only 2 things" in shown


def test_two_files_are_compared_without_an_archive(tmp_path: Path) -> None:
    (tmp_path / "a.tsv").write_text("0\t3\tmukhra\n")
    result = run(tmp_path / "none", "agreement", *[str(tmp_path / "a.tsv")] * 2)
    assert result.exit_code == 0, result.output


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["raga-use", "Deshh-kar-like"], "No raga is called"),
        (["raga-use", "bhupali", "--change"], "three dated performances"),
        (["raga-use", "desh", "--change", "--by", "year"], "leave --by out"),
        (["side-by-side", "y0", "nigth"], "Did you mean night"),
        (["side-by-side", "y0", "y0"], "two different"),
        (["agreement", "y0"], "Name one recording"),
        (["agreement", "y0", "y1", "--between", "a", "b"], "Name one recording"),
        (["agreement", "y0", "--between", "Asha", "Nobody"], "There are Asha, Devkant"),
        (["agreement", "y0", "gone.csv"], "gone.csv: The file cannot be opened"),
        (["agreement", "y0", "y1", "--within", "0"], "above 0"),
    ],
)
def test_a_slip_of_the_pen_ends_with_a_message_and_exit_code_2(folder: Path, words: list[str], says: str) -> None:
    result = run(folder, *words)
    assert result.exit_code == 2
    assert says in result.output
    assert "Traceback" not in result.output
