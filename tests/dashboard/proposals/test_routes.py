"""What the page of proposals asks of the server: the list, one of them, looking, accepting, rejecting, taking back."""

from __future__ import annotations

import time
from collections.abc import Callable
from fractions import Fraction
from typing import Any

import pytest
from flask.testing import FlaskClient

from annotate.archive import Archive
from annotate.marking import move_sam
from dashboard.access.at_hand import Person, Role, acting_as
from dashboard.app import make_app
from dashboard.errors import MayNotEdit
from dashboard.proposals import runs
from dashboard.proposals.deciding import rejected, without_commands
from dashboard.proposals.shown import percent, sure_signs, sure_words
from tests.annotate.desk import SLUG
from tests.annotate.proposals.gats import LANDINGS_S

AT = f"/proposed/{SLUG}"


@pytest.fixture
def client(archive: Archive) -> FlaskClient:
    client: FlaskClient = make_app(archive.path).server.test_client()
    return client


def page(client: FlaskClient) -> dict[str, Any]:
    told: dict[str, Any] = client.get(AT).get_json()
    return told


def landing_of(proposal: dict[str, Any]) -> float:
    minutes, seconds = proposal["landsClock"].split(":")
    return 60 * float(minutes) + float(seconds)


def the_true_one(client: FlaskClient) -> dict[str, Any]:
    listed = page(client)["proposals"]
    return next(each for each in listed if any(abs(landing_of(each) - at_s) < 0.2 for at_s in LANDINGS_S))


def wait_until(done: Callable[[], bool]) -> None:
    until_s = time.monotonic() + 60
    while not done():
        assert time.monotonic() < until_s, "it takes too long"
        time.sleep(0.05)


def test_nobody_has_looked_yet_and_looking_finds_the_tihais(client: FlaskClient) -> None:
    before = page(client)
    assert (before["looked"], before["proposals"], before["run"]) == (False, [], None)
    assert client.post(f"{AT}/look", json={"anew": False, "mukhra": None}).status_code == 202
    wait_until(lambda: page(client)["run"] is None)
    after = page(client)
    assert after["looked"]
    assert not after["stale"]
    proposal = the_true_one(client)
    assert proposal["place"].endswith("matra 9")
    assert proposal["lands"] == "lands on sam"
    assert proposal["reason"].startswith("The tabla plays the same three times")


