"""The commands that search: options, JSON, what a slip of the pen gets."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from annotate.revisions import add
from layakosh import main
from tests.annotate.desk import SLUG, at, make_archive, phrase, tihai


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    archive = make_archive(tmp_path)
    rows = [tihai("t01"), tihai("t02", cycle=4, palla=""), phrase("p01", at(2, 1), at(2, 5), "R m P")]
    archive.commit(SLUG, [add(row) for row in rows], "asha", "")
    return archive.path


def run(folder: Path, *words: str) -> Result:
    return CliRunner().invoke(main, [*words, "--archive", str(folder)])


def printed(folder: Path, *words: str) -> list[dict[str, Any]]:
    result = run(folder, *words, "--json")
    assert result.exit_code == 0, result.output
    return list(json.loads(result.stdout))


def test_tihais_are_found_by_everything_at_once_and_printed_as_plain_json(folder: Path) -> None:
    words = ["--tala", "tintal", "--start", "1", "--palla", "9/2..5", "--dam", "1", "--landing", "lands"]
    words += ["--on-paper", "lands", "--rule", "within", "--kind", "damdar", "--laya", "110..130", "--noted-by", ""]
    (row,) = printed(folder, "find-tihais", *words)
    assert (row["tihai"], row["start"], row["palla_length"], row["first_palla_s"]) == ("t01", "1/1", "5/1", 18.0)
    empty = printed(folder, "find-tihais", "--most", "5")[1]
    assert (empty["palla_length"], empty["paper_lands"]) == (None, None)  # never NaN


def test_what_is_found_is_shown_as_a_table(folder: Path) -> None:
    assert "t01" in run(folder, "find-tihais", "--raga", "Desh").output
    assert "palla 5, dam 1, counted within: S R G m P" in run(folder, "find-tihais").output
    assert "1 of 2 shown" in run(folder, "find-tihais", "--most", "1").output
    assert "No tihai is like that." in run(folder, "find-tihais", "--palla", "17").output
    assert "p01" in run(folder, "find-phrases", "R * P").output
    assert "No phrase is like that." in run(folder, "find-phrases", "S").output
    assert "No other tihai" in run(folder, "like-tihai", SLUG, "t01").output


def test_phrases_are_found_by_contour(folder: Path) -> None:
    assert printed(folder, "find-phrases", "--like", "m P D", "--by", "direction")[0]["phrase"] == "p01"
    assert printed(folder, "find-phrases", "--contour", "+2 +1", "--matra", "1")[0]["steps"] == "+2 +1"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["find-tihais", "--tala", "tental"], "Did you mean"),
        (["find-tihais", "--palla", "6..4"], "runs backwards"),
        (["find-phrases", "R x P"], "Expected swaras"),
        (["find-phrases", "--contour", "upwards"], "Expected up"),
        (["like-tihai", SLUG, "t02"], "no palla written"),
        (["like-tihai", "evenin", "t01"], "Did you mean evening"),
    ],
)
def test_a_slip_of_the_pen_ends_with_a_message_and_exit_code_2(folder: Path, words: list[str], says: str) -> None:
    result = run(folder, *words)
    assert result.exit_code == 2
    assert says in result.output
    assert "Traceback" not in result.output
