"""What the Practice page is answered: questions for an address, answers marked, what is clapped along to."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from fractions import Fraction
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from annotate.archive import Archive
from annotate.practice.pieces import piece
from dashboard.access.at_hand import Person, Role, acting_as
from dashboard.app import make_app
from dashboard.practice.asked import CHOICES, read, read_clapped
from dashboard.practice.cycle import cycle_of
from dashboard.practice.takes import LEAD_MATRAS, take_as_played, take_on_paper
from tests.dashboard.conftest import MATRA_S, SLUG
from theory.composing import Piece
from theory.exercises.question import Question
from theory.notation import parse
from theory.talas import get_tala
from theory.tihai import LandingRule

TEENTAL = get_tala("teental")


@pytest.fixture(scope="module")
def client(finished_archive: Path) -> FlaskClient:
    return make_app(finished_archive).server.test_client()


def told(client: FlaskClient, address: str, status: int = 200, **wanted: str) -> dict[str, Any]:
    answer = client.get(address, query_string=wanted or None)
    assert answer.status_code == status, answer.text
    content: dict[str, Any] = json.loads(answer.data)
    return content


def five(asked: str, rule: LandingRule = LandingRule.WITHIN) -> Question:
    palla = parse("Dha Ti Ta Ka Dha")
    return Question("", asked, Piece(TEENTAL, Fraction(1), Fraction(1), rule, palla, Fraction(1)), 120)


def test_an_address_is_answered_with_the_form_and_its_first_question(client: FlaskClient) -> None:
    content = told(client, "/practice/asked", kinds="dam", level="2", number="3", seed="5")
    assert content["count"] == 3
    assert content["address"] == "/practice?kinds=dam&level=2&number=3&seed=5"
    assert "Question 1 of 3" in content["question"]
    assert "How long must the dam be" in content["question"]
    assert "Right" not in content["question"]
    assert told(client, "/practice/asked", kinds="dam", level="2", number="3", seed="5") == content


def test_questions_of_the_archive_are_about_what_was_played(client: FlaskClient) -> None:
    content = told(client, "/practice/asked", tala="rupak", whose="archive", kinds="start", number="2")
    assert f"/tihais/{SLUG}/t0" in content["question"]
    assert "120 matras a minute" in content["question"]


@pytest.mark.parametrize(
    ("wanted", "right"), [({"answer": "1"}, True), ({"answer": "8"}, True), ({"answer": "2"}, False)]
)
def test_an_answer_is_marked_in_words_with_the_sum(client: FlaskClient, wanted: Mapping[str, str], right: bool) -> None:
    # 5 + 5 + 5 = 15 = 2 x 7 + 1 in rupak, from sam
    asked = {"tala": "rupak", "whose": "archive", "kinds": "start", "number": "1"}
    content = told(client, "/practice/marked", **asked, **wanted)
    assert content["right"] is right
    assert ("Right: sam (matra 1)" in content["marked"]) is right
    assert ("Right is <b>sam (matra 1)</b>" in content["marked"]) is not right
    assert "5 + 5 + 5 = 15 = 2 x 7 + 1" in content["marked"]
    assert "/compose/score?" in content["marked"]


def test_a_place_on_the_cycle_is_an_answer(client: FlaskClient) -> None:
    asked = {"tala": "rupak", "whose": "archive", "kinds": "start", "number": "1"}
    assert told(client, "/practice/marked", **asked, place="1")["right"] is True
    assert told(client, "/practice/marked", **asked, place="3/2")["right"] is False


def test_what_is_no_answer_is_told_and_what_cannot_be_read_of_an_address_stands_by_its_field(
    client: FlaskClient,
) -> None:
    assert "cannot be read" in told(client, "/practice/marked", answer="Dha")["error"]
    assert "No answer" in told(client, "/practice/marked")["error"]
    content = told(client, "/practice/asked", tala="teentl", level="9", number="0", to="99", kinds=",", laya="fast")
    assert set(content["wrong"]) == {"tala", "level", "number", "kinds", "laya"}
    assert content["question"] == ""
    assert set(told(client, "/practice/asked", to="40")["wrong"]) == {"to"}
    assert "Teental" in told(client, "/practice/marked", 400, tala="teentl", answer="1")["error"]


def test_an_address_is_read_back_and_leaves_out_what_is_usual() -> None:
    asked = read({"tala": "jhaptal", "level": "3", "seed": "1"})
    assert asked.address() == "/practice?tala=jhaptal&level=3"
    assert read(asked.fields) == asked
    assert read({}).fields == CHOICES
    assert read_clapped({"taps": "landing"}).address() == "/practice/clap?taps=landing"
    assert set(read_clapped({"taps": "none", "speed": "51", "laya": "x"}).wrong) == {"taps", "speed", "laya"}


def test_the_cycle_shows_what_is_known_and_not_what_is_asked() -> None:
    cycle = cycle_of(five("dam"))
    assert cycle is not None
    places = [place for vibhag in cycle.vibhags for matra in vibhag for place in matra.places]
    assert [place.value for place in places] == [str(matra) for matra in range(1, 17)]
    assert [place.value for place in places if place.palla] == ["1", "2", "3", "4", "5"]
    assert places[0].said == "sam, it begins here, here it is to land"
    assert [matra.mark for vibhag in cycle.vibhags for matra in vibhag if matra.mark] == ["X", "2", "0", "3"]
    start = cycle_of(five("start"))
    assert start is not None
    assert not any(
        place.begins or place.palla for vibhag in start.vibhags for matra in vibhag for place in matra.places
    )


def test_a_take_on_paper_has_every_stroke_where_it_lies_after_an_avartan_of_lead_in() -> None:
    take = take_on_paper(five("start").piece, "five")
    assert [target["x"] for target in take["targets"]] == [16 + x for x in range(17) if x not in (5, 11)]
    assert [target["x"] for target in take["targets"] if target["opens"]] == [16, 22, 28]
    assert [target["x"] for target in take["targets"] if target["landing"]] == [32]
    after = take_on_paper(five("start", LandingRule.AFTER).piece, "five")
    assert [target["x"] for target in after["targets"] if target["landing"]] == [33]


def test_a_take_as_played_has_pallas_and_landing_where_they_were_marked(finished_archive: Path) -> None:
    archive = Archive.open(finished_archive)
    take = take_as_played(archive, piece(archive, f"{SLUG}/t02"))
    assert [target["s"] for target in take["targets"] if target["opens"]] == [18.0, 20.5, 23.0]
    assert [target["s"] for target in take["targets"] if target["landing"]] == [25.2]
    assert take["own_ms"] == pytest.approx(200, abs=1)
    assert take["from_s"] == pytest.approx(18.0 - LEAD_MATRAS * MATRA_S)
    rows = take["beats"]["data"]["rows"]
    assert rows[0]["t"][0] <= take["from_s"]
    assert rows[-1]["t"][-1] >= take["to_s"]
    assert all(row["t"] == pytest.approx([row["t"][0] + MATRA_S * i for i in range(8)], abs=0.01) for row in rows)


def test_a_chakradar_is_heard_and_opened_in_compose_as_it_is_asked(client: FlaskClient) -> None:
    content = told(client, "/practice/marked", kinds="chakradar", level="4", answer="1/7")
    score = re.search(r'data-score="([^"]+)"', content["marked"])
    assert score
    sounding = told(client, unescape(score[1]))
    paper = re.search(r'class="taught-sum">([^<]+)<', content["marked"])
    assert paper
    opened = told(client, unescape(score[1]).replace("/score?", "/answer?"))["opened"]
    assert paper[1] in opened
    assert sounding["landing"] > sounding["lead_in"]


def test_what_cannot_be_clapped_along_to_is_told(client: FlaskClient) -> None:
    assert "Choose a tihai" in told(client, "/practice/clap/take", 400, whose="archive")["error"]
    missing = told(client, "/practice/clap/take", 404, whose="archive", piece=f"{SLUG}/t09")
    assert "t09" in missing["error"]
    assert "rupak" in told(client, "/practice/clap/take", 400, tala="rupka")["error"].casefold()
    assert "no piece" in told(client, "/practice/clap/take", 400, whose="archive", piece="nothing")["error"]


def test_the_form_for_clapping_lists_the_tihais_of_the_tala(client: FlaskClient) -> None:
    form = told(client, "/practice/clap/asked", tala="rupak", whose="archive")["form"]
    assert f'value="{SLUG}/t01"' in form
    assert "What sounds" in form
    assert SLUG not in told(client, "/practice/clap/asked", tala="teental", whose="archive")["form"]


def test_a_set_is_taken_home_as_a_file_with_the_same_questions(client: FlaskClient) -> None:
    answer = client.get("/practice/sheet.html?kinds=dam&level=2&number=3&seed=5")
    assert answer.headers["Content-Disposition"] == 'attachment; filename="exercises-teental-5.html"'
    first = told(client, "/practice/asked", kinds="dam", level="2", number="3", seed="5")["question"]
    palla = re.search(r"matras: ([^<]+)</dd>", first)
    assert palla
    assert palla[1] in answer.text
    assert client.get("/practice/sheet.html?tala=teentl").status_code == 400


def test_readers_may_practise(client: FlaskClient) -> None:
    with acting_as(Person("Rohin", Role.READER)):
        assert told(client, "/practice/marked", kinds="start", answer="1")["kind"] == "start"


def test_a_run_is_answered_without_writing_anything(client: FlaskClient, finished_archive: Path) -> None:
    before = {path: path.stat().st_mtime_ns for path in finished_archive.rglob("*.parquet")}
    told(client, "/practice/marked", tala="rupak", whose="archive", kinds="start", answer="1")
    told(client, "/practice/clap/take", tala="rupak", whose="archive", piece=f"{SLUG}/t01", sound="recording")
    assert {path: path.stat().st_mtime_ns for path in finished_archive.rglob("*.parquet")} == before
