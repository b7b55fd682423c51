"""The command line for practice sheets: the file it writes, and what it refuses."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from annotate.archive import Archive
from layakosh import main
from tests.annotate.desk import make_archive
from tests.annotate.practice.sheets.pieces_made import with_pieces


@pytest.fixture(scope="module")
def archive(tmp_path_factory: pytest.TempPathFactory) -> Archive:
    return with_pieces(make_archive(tmp_path_factory.mktemp("command")))


def run(archive: Archive, *words: str) -> Result:
    return CliRunner().invoke(main, ["sheet", *words, "--archive", str(archive.path)])


def test_a_sheet_is_written_as_html_or_pdf_by_the_files_ending(archive: Archive, tmp_path: Path) -> None:
    html, pdf = tmp_path / "a.html", tmp_path / "a.PDF"
    done = run(archive, "evening/t01,p01", str(html), "--tuning", "G,D,A,E", "--sa", "D4", "--script", "devanagari")
    assert done.exit_code == 0, done.output
    assert done.output == f"{html}: Tihai t01 of Evening; Mukhra p01 of Evening.\n"
    assert html.read_text("utf-8").startswith("<!DOCTYPE html>")
    done = run(archive, "--raga", "desh", str(pdf), "--json")
    assert json.loads(done.output) == {"file": str(pdf), "holds": ["raga desh"]}
    assert pdf.read_bytes()[:5] == b"%PDF-"


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["evening/t01", "{to}/a.txt"], "ends in .html or .pdf"),
        (["{to}/a.html"], "A sheet of what?"),
        (["evening/t09", "{to}/a.html"], "has no tihai or phrase 't09'. It has t02"),
        (["evening/t01", "{to}/a.html", "--sa", "D4"], "go with --tuning"),
        (["evening/t01", "{to}/a.html", "--tuning", "G,D"], "Say where Sa is"),
        (["evening/t01", "{to}/a.html", "--tuning", "G,D,A,E", "--sa", "C9"], "evening/t01: S (C9) lies on none"),
        (["--raga", "nothing", "{to}/a.html"], "No raga is called 'nothing'"),
        (["evening/t01", "{to}/nowhere/a.html"], "cannot be written"),
    ],
)
def test_what_cannot_be_is_told_and_nothing_is_written(
    archive: Archive, tmp_path: Path, words: list[str], told: str
) -> None:
    done = run(archive, *(word.format(to=tmp_path) for word in words))
    assert done.exit_code == 2
    assert told in done.output
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_is_there_is_left_as_it_is(archive: Archive, tmp_path: Path) -> None:
    there = tmp_path / "a.html"
    there.write_text("mine")
    done = run(archive, "evening/t01", str(there))
    assert done.exit_code == 2
    assert "exists and was left as it is" in done.output
    assert there.read_text() == "mine"
