"""Compositions from the command line: what is kept is not locked into the page."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path

import pytest
from click.testing import CliRunner

from annotate.archive import Archive
from annotate.compositions.composition import Composition
from annotate.compositions.shelf import Shelf
from layakosh import main


@pytest.fixture
def place(tmp_path: Path) -> Path:
    shelf = Shelf(Archive.create(tmp_path / "archive"))
    shelf.keep(
        Composition("Fives from khali", "teental", "Dha Ti Ta Ka Dha", start=Fraction(1), dam=Fraction(1)), who="asha"
    )
    shelf.keep(Composition("Elevens", "rupak", "Ti Dha"), who="")
    shelf.withdraw("elevens", seen=1, who="")
    return tmp_path / "archive"


def run(place: Path, *arguments: str) -> str:
    result = CliRunner().invoke(main, ["compositions", *arguments, "--archive", str(place)])
    assert result.exit_code == 0, result.output
    return result.stdout


def test_kept_compositions_are_listed_with_their_sum(place: Path) -> None:
    rows = json.loads(run(place, "--json"))
    assert [(row["composition"], row["paper"]["lands"]) for row in rows] == [("fives-from-khali", True)]
    assert "fives-from-khali" in run(place)
    assert [row["composition"] for row in json.loads(run(place, "--taken-out", "--json"))] == ["elevens"]


def test_one_is_shown_written_out_with_its_history(place: Path) -> None:
    said = run(place, "fives-from-khali")
    assert "5 + 1 + 5 + 1 + 5 = 17 = 16 + 1" in said
    assert "kept by asha" in said
    row = json.loads(run(place, "fives-from-khali", "--json"))
    assert row["written_out"] == "Dha Ti Ta Ka Dha _ Dha Ti Ta Ka Dha _ Dha Ti Ta Ka Dha"
    assert "(taken out)" in run(place, "elevens")


def test_an_unknown_key_is_told_with_the_nearest(place: Path) -> None:
    result = CliRunner().invoke(main, ["compositions", "fives-from-khal", "--archive", str(place)])
    assert result.exit_code == 2
    assert "Did you mean fives-from-khali?" in result.stderr


def test_of_an_archive_without_any_it_says_what_to_do(tmp_path: Path) -> None:
    Archive.create(tmp_path / "archive")
    assert "open Compose" in run(tmp_path / "archive")


def test_a_backup_brings_compositions_and_their_history_back(place: Path, tmp_path: Path) -> None:
    copy, again = tmp_path / "all.backup", tmp_path / "again"
    for arguments in (["backup", str(copy), "--archive", str(place)], ["restore", str(copy), "--archive", str(again)]):
        result = CliRunner().invoke(main, arguments)
        assert result.exit_code == 0, result.output
    assert run(again, "--json") == run(place, "--json")
    assert run(again, "--taken-out", "--json") == run(place, "--taken-out", "--json")
