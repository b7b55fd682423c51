"""Query by example from the command line."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner, Result

from annotate.archive import Archive
from layakosh import main
from tests.annotate.alike.conftest import OTHER
from tests.annotate.alike.conftest import archive as archive  # the fixture: a phrase in two recordings
from tests.annotate.desk import SLUG, at

PASSAGE = (SLUG, "--from", str(at(3, 5)), "--to", str(at(3, 10)), "--by", "melody")


def run(archive: Archive, *words: str) -> Result:
    return CliRunner().invoke(main, ["like", *words, "--archive", str(archive.path)], env={"COLUMNS": "200"})


def test_the_places_are_listed_with_avartan_likeness_and_transposition(archive: Archive) -> None:
    printed = run(archive, *PASSAGE, "--top", "3").stdout
    assert "avartan 7, matra 3 of Teental" in printed
    assert "higher" in printed
    assert "Looked through 2 recordings." in printed


def test_json_has_the_same_as_plain_values(archive: Archive) -> None:
    rows = json.loads(run(archive, *PASSAGE, "--top", "3", "--json").stdout)
    assert {row["recording"] for row in rows} == {SLUG, OTHER}
    again = next(row for row in rows if row["cycle"] == 7)
    assert again["start_s"] == pytest.approx(at(7, 3), abs=0.06)
    assert (again["matras_ratio"], again["pace"], again["moved"]) == ("1", 1.0, "")


def test_a_phrase_takes_the_place_of_a_passage(archive: Archive) -> None:
    rows = json.loads(run(archive, "--phrase", "m P N S' P", "--raga", "desh", "--within", SLUG, "--json").stdout)
    assert {row["cycle"] for row in rows[:3]} >= {3, 7}
    assert {row["recording"] for row in rows} == {SLUG}


@pytest.mark.parametrize(
    "words",
    [(), (SLUG,), (SLUG, "--from", "1"), (SLUG, "--from", "1", "--to", "2", "--phrase", "R m P"), ("--sa", "D3"),
     ("--phrase", "R m P", "--from", "1"), ("--phrase", "R m H"), (SLUG, "--from", "5", "--to", "5.01"),
     ("nowhere", "--from", "1", "--to", "3"), ("--phrase", "R m P", "--within", "nowhere")],
)  # fmt: skip
def test_what_cannot_be_looked_for_ends_with_a_message_and_exit_code_2(
    archive: Archive, words: tuple[str, ...]
) -> None:
    result = run(archive, *words)
    assert result.exit_code == 2
    assert "Traceback" not in result.output
    assert len(result.stderr) > 20