def test_why_looking_failed_is_told_and_it_can_be_tried_again(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as broken:
        broken.setattr(runs, "Beside", _refuses)
        client.post(f"{AT}/look", json={})
        wait_until(lambda: bool((page(client)["run"] or {}).get("failed")))
    assert page(client)["run"]["failed"] == "It could not be done: No space left on device."
    client.post(f"{AT}/look", json={})
    wait_until(lambda: page(client)["run"] is None)
    assert page(client)["looked"]


def _refuses(*_arguments: object) -> None:
    raise OSError(28, "No space left on device")


def test_nothing_new_is_not_sent_again(client: FlaskClient, found: Archive) -> None:
    first = client.get(AT)
    again = client.get(AT, headers={"If-None-Match": first.headers["ETag"]})
    assert again.status_code == 304


def test_one_that_is_opened_has_its_sum_and_the_rows_it_runs_through_and_nothing_else_over_them(
    client: FlaskClient, found: Archive
) -> None:
    key = the_true_one(client)["key"]
    told = client.get(f"{AT}/{key}").get_json()
    assert "from matra 9" in told["sum"].replace("\N{NO-BREAK SPACE}", " ")
    assert told["lines"][-1].startswith("Lands on sam")
    assert [each["id"] for each in told["passage"]["tihais"]] == [key]
    drawn = {palla["id"] for row in told["passage"]["details"] for palla in row["pallas"]}
    assert drawn == {key}
    assert {palla["status"] for row in told["passage"]["details"] for palla in row["pallas"]} == {"proposed"}


def test_an_accepted_one_is_a_tihai_and_undo_lets_it_wait_again(client: FlaskClient, found: Archive) -> None:
    proposal = the_true_one(client)
    told = client.post(f"{AT}/accept", json={"key": proposal["key"], "palla": ""}).get_json()
    record = found.state(SLUG).tihai(told["tihai"])
    assert record.status == "confirmed"
    assert record.palla == proposal["text"]
    assert the_true_one(client)["status"] == "accepted"
    assert client.post(f"{AT}/undo", json={}).status_code == 200
    assert found.state(SLUG).tihais == ()
    assert the_true_one(client)["status"] == "waiting"


def test_a_palla_that_is_written_over_is_taken_with_the_dam_that_is_left(client: FlaskClient, found: Archive) -> None:
    key = the_true_one(client)["key"]
    told = client.post(f"{AT}/accept", json={"key": key, "palla": "Dha Ti Te:1/2"}).get_json()
    record = found.state(SLUG).tihai(told["tihai"])
    assert record.palla == "Dha Ti Te:1/2"
    assert record.dam == Fraction(1, 2)  # the pallas begin three matras apart


def test_a_palla_that_cannot_be_read_or_is_too_long_is_told_and_nothing_is_written(
    client: FlaskClient, found: Archive
) -> None:
    key = the_true_one(client)["key"]
    for palla, words in (("R X", "X"), ("Dha Dha Dha Dha Dha", "Write a shorter one")):
        answer = client.post(f"{AT}/accept", json={"key": key, "palla": palla})
        assert answer.status_code in (409, 422)
        assert words in answer.get_json()["error"]
    assert found.state(SLUG).tihais == ()


def test_a_rejected_one_is_not_proposed_again_and_is_not_decided_twice(client: FlaskClient, found: Archive) -> None:
    key = the_true_one(client)["key"]
    assert client.post(f"{AT}/reject", json={"key": key}).status_code == 200
    assert the_true_one(client)["status"] == "rejected"
    again = client.post(f"{AT}/reject", json={"key": key})
    assert again.status_code == 409
    assert "rejected already" in again.get_json()["error"]


def test_where_the_grid_moved_it_says_so_and_accepting_is_refused_without_a_command(
    client: FlaskClient, found: Archive
) -> None:
    proposal = the_true_one(client)
    sams = {each.sam_s: each for each in found.state(SLUG).marked_sams}
    near_s = min(sams, key=lambda sam_s: abs(sam_s - landing_of(proposal)))
    move_sam(found, SLUG, near_s, near_s + 0.6, who="test")
    assert page(client)["stale"]
    answer = client.post(f"{AT}/accept", json={"key": proposal["key"], "palla": ""})
    assert answer.status_code == 409
    assert "layakosh" not in answer.get_json()["error"]
    assert "has changed" in answer.get_json()["error"]


def test_a_reader_sees_proposals_but_neither_looks_nor_decides(client: FlaskClient, found: Archive) -> None:
    key = the_true_one(client)["key"]
    with acting_as(Person("Devkant", Role.READER)):
        library = client.application.extensions["layakosh"]
        with pytest.raises(MayNotEdit):
            rejected(library.archive, SLUG, key)
    assert found.state(SLUG).tihais == ()


def test_what_does_not_exist_or_cannot_be_asked_is_told(client: FlaskClient, found: Archive) -> None:
    assert client.get("/proposed/nowhere").status_code == 404
    assert client.get(f"{AT}/p0.0").status_code == 404
    assert client.post(f"{AT}/accept", json={"key": "p0.0"}).status_code == 404
    assert client.post(f"{AT}/accept", data="no json").status_code == 422
    assert client.post(f"{AT}/look", json={"mukhra": 0}).status_code == 422


def test_what_next_tells_of_proposals_and_leads_to_them(client: FlaskClient, found: Archive) -> None:
    count = sum(each["status"] == "waiting" for each in page(client)["proposals"])
    assert f"{count} tihais proposed" in client.get("/performances").get_json()["list"]
    details = client.get(f"/details/{SLUG}").get_json()["details"]
    assert f'href="/proposals/{SLUG}?open=p' in details


def test_where_nobody_has_looked_what_next_is_looking(client: FlaskClient) -> None:
    assert f'href="/proposals/{SLUG}">Look for tihais' in client.get(f"/details/{SLUG}").get_json()["details"]


@pytest.mark.parametrize(
    ("confidence", "words", "signs"),
    [
        (0.95, "almost sure", "●●●●●"),
        (0.7, "likely", "●●●●○"),
        (0.5, "as likely as not", "●●●○○"),
        (0.0, "unlikely", "●○○○○"),
    ],
)
def test_how_sure_it_is_stands_in_words_and_signs(confidence: float, words: str, signs: str) -> None:
    assert sure_words(confidence) == words
    assert sure_signs(confidence) == signs


def test_nothing_is_told_as_certain() -> None:
    assert [percent(each) for each in (0.0, 0.004, 0.5, 0.996, 1.0)] == [1, 1, 50, 99, 99]


def test_commands_are_left_out_of_what_a_page_says() -> None:
    message = "The grid at 5:01.2 has changed. Propose again, which is quick: layakosh propose evening"
    assert without_commands(message) == "The grid at 5:01.2 has changed. Propose again, which is quick"
