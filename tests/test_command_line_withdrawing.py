"""Withdrawing on the command line: a wrong recording taken out, brought back, removed for good when that is meant."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from annotate.archive import Archive
from layakosh import main
from tests.annotate.desk import SLUG, make_archive


@pytest.fixture
def archive(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Archive:
    archive = make_archive(tmp_path)
    monkeypatch.setenv("LAYAKOSH_ARCHIVE", str(archive.path))
    monkeypatch.setenv("LAYAKOSH_WHO", "asha")
    return archive


def run(*told: str, typed: str = "") -> Result:
    said = CliRunner().invoke(main, told, input=typed)
    assert "Traceback" not in said.output
    return said


def test_a_recording_is_taken_out_listed_and_brought_back(archive: Archive) -> None:
    said = run("withdraw", SLUG)
    assert said.exit_code == 0
    assert said.output.endswith("nothing of it is lost. To have it back: layakosh bring-back evening\n")
    assert "Withdrawn, see layakosh bring-back: evening" in run("concerts").output
    assert run("verify", SLUG).exit_code == 2
    assert "withdrawn by asha" in run("grid", SLUG).output
    listed = run("bring-back").output
    assert listed.startswith("evening\n  Evening: withdrawn by asha (20")
    assert "11 sams" in listed
    (told,) = json.loads(run("bring-back", "--json").output)
    assert (told["recording"], told["who"], told["rows"]["sams"]) == (SLUG, "asha", 11)
    assert "recording withdrawn" in run("history", SLUG).output
    assert "is back, with its annotations and its history" in run("bring-back", SLUG).output
    assert run("bring-back").output == "No recording is withdrawn.\n"
    assert archive.slugs() == [SLUG]
    assert run("bring-back", SLUG).exit_code == 2


def test_a_final_removal_asks_for_the_name_and_anything_else_removes_nothing(archive: Archive) -> None:
    refused = run("remove", SLUG, "--yes")
    assert refused.exit_code == 2
    assert "Withdraw it first, which loses nothing: layakosh withdraw evening" in refused.output
    run("withdraw", SLUG)
    for typed in ("yes\n", "\n", "", "evenin\n"):
        assert run("remove", SLUG, typed=typed).exit_code != 0
        assert (archive.path / "recordings" / SLUG / "revisions" / "00000002.parquet").exists()
    said = run("remove", SLUG, typed="evening\n")
    assert said.exit_code == 0
    assert "11 sams will be gone for good" in said.output
    assert "are free again" in said.output
    assert not (archive.path / "recordings" / SLUG).exists()
    assert "no recording 'evening'" in run("remove", SLUG, "--yes").output


def test_a_script_removes_with_yes_and_a_removal_broken_off_is_finished(archive: Archive) -> None:
    run("withdraw", SLUG)
    (archive.path / "removing").mkdir()
    (archive.path / "removing" / SLUG).write_text("{}")
    (archive.path / "recordings" / SLUG / "revisions" / "00000001.parquet").unlink()
    assert "removal not finished" in run("check").output
    assert json.loads(run("remove", SLUG, "--yes", "--json").output)["bytes"] > 1000
    assert run("check").output.strip() == "The archive is sound."
