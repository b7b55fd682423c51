"""The commands that need no recording, as a musician uses them."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from layakosh import main

TEENTAL_FIVE = ["--palla", "Dha Ti Ta Ka Dha", "--dam", "1"]


def run(*arguments: str) -> str:
    result = CliRunner().invoke(main, arguments)
    assert result.exit_code == 0, result.output
    return result.stdout


def answer(*arguments: str):
    return json.loads(run(*arguments, "--json"))


def refused(*arguments: str) -> str:
    result = CliRunner().invoke(main, arguments)
    assert result.exit_code == 2, result.output
    assert "Traceback" not in result.output
    return result.stderr


def test_paper_names_the_kind_and_counts_by_the_other_rule() -> None:
    said = run("paper", "--tala", "teental", "--start", "1", *TEENTAL_FIVE)
    assert "Damdar (Courtney): a gap between the pallas." in said
    assert "4 + 2 + 4 + 2 + 4 = 16, then sam: 16 + 1 = 17" in said
    row = answer("paper", "--tala", "teental", "--start", "1", *TEENTAL_FIVE)
    assert [kind["kind"] for kind in row["kinds"]] == ["damdar", "damdar_half"]
    assert row["other_rule"]["rule"] == "after"


def test_paper_makes_a_chakradar_of_a_bol_and_tells_which_dhas_meet_sam() -> None:
    said = run("paper", "--tala", "teental", "--start", "1", "--bol", "Ti:12", "--palla", "Ti:4 Dha")
    assert "27 + 27 + 27 = 81 = 5 x 16 + 1" in said
    assert "Farmaishi chakradar" in said
    assert "Round 2: dha 1 of palla 2 meets the target (no. 5 of all)." in said


def test_paper_finds_the_tihai_in_a_passage_and_where_it_begins() -> None:
    text = "Na Na Dha Ti Dha Ge Dha Ti Dha Ge Dha Ti Dha"
    row = answer("paper", "--tala", "teental", "--start", "5", "--text", text)
    assert row["found"] == "Dha Ti Dha 3 times with a dam of 1 matra (Ge)"
    assert (row["start"], row["landing_matra"], row["lands"]) == ("7/1", "1/1", True)
    assert "from matra 7" in run("paper", "--tala", "teental", "--start", "5", "--text", text).splitlines()[0]


def test_paper_wants_one_of_palla_and_text() -> None:
    assert "Give either --palla, or --text" in refused("paper", "--tala", "teental", "--start", "1")
    assert "comes three times" in refused("paper", "--tala", "teental", "--start", "1", "--text", "Dha Ti Na")


def test_solve_prints_the_simplest_first_and_says_how_many_more() -> None:
    said = run("solve", "--tala", "teental", "--start", "1", "--most", "2")
    assert "5 + 1 + 5 + 1 + 5 = 17 = 16 + 1" in said
    assert "7 more; --most 9 prints them all." in said
    first = answer("solve", "--tala", "teental", "--start", "1", "--subdivision", "4")[0]
    assert (first["palla"], first["dam"], first["cycles"]) == ("5/1", "1/1", 1)


def test_solve_finds_start_and_dam_for_a_palla() -> None:
    rows = answer("solve", "--tala", "keherwa", "--palla", "Dha Ge", "--rule", "after")
    assert {("1/1", "1/1"), ("3/1", "0/1")} <= {(row["start"], row["dam"]) for row in rows}
    assert {row["start"] for row in answer("solve", "--tala", "keherwa", "--palla", "Dha Ge", "--start", "2")} == {
        "2/1"
    }


def test_solve_finds_chakradars_of_a_kind() -> None:
    rows = answer("solve", "--tala", "teental", "--chakradar", "farmaishi")
    assert ("12/1", "5/1", "0/1") in {(row["bol"], row["palla"], row["dam"]) for row in rows}
    assert {row["kind"] for row in rows} == {"farmaishi"}
    assert "between rounds" in run("solve", "--tala", "teental", "--chakradar", "any", "--cycles", "2")
    assert "counted within" in refused("solve", "--tala", "teental", "--chakradar", "any", "--rule", "after")


def test_solve_says_when_nothing_lands_and_what_to_try() -> None:
    said = run("solve", "--tala", "teental", "--start", "1", "--longest-palla", "1", "--longest-dam", "0")
    assert "Nothing lands within these limits" in said
    assert "outside Teental" in refused("solve", "--tala", "teental", "--start", "20")


def test_carry_ranks_the_choices_and_says_them_in_sentences() -> None:
    arguments = ["carry", *TEENTAL_FIVE, "--from-tala", "teental", "--to-tala", "jhaptal"]
    said = run(*arguments)
    assert "Jhaptal: Falls 4 matras short of sam" in said
    assert "  1. Begin on matra 5, 4 matras later." in said
    assert answer(*arguments)["choices"][0]["changes"] == ["start"]
    assert answer(*arguments, "--ratio", "2")["choices"][0]["palla"] == "5/2"


def test_frets_on_one_string() -> None:
    row = answer("frets", "--tuning", "G,D,A,E", "--string", "2", "--sa-fret", "5", "--swaras", "S R g m P n S'")
    assert row["sa"] == "G4"
    assert [place["fret"] for place in row["places"]] == [5, 7, 8, 10, 12, 15, 17]


def test_frets_spread_over_the_strings_but_not_the_drones() -> None:
    arguments = ["frets", "--tuning", "G,D,A,E", "--sa", "D4", "--swaras", "S G P S' S''"]
    row = answer(*arguments, "--drones", "4", "--bend", "2")
    assert row["movement"] > 0
    assert {place["string"] for place in row["places"]} <= {1, 2, 3}
    assert "The hand moves" in run(*arguments)


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        (["--sa-fret", "5", "--swaras", "Dha Ti"], "bols or silence"),
        (["--sa-fret", "5", "--sa", "D4", "--swaras", "S"], "either --sa-fret, or --sa"),
        (["--swaras", "S"], "either --sa-fret, or --sa"),
        (["--sa-fret", "50", "--swaras", "S"], "There is no fret 50"),
        (["--sa-fret", "5", "--string", "9", "--swaras", "S"], "There is no string 9"),
        (["--sa-fret", "5", "--string", "0", "--swaras", "S"], "There is no string 0"),
    ],
)
def test_frets_that_are_not_there_are_refused_with_the_reason(arguments: list[str], why: str) -> None:
    assert why in refused("frets", "--tuning", "G,D,A,E", *arguments)
