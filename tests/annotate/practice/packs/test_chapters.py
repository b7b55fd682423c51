"""A pack of a course: chapters with their notes, pieces where they come first, what is not there told."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner
from lxml import html

from annotate.archive import Archive
from annotate.courses.course import Chapter, Course
from annotate.courses.shelf import Courses
from annotate.practice.packs.chapters import of_course
from annotate.practice.packs.making import make_pack
from annotate.practice.packs.wishes import PackWishes
from annotate.revisions import change
from layakosh import main
from tests.dashboard.conftest import SLUG

NOTES = "# Sing\n\n[far](https://a.example) [near](/tihais) <i>x</i>"
EXERCISES = "exercises:tala=rupak,level=2,number=3"
COURSE = Course(
    "Rupak <1>",
    licence="CC-BY-4.0",
    chapters=(
        Chapter("00000001", "First", NOTES, (f"{SLUG}/t02", "raga:desh", EXERCISES)),
        Chapter("00000002", "Then", "", (f"{SLUG}/p01", f"{SLUG}/t02", f"{SLUG}/t77")),
    ),
)


def test_the_chapters_are_headings_and_each_piece_stands_where_it_comes_first(
    concert: Archive, few: PackWishes, tmp_path: Path
) -> None:
    held = of_course(concert, COURSE)
    assert [each.address for each in held.pieces] == [f"{SLUG}/t02", f"{SLUG}/p01"]
    assert held.lacks == (f"{SLUG}/t77 of 'Then' is left out: '{SLUG}' has no such tihai or phrase.",)
    made = make_pack(concert, held.pieces, replace(few, chapters=held.chapters), tmp_path / "pack", workers=1)
    page = html.parse(made.place / "index.html").getroot()
    first, then = page.xpath("//section[@class='chapter']")
    assert [each.text_content() for each in page.xpath("//section[@class='chapter']/h2")] == ["1 First", "2 Then"]
    assert [each.text_content() for each in first.xpath(".//article/h3")] == ["Tihai t02 of Trial in rupak"]
    assert [each.text_content() for each in then.xpath(".//article/h3")] == ["Alap p01 of Trial in rupak"]
    assert first.xpath("string(.//ul[@class='also'])").split()[:2] == ["Raga", "Desh"]
    assert then.xpath(".//ul[@class='also']//a/@href") == [f"#{first.xpath('.//article/@id')[0]}"]
    assert [each.text_content() for each in first.xpath(".//div[@class='notes']/*")] == ["Sing", "far near <i>x</i>"]
    assert first.xpath(".//div[@class='notes']//a/@href") == ["https://a.example"]
    (printed,) = first.xpath(".//ul[@class='also']//a[starts-with(@href, 'sheets/')]/@href")
    assert "Rupak" in (made.place / printed).read_text("utf-8")
    ids = page.xpath("//@id")
    assert len(ids) == len(set(ids))
    assert {f"#{each}" for each in ids} >= set(page.xpath("//nav//a/@href"))
    listing = json.loads((made.place / "pack.json").read_text("utf-8"))
    assert listing["chapters"] == [
        {"title": "First", "pieces": [f"{SLUG}/t02"], "exercises": [printed]},
        {"title": "Then", "pieces": [f"{SLUG}/p01", f"{SLUG}/t02"], "exercises": []},
    ]
    assert printed in listing["files"]


@pytest.fixture
def place(concert: Archive, tmp_path: Path) -> Path:
    """An archive with the course in it, in which nothing can be practised of one tihai any more."""
    own = Path(shutil.copytree(concert.path, tmp_path / "own"))
    archive = Archive.open(own)
    Courses(archive).keep(COURSE, who="")
    archive.commit(SLUG, [change(replace(archive.state(SLUG).tihai("t02"), palla=""))], "asha", "")
    return own


def test_a_pack_of_a_course_has_its_licence_and_tells_what_it_leaves_out(place: Path, tmp_path: Path) -> None:
    asked = ["pack", "Rupak", "--to", str(tmp_path), "--speeds", "none", "--notation-speeds", "none", "--no-pdf"]
    asked += ["--workers", "1", "--archive", str(place)]
    result = CliRunner().invoke(main, [*asked, "--course", "rupak-1", "--json"])
    assert result.exit_code == 0, result.output
    told = json.loads(result.stdout)
    assert (told["pieces"], told["licence"]) == ([f"{SLUG}/p01"], "CC-BY-4.0")
    assert [each.partition(" is left out")[0] for each in told["lacks"]] == [
        f"{SLUG}/t02 of 'First'", f"{SLUG}/t02 of 'Then'", f"{SLUG}/t77 of 'Then'",
    ]  # fmt: skip
    wrong = CliRunner().invoke(main, [*asked, "--course", "rupak-1", "--tihais", f"{SLUG}/t01"])
    assert (wrong.exit_code, "goes without --tihais" in wrong.stderr) == (2, True)
