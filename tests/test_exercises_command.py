"""Exercises as a teacher gets them from the command line."""

from __future__ import annotations

import re
import shlex
from fractions import Fraction
from pathlib import Path

import pytest

from annotate.revisions import add
from tests.annotate.desk import SLUG, make_archive, tihai
from tests.test_command_line import Desk


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    folder = tmp_path_factory.mktemp("exercises")
    archive = make_archive(folder)
    rows = [tihai("t01"), tihai("t02", cycle=4, palla="R m P", dam=Fraction(0), start=Fraction(9))]
    archive.commit(SLUG, [add(row) for row in rows], "test", "played")
    return Desk(folder / "archive")


def test_in_the_terminal_the_answers_stand_below_the_questions_with_the_seed(desk: Desk) -> None:
    printed = desk.run("exercises", "evening/t01", "--kind", "start", "--number", "1", "--seed", "9").stdout
    assert printed.startswith("Exercises in Teental, seed 9")
    questions, _, answers = printed.partition("\nAnswers\n")
    assert "On which matra must it begin" in questions
    assert "t01 of Evening" in questions
    answers, _, to_play = answers.partition("\nTo sing or play, in this order\n")
    assert " ".join(answers.split()) == "1. sam (matra 1) 5 + 1 + 5 + 1 + 5 = 17 = 16 + 1"
    assert "S R G m P" in to_play


def test_the_command_on_the_sheet_makes_the_same_sheet_again(desk: Desk, tmp_path: Path) -> None:
    first, second = tmp_path / "first.html", tmp_path / "second.html"
    told = desk.run(
        "exercises", "evening/t01,t02", str(first), "--kind", "start", "--kind", "dam", "--seed", "5", "--number", "4"
    )
    assert told.exit_code == 0, told.output
    again = re.search(r"<code>layakosh (.+?)</code>", first.read_text(encoding="utf-8"))
    assert again
    command, *rest = shlex.split(again[1])
    assert desk.run(command, *rest, str(second)).exit_code == 0
    assert second.read_text(encoding="utf-8") == first.read_text(encoding="utf-8")


def test_made_up_exercises_need_no_archive(tmp_path: Path) -> None:
    nowhere = Desk(tmp_path / "none")
    told = nowhere.json("exercises", "--made-up", "--tala", "rupak", "--rule", "after", "--difficulty", "3")
    assert isinstance(told, dict)
    assert {each["origin"] for each in told["questions"]} == {"made up"}
    assert {each["given"]["Tala"] for each in told["questions"]} == {"Rupak, 3+2+2 = 7 matras"}
    assert told["wishes"] == {"tala": "rupak", "rule": "after", "level": 3}
    assert not (tmp_path / "none").exists()


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["evening/t09"], "has no tihai or phrase 't09'"),
        (["evening"], "neither RECORDING/ROW nor a file"),
        (["--tala", "teentl"], "Did you mean Teental"),
        (["--target", "40", "--made-up"], "outside Teental"),
        (["morning/t01"], "morning"),
    ],
)
def test_what_cannot_be_had_is_told_in_a_sentence(desk: Desk, words: list[str], message: str) -> None:
    assert message in " ".join(desk.refuses("exercises", *words).split())
