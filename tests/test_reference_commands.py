"""Looking talas and ragas up from the command line, and holding a phrase against a raga."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from layakosh import main
from theory.catalogue import OWN
from theory.own import load_own

README = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, list(arguments))


def answer(*arguments: str) -> Any:
    result = run(*arguments, "--json")
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def refused(*arguments: str) -> str:
    result = run(*arguments)
    assert result.exit_code == 2, result.output
    assert "Traceback" not in result.output
    return result.stderr


def test_all_talas_and_ragas_are_listed() -> None:
    assert len(answer("talas")) == 25
    assert len(answer("ragas")) == 43
    assert "25 talas" in run("talas").stdout
    assert "43 ragas" in run("ragas").stdout


def test_a_tala_is_shown_with_its_theka_its_start_points_and_its_variants() -> None:
    printed = run("talas", "jhap taal").stdout
    assert "1 | Dhi Na | Dhi Dhi Na | Ti Na | Dhi Dhi Na |" in printed
    assert "tigun 3 1/3 matras, from matra 7 2/3 to end on sam" in printed
    ektal = answer("talas", "ektal")
    assert [variant["vibhags"] for variant in ektal["variants"]] == [[3, 3, 3, 3]]
    assert [each["start"] for each in ektal["layakari"]] == ["7/1", "9/1", "10/1"]
    assert answer("talas", "ektal/bengali")["marks"][2] == {"matra": 7, "kind": "khali", "label": "0"}


def test_a_theka_can_be_written_in_devanagari() -> None:
    assert "धी ना | धी धी ना | ती ना | धी धी ना" in run("talas", "jhaptal", "--script", "devanagari").stdout


def test_a_theka_that_is_not_transcribed_is_not_made_up() -> None:
    assert "The theka is not transcribed." in run("talas", "dobahar").stdout
    assert answer("talas", "dobahar")["theka"] is None


def test_a_raga_is_shown_with_its_rules_its_source_and_what_a_variant_changes() -> None:
    printed = run("ragas", "hamir").stdout
    assert "kept to: M only within P M P or M P D P" in printed
    assert "not straight: m G R" in printed
    printed = run("ragas", "kafi").stdout
    assert "kafi/pa-sa: vadi Pa, samvadi Sa\n  samvadi: S\n  source:" in printed
    assert "Schools differ" in printed
    assert answer("ragas", "desh")["descent_only"] == ["G", "D", "n"]


def test_notes_name_their_sources_by_title() -> None:
    assert "sangeetguru.in gives the 2nd prahar" in run("ragas", "bageshri").stdout


def test_an_unusual_swara_is_marked_at_its_place() -> None:
    printed = run("raga-check", "--raga", "bhimpalasi", "--swaras", "S R g m P D n").stdout.splitlines()
    assert printed[:2] == ["  S R g m P D n", "    ^       ^"]
    assert printed[2].startswith("R (note 2, matra 2 of the phrase): unusual in Bhimpalasi")
    assert "wrong" not in " ".join(printed)
    found = answer("raga-check", "--raga", "Bhimpalasi", "--swaras", "S R g m P D n")
    assert [(each["kind"], each["swara"], each["onset"]) for each in found["unusual"]] == [
        ("descent only", "R", "1/1"), ("descent only", "D", "5/1"),
    ]  # fmt: skip


def test_a_usual_phrase_is_said_to_be_so() -> None:
    assert run("raga-check", "--raga", "desh", "--swaras", "R m P n D P").stdout == "Nothing is unusual in Desh.\n"
    assert answer("raga-check", "--raga", "desh", "--swaras", "R m P n D P")["unusual"] == []


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("talas", "jhaptl"), "Did you mean Jhaptal"),
        (("talas", "ektal/x"), "There are bengali"),
        (("ragas", "Yamn"), "Did you mean Yaman"),
        (("raga-check", "--raga", "desh", "--swaras", "Dha Dhin"), "checked in swaras"),
        (("raga-check", "--raga", "desh", "--swaras", "S R x"), "Expected a swara"),
    ],
)
def test_bad_input_ends_with_a_message_that_helps(arguments: tuple[str, ...], said: str) -> None:
    assert said in refused(*arguments)


def test_the_readme_s_own_talas_and_ragas_are_accepted_and_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    section = README.partition("## Your own talas and ragas")[2].partition("\n## ")[0]
    example = "\n".join(line[4:] for line in re.findall(r"^    .*$", section, re.MULTILINE))
    path = tmp_path / "own.toml"
    path.write_text(example, encoding="utf-8")
    own = load_own(path)
    assert [tala.key for tala in own.talas] == ["nine", "teental/my-teacher"]
    monkeypatch.setenv(OWN, str(path))
    assert answer("talas", "nine")["matras"] == 9
    assert "teental/my-teacher" in run("talas", "teental").stdout
    assert answer("raga-check", "--raga", "evening", "--swaras", "m P d")["unusual"][0]["kind"] == "descent only"
    lands = answer("paper", "--tala", "nine", "--start", "1", "--palla", "Dha Ti Dha", "--dam", "1/2")
    assert lands["tala"] == "nine"


def test_a_wrong_file_of_one_s_own_is_told_with_row_and_field(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "own.toml").write_text("[[tala]]\nkey = 'x'\nname = 'X'\nmatras = 4\nvibhags = [3]\n")
    monkeypatch.setenv(OWN, str(tmp_path / "own.toml"))
    assert "own.toml, tala 'x': vibhags 3 = 3, but the tala has 4 matras" in refused("talas")
