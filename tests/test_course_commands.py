"""Courses from the command line: made, filled, read, changed by two, undone, exported and restored."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from annotate.courses.notes import to_html
from annotate.revisions import add, withdraw
from layakosh import main
from tests.annotate.desk import SLUG, make_archive, phrase, tihai

KEY = "landing-on-sam"


@pytest.fixture
def place(tmp_path: Path) -> Path:
    archive = make_archive(tmp_path)
    archive.commit(SLUG, [add(tihai()), add(phrase())], "asha", "written down")
    return archive.path


def tried(place: Path, *arguments: str, text: str | None = None) -> Result:
    return CliRunner().invoke(main, [*arguments, "--archive", str(place)], input=text)


def run(place: Path, *arguments: str, text: str | None = None) -> str:
    result = tried(place, *arguments, text=text)
    assert result.exit_code == 0, result.output
    return result.stdout


@pytest.fixture
def made(place: Path) -> Path:
    """An archive with a course of two chapters."""
    run(place, "course", "--new", "Landing on sam", "--for", "second year", "--who", "asha")
    run(place, "chapter", KEY, "--new", "The palla", "--add", f"{SLUG}/t01", "--add", "raga:Desh", "--who", "asha")
    run(
        place, "chapter", KEY, "--new", "The dam", "--place", "1", "--notes", "-", "--who", "asha", text="# Clap\r\nnow"
    )
    return place


def test_a_course_is_made_and_filled_and_read(made: Path) -> None:
    told = json.loads(run(made, "course", KEY, "--json"))
    assert [each["title"] for each in told["chapters"]] == ["The dam", "The palla"]
    assert told["chapters"][0]["notes"] == "# Clap\nnow"
    assert [each["piece"] for each in told["chapters"][1]["pieces"]] == [f"{SLUG}/t01", "raga:desh"]
    assert told["chapters"][1]["pieces"][0]["notation"] == "S R G m P"
    shown = run(made, "course", KEY)
    assert "For: second year" in shown
    assert "2. The palla" in shown
    assert "Tihai t01 at 0:18 of Evening: S R G m P" in shown
    assert "# Clap\nnow" in run(made, "chapter", KEY, "1")
    assert [row["course"] for row in json.loads(run(made, "course", "--json"))] == [KEY]
    assert "Landing on sam" in run(made, "course")


def test_pieces_are_put_in_moved_and_dropped_and_chapters_moved_and_removed(made: Path) -> None:
    run(made, "chapter", KEY, "2", "--add", f"{SLUG}/p01", "--at", "1", "--drop", "raga:desh")
    run(made, "chapter", KEY, "2", "--add", f"{SLUG}/t01", "--at", "1", "--title", "First", "--place", "1")
    told = json.loads(run(made, "chapter", KEY, "1", "--json"))
    assert (told["title"], told["pieces"]) == ("First", [f"{SLUG}/t01", f"{SLUG}/p01"])
    run(made, "chapter", KEY, "2", "--remove")
    assert [each["title"] for each in json.loads(run(made, "course", KEY, "--json"))["chapters"]] == ["First"]
    assert "is so already" in run(made, "chapter", KEY, "1", "--title", "First")


def test_a_piece_that_is_withdrawn_later_is_told(made: Path) -> None:
    from annotate.archive import Archive

    Archive.open(made).commit(SLUG, [withdraw("tihais", "t01")], "asha", "wrong")
    assert "Not there now. It was withdrawn." in run(made, "course", KEY)
    told = json.loads(run(made, "course", KEY, "--json"))["chapters"][1]["pieces"][0]
    assert told["missing"].startswith("It was withdrawn")
    assert tried(made, "chapter", KEY, "1", "--add", f"{SLUG}/t01").exit_code == 2


def test_what_two_people_change_is_put_together_or_shown_until_one_is_chosen(made: Path) -> None:
    run(made, "course", KEY, "--licence", "CC0", "--who", "bina")
    said = run(made, "chapter", KEY, "1", "--title", "Gap", "--seen", "3", "--who", "asha")
    assert "Put together with what somebody else changed meanwhile: licence: - → CC0." in said
    refused = tried(made, "course", KEY, "--licence", "CC BY 4.0", "--seen", "3", "--who", "asha")
    assert refused.exit_code == 2
    assert "--seen 3 and --keep mine" in refused.stderr
    run(made, "course", KEY, "--licence", "CC BY 4.0", "--seen", "3", "--keep", "mine", "--who", "asha")
    assert json.loads(run(made, "course", KEY, "--json"))["licence"] == "CC BY 4.0"


def test_edits_are_undone_and_redone_and_the_history_tells_them(made: Path) -> None:
    assert "Took back revision 3" in run(made, "course", KEY, "--undo", "--who", "asha")
    assert len(json.loads(run(made, "course", KEY, "--json"))["chapters"]) == 1
    assert json.loads(run(made, "course", KEY, "--redo", "--who", "asha", "--json"))["kind"] == "redo"
    assert "Took back revision 2" in run(made, "course", KEY, "--undo", "--revision", "2", "--who", "bina")
    rows = json.loads(run(made, "course", KEY, "--history", "--json"))
    assert [(row["revision"], row["taken_back_by"]) for row in rows][-2:] == [(2, 6), (1, None)]
    assert "chapter 'The palla' added" in run(made, "course", KEY, "--history")
    nothing = tried(made, "course", KEY, "--undo", "--who", "chitra")
    assert (nothing.exit_code, "Nothing is left to undo" in nothing.stderr) == (2, True)


def test_a_course_is_taken_out_and_put_back(made: Path) -> None:
    run(made, "course", KEY, "--take-out")
    assert json.loads(run(made, "course", "--json")) == []
    assert [row["course"] for row in json.loads(run(made, "course", "--taken-out", "--json"))] == [KEY]
    assert tried(made, "course", KEY, "--take-out").exit_code == 2
    run(made, "course", KEY, "--put-back")
    assert "The dam" in run(made, "course", KEY)


def test_all_of_it_is_written_as_markdown_which_is_read_back_as_such(made: Path, tmp_path: Path) -> None:
    file = tmp_path / "course.md"
    run(made, "course", KEY, "--markdown", str(file))
    text = file.read_text(encoding="utf-8")
    assert text == run(made, "course", KEY, "--markdown", "-")
    markup = to_html(text, beneath=0)
    assert "<h1>Landing on sam</h1>" in markup
    assert "<h2>1. The dam</h2>\n<h3>Clap</h3>\n<p>now</p>" in markup
    assert "<code>S R G m P</code>" in markup
    assert tried(made, "course", KEY, "--markdown", str(file)).exit_code == 2


def test_a_backup_brings_courses_and_their_history_back(made: Path, tmp_path: Path) -> None:
    copy, again = tmp_path / "all.zip", tmp_path / "again"
    run(made, "backup", str(copy))
    run(again, "restore", str(copy))
    assert run(again, "course", KEY, "--history", "--json") == run(made, "course", KEY, "--history", "--json")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["course", "nothing"], "No course is kept as 'nothing'"),
        (["course", KEY, "--new", "x"], "goes without the name"),
        (["course", "--undo"], "Name the course"),
        (["course", "--title", "x"], "Name the course"),
        (["course", KEY, "--undo", "--redo"], "do not go together"),
        (["course", KEY, "--revision", "2"], "go with --undo"),
        (["course", KEY, "--undo", "--title", "x"], "goes without --title"),
        (["course", "--new", "  "], "no name"),
        (["course", KEY, "--title", "x", "--seen", "9"], "no revision 9"),
        (["chapter", KEY], "Give the number of a chapter"),
        (["chapter", KEY, "9"], "has no chapter 9"),
        (["chapter", KEY, "1", "--remove", "--title", "x"], "--remove goes alone"),
        (["chapter", KEY, "1", "--at", "1"], "give it with --add"),
        (["chapter", KEY, "1", "--add", f"{SLUG}/t09"], "t09"),
        (["chapter", KEY, "1", "--drop", f"{SLUG}/t01"], "is not in this chapter"),
        (["chapter", KEY, "1", "--notes", "no/such/file.md"], "No such file"),
    ],
)
def test_what_is_asked_wrongly_is_told_and_nothing_written(made: Path, arguments: list[str], said: str) -> None:
    before = run(made, "course", KEY, "--history", "--json")
    result = tried(made, *arguments)
    assert result.exit_code == 2
    assert said in result.stderr
    assert run(made, "course", KEY, "--history", "--json") == before


def test_notes_that_are_no_text_or_too_long_are_refused(made: Path, tmp_path: Path) -> None:
    file = tmp_path / "notes.md"
    for content, said in ((b"\xff\xfe", "no text in UTF-8 (byte 0)"), (b"a" * 80_001, "too long"), (b"a\0", "U+0000")):
        file.write_bytes(content)
        result = tried(made, "chapter", KEY, "1", "--notes", str(file))
        assert (result.exit_code, said in result.stderr) == (2, True), result.output
