"""A recording withdrawn and brought back from the browser: gone from every page at once, by annotators only."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import flask
import pytest
from flask.testing import FlaskClient

from annotate.archive import Archive
from annotate.withdrawing import withdraw_recording, withdrawn
from dashboard.access.at_hand import Person, Role, acting_as
from dashboard.library import Library
from dashboard.routes import page_at
from tests.dashboard.access.conftest import (  # noqa: F401 - fixtures
    ANNOTATOR,
    FROM_OUR_PAGE,
    HERE,
    READER,
    Client,
    client,
    server,
    shared,
    shared_once,
)
from tests.dashboard.conftest import SLUG

AN_ANNOTATOR = Person(ANNOTATOR, Role.ANNOTATOR)


def post(who: FlaskClient, address: str) -> tuple[int, dict[str, Any]]:
    answer = who.post(address, base_url=HERE, json={}, headers=FROM_OUR_PAGE)
    return answer.status_code, answer.get_json()


def test_an_annotator_withdraws_and_brings_back_and_history_has_their_name(shared: Path, client: Client) -> None:  # noqa: F811
    archive, annotator = Archive.open(shared), client(ANNOTATOR)
    rows = archive.state(SLUG).rows
    assert post(annotator, f"/details/{SLUG}/withdraw") == (200, {"said": "It is withdrawn.", "to": "/withdrawn"})
    assert archive.slugs() == []
    assert [(each.slug, each.who) for each in withdrawn(archive)] == [(SLUG, ANNOTATOR)]
    told = (200, {"said": "It is back.", "to": f"/concerts/{SLUG}"})
    assert post(annotator, f"/withdrawn/{SLUG}/back") == told
    assert archive.state(SLUG).rows == rows
    assert [(each.who, each.why) for each in archive.history(SLUG)[-2:]] == [
        (ANNOTATOR, "recording withdrawn"),
        (ANNOTATOR, "recording brought back"),
    ]


def test_a_reader_is_refused_both(shared: Path, client: Client) -> None:  # noqa: F811
    archive, reader = Archive.open(shared), client(READER)
    assert post(reader, f"/details/{SLUG}/withdraw")[0] == 403
    assert archive.slugs() == [SLUG]
    withdraw_recording(archive, SLUG, "asha")
    assert post(reader, f"/withdrawn/{SLUG}/back")[0] == 403
    assert archive.slugs() == []


def test_every_address_of_a_withdrawn_recording_is_not_found_while_the_server_runs(
    shared: Path,  # noqa: F811
    server: flask.Flask,  # noqa: F811
    client: Client,  # noqa: F811
) -> None:
    annotator = client(ANNOTATOR)
    rules = [rule.rule.replace("<slug>", SLUG) for rule in server.url_map.iter_rules() if "GET" in (rule.methods or ())]
    tells_nothing = f"/marks/{SLUG}/count"  # without anything typed it does not even open the recording
    asked = [rule for rule in rules if SLUG in rule and "<" not in rule and rule != tells_nothing]
    assert len(asked) >= 8
    before = {rule: annotator.get(rule, base_url=HERE).status_code for rule in asked}
    assert set(before.values()) & {200, 206}
    withdraw_recording(Archive.open(shared), SLUG, "asha")
    for rule in asked:
        assert annotator.get(rule, base_url=HERE).status_code in (400, 404, 422), rule
    assert post(annotator, f"/marks/{SLUG}/undo")[0] == 404


def test_who_comes_second_is_told(shared: Path, client: Client) -> None:  # noqa: F811
    annotator = client(ANNOTATOR)
    assert post(annotator, f"/withdrawn/{SLUG}/back")[0] == 409
    post(annotator, f"/details/{SLUG}/withdraw")
    status, told = post(annotator, f"/details/{SLUG}/withdraw")
    assert status == 404
    assert f"was withdrawn by {ANNOTATOR}" in told["error"]
    assert post(annotator, "/withdrawn/no-such/back")[0] == 404


@pytest.mark.parametrize(
    "address", [f"/cycles/{SLUG}", f"/concerts/{SLUG}", f"/tihais/{SLUG}/t01", f"/agreement/{SLUG}"]
)
def test_its_pages_say_that_it_was_withdrawn_and_the_list_shows_where_it_is(own_archive: Path, address: str) -> None:
    library = Library(Archive.open(own_archive))
    with acting_as(AN_ANNOTATOR):
        assert SLUG in str(page_at(library, "/", "").content)
        assert "Withdrawn (" not in str(page_at(library, "/", "").content)
        withdraw_recording(library.archive, SLUG, "asha")
        assert "was withdrawn by asha" in str(page_at(library, address, "").content)
        assert "Withdrawn (1)" in str(page_at(library, "/", "").content)
        shown = str(page_at(library, "/withdrawn", "").content)
    assert "Trial in rupak" in shown
    assert "2 tihais" in shown
    with acting_as(Person(READER, Role.READER)):
        assert "Withdrawn (" not in str(page_at(library, "/", "").content)
        assert "Trial in rupak" not in str(page_at(library, "/withdrawn", "").content)
