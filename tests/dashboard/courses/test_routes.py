"""Courses over HTTP: read, edited together with others or refused with both versions, undone; readers only read."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from flask.testing import FlaskClient

from annotate.archive import Archive
from annotate.courses import editing
from annotate.courses.shelf import Courses
from annotate.revisions import withdraw
from dashboard.access.at_hand import Role
from dashboard.access.people import People
from dashboard.app import make_app
from tests.dashboard.conftest import SLUG
from tests.dashboard.courses.conftest import COURSE, FIRST, KEY, SECOND

HERE = "http://127.0.0.1"
FROM_OUR_PAGE = {"Sec-Fetch-Site": "same-origin", "Origin": HERE}


@pytest.fixture
def client(course_place: Path) -> FlaskClient:
    made: FlaskClient = make_app(course_place).server.test_client()
    return made


def post(client: FlaskClient, address: str, **told: Any) -> tuple[int, dict[str, Any]]:
    answer = client.post(address, base_url=HERE, json=told, headers=FROM_OUR_PAGE)
    return answer.status_code, answer.get_json()


def edit(client: FlaskClient, do: str, seen: int = 1, **told: Any) -> tuple[int, dict[str, Any]]:
    return post(client, f"/course/{KEY}", do=do, seen=seen, **told)


def now(place: Path) -> Any:
    return Courses(Archive.open(place)).get(KEY)


def test_a_course_is_made_edited_and_read(course_place: Path, client: FlaskClient) -> None:
    assert post(client, "/course", title="First ragas", for_whom="beginners") == (200, {"to": "/courses/first-ragas"})
    status, told = edit(
        client, "chapter", chapter=FIRST, title="Palla", notes="*new*\r\n", pieces=["raga:desh", f"{SLUG}/t02"]
    )
    assert (status, told["said"]) == (200, "Saved.")
    first = now(course_place).content.chapters[0]
    assert (first.title, first.notes, first.pieces) == ("Palla", "*new*", ("raga:desh", f"{SLUG}/t02"))
    assert "<em>new</em>" in told["course"]
    assert edit(client, "move", 2, chapter=SECOND, place=1)[0] == 200
    added = edit(client, "add", 3, title="More")[1]["chapter"]
    assert [each.key for each in now(course_place).content.chapters] == [SECOND, FIRST, added]
    assert edit(client, "remove", 4, chapter=FIRST)[1]["said"] == "Saved."
    assert edit(client, "course", 5, title="Sam", for_whom="", licence="CC0")[0] == 200
    assert now(course_place).content.title == "Sam"
    assert edit(client, "course", 6, title="Sam", for_whom="", licence="CC0")[1]["said"] == "Nothing was changed."


def test_what_another_changed_meanwhile_is_kept_or_shown_beside(course_place: Path, client: FlaskClient) -> None:
    courses = Courses(Archive.open(course_place))
    courses.edit(KEY, replace(editing.with_changed(COURSE, FIRST, notes="theirs"), licence="CC0"), seen=1, who="Bela")
    form = {"chapter": FIRST, "title": "The palla", "notes": "mine", "pieces": list(COURSE.chapters[0].pieces)}
    status, told = edit(client, "chapter", **form)
    assert status == 409
    (row,) = told["conflict"]["rows"]
    assert told["conflict"]["who"] == "Bela"
    assert (row["label"], row["theirs"], row["mine"]) == ("notes of 'The palla'", "theirs", "mine")
    assert edit(client, "chapter", keep="theirs", **form)[1]["said"] == "Theirs is kept; nothing was left to write."
    status, told = edit(client, "chapter", **{**form, "title": "Palla", "notes": COURSE.chapters[0].notes})
    kept = "What somebody else changed meanwhile is kept too: licence: CC BY 4.0 → CC0; notes of 'Palla' changed."
    assert (status, told["said"]) == (200, f"Saved. {kept}")
    assert edit(client, "chapter", keep="mine", **form)[0] == 200
    assert now(course_place).content.chapters[0].notes == "mine"


def test_edits_are_undone_and_redone_and_the_course_taken_out_and_put_back(
    course_place: Path, client: FlaskClient
) -> None:
    edit(client, "add", title="More")
    assert post(client, f"/course/{KEY}/undo")[1]["said"] == "Undone: chapter 'More' added."
    assert now(course_place).content == COURSE
    status, told = post(client, f"/course/{KEY}/undo")
    assert (status, "Nothing is left to undo" in told["error"]) == (409, True)
    assert post(client, f"/course/{KEY}/redo")[1]["said"] == "Brought back: chapter 'More' added."
    assert post(client, f"/course/{KEY}/take-out")[1]["to"] == "/courses"
    assert "Taken out of the list" in client.get(f"/course/{KEY}", base_url=HERE).get_json()["course"]
    assert edit(client, "add", 5, title="x")[0] == 422
    assert post(client, f"/course/{KEY}/put-back")[1]["to"] == f"/courses/{KEY}"


def test_pieces_are_found_and_those_that_are_gone_are_told_and_stay(course_place: Path, client: FlaskClient) -> None:
    found = client.get("/course-pieces?find=rupak+t02&piece=raga:desh", base_url=HERE).get_json()["found"]
    assert found.index("Raga Desh") < found.index(f'data-add="{SLUG}/t02"')
    pasted = client.get(
        "/course-pieces?find=" + quote("http://x/practice?tala=rupak&level=2"), base_url=HERE
    ).get_json()
    assert 'data-add="exercises:tala=rupak,level=2"' in pasted["found"]
    assert "Nothing is found for zzz" in client.get("/course-pieces?find=zzz", base_url=HERE).get_json()["found"]
    archive = Archive.open(course_place)
    archive.commit(SLUG, [withdraw("tihais", "t01")], "Bela", "wrong")
    page = client.get(f"/course/{KEY}", base_url=HERE).get_json()["course"]
    assert "Not there now. It was withdrawn." in page
    form = {"chapter": FIRST, "title": "Palla", "notes": "", "pieces": [f"{SLUG}/t01"]}
    assert edit(client, "chapter", **form)[0] == 200  # what was in it may stay
    assert edit(client, "chapter", 2, **{**form, "pieces": [f"{SLUG}/t01", f"{SLUG}/t77"]})[0] == 422


def test_each_piece_leads_to_its_page_its_sheet_and_its_sound(client: FlaskClient) -> None:
    page = client.get(f"/course/{KEY}", base_url=HERE).get_json()["course"]
    assert f'href="/tihais/{SLUG}/t01"' in page
    assert f'href="/cycles/{SLUG}?at=' in page
    sheets = re.findall(r'class="to-print" href="([^"]+)"', page)
    heard = re.findall(r'data-hear="([^"]+)"', page)
    assert (len(sheets), len(heard)) == (3, 2)
    for at in (*sheets, *heard):
        assert client.get(html.unescape(at), base_url=HERE).status_code == 200, at


def test_hostile_notes_and_names_are_text_on_the_page(course_place: Path, client: FlaskClient) -> None:
    bad = '<img src=x onerror="alert(1)">'
    edit(client, "chapter", chapter=FIRST, title=bad, notes=f"{bad}\n\n[x](javascript:alert(1))", pieces=[])
    edit(client, "course", 2, title=bad, for_whom=bad, licence=bad)
    pages = [client.get(at, base_url=HERE).get_json() for at in (f"/course/{KEY}", f"/course/{KEY}/form/{FIRST}")]
    for page in ("".join(each.values()) for each in pages):
        assert "<img" not in page
        assert 'href="javascript' not in page
        assert "style=" not in page
    preview = post(client, "/course-preview", notes=bad)[1]["preview"]
    assert preview == "<p>&lt;img src=x onerror=&quot;alert(1)&quot;&gt;</p>\n"


@pytest.mark.parametrize(
    ("address", "told", "status"),
    [
        (f"/course/{KEY}", {}, 422),
        (f"/course/{KEY}", {"do": "add", "seen": 1}, 422),
        (f"/course/{KEY}", {"do": "add", "seen": 99, "title": "x"}, 422),
        (f"/course/{KEY}", {"do": "add", "seen": True, "title": "x"}, 422),
        (f"/course/{KEY}", {"do": "add", "seen": 1, "title": " "}, 422),
        (f"/course/{KEY}", {"do": "move", "seen": 1, "chapter": FIRST, "place": 0}, 422),
        (f"/course/{KEY}", {"do": "remove", "seen": 1, "chapter": "ffffffff"}, 404),
        (
            f"/course/{KEY}",
            {"do": "chapter", "seen": 1, "chapter": FIRST, "title": "x", "notes": "", "pieces": 1},
            422,
        ),
        (f"/course/{KEY}", {"do": "chapter", "seen": 1, "chapter": FIRST, "title": "x", "notes": 1, "pieces": []}, 422),
        (f"/course/{KEY}", {"do": "erase", "seen": 1}, 422),
        ("/course/nothing", {"do": "add", "seen": 1, "title": "x"}, 404),
        ("/course/nothing/undo", {}, 404),
        ("/course", {"title": ""}, 422),
        ("/course-preview", {"notes": 3}, 422),
        ("/course-preview", {"notes": "x" * 20_001}, 422),
    ],
)
def test_what_is_asked_wrongly_is_told_and_nothing_written(
    course_place: Path, client: FlaskClient, address: str, told: dict[str, Any], status: int
) -> None:
    got, answer = post(client, address, **told)
    assert (got, bool(answer["error"])) == (status, True)
    assert now(course_place).latest.number == 1


def test_a_course_is_sent_as_a_markdown_file(client: FlaskClient) -> None:
    answer = client.get(f"/course/{KEY}.md", base_url=HERE)
    assert answer.headers["Content-Disposition"] == f'attachment; filename="{KEY}.md"'
    assert "## 1. The palla" in answer.get_data(as_text=True)
    assert client.get("/course/nothing.md", base_url=HERE).status_code == 404


def test_a_reader_reads_and_may_not_edit(course_place: Path) -> None:
    people = People(Archive.open(course_place))
    people.add("Chitra", Role.READER, "four grey herons")
    people.add("Bela", Role.ANNOTATOR, "four grey herons")
    app = make_app(course_place).server

    def logged_in(name: str) -> FlaskClient:
        client: FlaskClient = app.test_client()
        form = {"name": name, "password": "four grey herons"}
        assert client.post("/login", base_url=HERE, data=form, headers=FROM_OUR_PAGE).status_code in (302, 303)
        return client

    reader = logged_in("Chitra")
    page = reader.get(f"/course/{KEY}", base_url=HERE).get_json()["course"]
    assert "The palla" in page
    assert "data-edit" not in page
    assert "course-form" not in page
    assert post(reader, "/course-preview", notes="*x*")[0] == 200
    for address, told in (
        (f"/course/{KEY}", {"do": "add", "seen": 1, "title": "x"}),
        ("/course", {"title": "x"}),
        (f"/course/{KEY}/undo", {}),
        (f"/course/{KEY}/take-out", {}),
    ):
        assert post(reader, address, **told)[0] == 403
    assert now(course_place).latest.number == 1
    assert edit(logged_in("Bela"), "add", title="x")[0] == 200
    assert now(course_place).latest.who == "Bela"
