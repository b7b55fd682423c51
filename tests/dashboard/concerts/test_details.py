"""What is said of a performance: written with its history, together with what others write, or refused with both."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from annotate.archive import Archive
from annotate.history.fields import with_fields
from annotate.history.merging import change_merging
from annotate.marking import record_tihai
from dashboard.app import make_app
from dashboard.concerts.next_steps import steps_of
from dashboard.library import Library
from tests.annotate.test_doubts import grid_of
from tests.dashboard.conftest import SLUG

HERE = "http://127.0.0.1"
FROM_OUR_PAGE = {"Sec-Fetch-Site": "same-origin", "Origin": HERE}


@pytest.fixture
def client(own_archive: Path) -> FlaskClient:
    made: FlaskClient = make_app(own_archive).server.test_client()
    return made


def save(client: FlaskClient, seen: int, keep: str = "", **fields: str) -> tuple[int, dict[str, Any]]:
    told = {"fields": fields, "seen": seen, "keep": keep}
    answer = client.post(f"/details/{SLUG}", base_url=HERE, json=told, headers=FROM_OUR_PAGE)
    return answer.status_code, answer.get_json()


def test_details_are_written_as_one_revision_that_says_which(own_archive: Path, client: FlaskClient) -> None:
    archive = Archive.open(own_archive)
    seen = archive.state(SLUG).revision
    status, told = save(client, seen, title="Trial again", on="2026-03-08", sa="D4", musicians="sarod: Asha Rao")
    assert (status, told) == (200, {"said": "Saved."})
    recording = archive.state(SLUG).recording
    assert (recording.title, str(recording.performed_on)) == ("Trial again", "2026-03-08")
    assert recording.musicians == (("sarod", "Asha Rao"),)
    assert recording.sa_hz == pytest.approx(293.665, abs=1e-3)  # D4 with A4 = 440 Hz in equal temperament, ISO 16
    assert archive.history(SLUG)[-1].why == "musicians, on, sa, title changed"  # as they were sent
    assert "Trial again" in client.get(f"/details/{SLUG}", base_url=HERE).get_json()["details"]


def test_what_another_has_changed_meanwhile_is_kept_or_shown_beside(own_archive: Path, client: FlaskClient) -> None:
    archive = Archive.open(own_archive)
    state = archive.state(SLUG)
    theirs = with_fields(state.recording, {"venue": "another hall", "title": "Their title"})
    change_merging(archive, SLUG, theirs, who="Bela", why="venue, title changed", seen=state.revision)

    status, told = save(client, state.revision, title="My title")
    assert status == 409
    assert told["conflict"]["who"] == "Bela"
    assert archive.state(SLUG).recording.title == "Their title"
    status, told = save(client, state.revision, notes="a cool evening")
    assert (status, told["said"]) == (200, "Saved. What somebody else changed meanwhile is kept too: title, venue.")
    status, told = save(client, state.revision, keep="theirs", title="My title")
    assert (status, told["said"]) == (200, "Theirs is kept; nothing was left to write.")
    assert archive.state(SLUG).recording.title == "Their title"
    assert save(client, state.revision, keep="mine", title="My title")[0] == 200
    assert archive.state(SLUG).recording.title == "My title"


def test_musicians_are_understood_as_people_type_them(own_archive: Path, client: FlaskClient) -> None:
    archive = Archive.open(own_archive)
    assert save(client, archive.state(SLUG).revision, musicians="Asha Rao: sitar, B. Sen (tabla)")[0] == 200
    assert archive.state(SLUG).recording.musicians == (("sitar", "Asha Rao"), ("tabla", "B. Sen"))


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("title", "", "cannot be left empty"),
        ("on", "tomorrow", "2026-01-31"),
        ("sa", "high", "note name"),
        ("x", "y", "no field"),
        ("musicians", "Asha Rao, B. Sen", "Of 'Asha Rao' it is not said what they play"),
    ],
)
def test_what_cannot_be_read_is_told_and_nothing_is_written(
    own_archive: Path, client: FlaskClient, field: str, value: str, said: str
) -> None:
    before = Archive.open(own_archive).state(SLUG).revision
    status, told = save(client, before, **{field: value})
    assert status == 400
    assert said in str(told["error"])
    assert Archive.open(own_archive).state(SLUG).revision == before


def test_steps_of_a_recording_lead_to_their_places(own_archive: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    library = Library(Archive.open(own_archive))
    assert steps_of(library, SLUG) == []  # both of its tihais are confirmed and add up, all sams are marked

    record_tihai(
        library.archive,
        SLUG,
        palla_s=[11.0, 13.0, 15.0],
        landing_s=18.0,
        palla="R m P",
        start=Fraction(1),
        dam=Fraction(0),
    )
    monkeypatch.setattr(Archive, "grid", lambda _self, _slug: grid_of([0.9, 0.1, 0.9]))
    kinds = {kind.heading: kind.steps for kind in steps_of(library, SLUG)}
    assert [step.href for step in kinds["Tihais to confirm"]] == [f"/tihais/{SLUG}/t03"]
    (missing,) = kinds["Sums that miss"]
    assert (missing.what, missing.href) == ("R m P, 0:11.0", f"/tihais/{SLUG}/t03")
    (doubtful,) = kinds["Doubtful sams"]
    assert (doubtful.what, doubtful.href) == ("Sam at 0:18", f"/cycles/{SLUG}?at=16.000")  # from the vibhag before


def test_details_of_no_performance_are_not_found(client: FlaskClient) -> None:
    assert client.get("/details/no-such-concert", base_url=HERE).status_code == 404
