"""Heard again and again: the list on a raga's page, and taking a phrase up from it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from dash import html
from flask.testing import FlaskClient

from annotate.archive import Archive
from annotate.history.taking_back import undo
from annotate.recurring.finding import recurring_in
from dashboard.app import make_app
from dashboard.library import Library
from dashboard.pages.heard_again import EDITS, HEARD_AGAIN
from dashboard.routes import page_at
from tests.annotate.desk import SLUG
from tests.annotate.recurring.again import PAKAD, again_archive
from tests.dashboard.test_pages import text_of
from tests.dashboard.test_raga_pages import components


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    return again_archive(tmp_path)


@pytest.fixture
def client(archive: Archive) -> Iterator[FlaskClient]:
    with make_app(archive.path).server.test_client() as client:
        yield client


def made(archive: Archive, edits: str = EDITS) -> Any:
    return HEARD_AGAIN.make(Library(archive), {"raga": "desh", "edits": edits}, lambda _share: None)


def taking_up(part: Any) -> list[html.Button]:
    return [each for each in components(part) if getattr(each, "data-takes-up", None)]


def posted(client: FlaskClient, slug: str = SLUG, **told: Any) -> tuple[int, dict[str, Any]]:
    answer = client.post(f"/heard-again/{slug}/take-up", json=told)
    return answer.status_code, dict(answer.json or {})


def test_the_page_of_a_raga_has_a_place_for_what_is_heard_again(archive: Archive) -> None:
    page = page_at(Library(archive), "/ragas/desh", "")
    assert HEARD_AGAIN.name in {getattr(each, "id", None) for each in components(page.content)}


def test_mukhras_and_phrases_stand_with_count_names_places_and_a_button_for_each_recording(archive: Archive) -> None:
    part = made(archive)
    text = text_of(part)
    assert "m | P N S' R'" in text
    assert "mukhra of the gat, " in text
    assert "schools and teachers differ" in text
    assert {getattr(each, "data-takes-up") for each in taking_up(part)} == {SLUG, "morning"}
    phrase = next(each for each in recurring_in(archive, SLUG).phrases if set(PAKAD) <= {*each.semitones})
    (button,) = [
        each
        for each in taking_up(part)
        if getattr(each, "data-key") == phrase.key and getattr(each, "data-takes-up") == SLUG
    ]
    assert f"all {len(phrase.comings)}" in getattr(button, "aria-label")


def test_who_may_not_edit_gets_no_buttons(archive: Archive) -> None:
    assert taking_up(made(archive, "")) == []


def test_a_phrase_is_taken_up_with_its_role_once_and_undo_takes_it_back(client: FlaskClient, archive: Archive) -> None:
    key = recurring_in(archive, SLUG).phrases[0].key
    status, told = posted(client, key=key, role="mukhra")
    assert (status, told["said"][:36]) == (200, "m | P N S' R': 9 written down in Eve")
    assert {each.role for each in archive.state(SLUG).phrases} == {"mukhra"}
    assert "0 written down" in posted(client, key=key, role="mukhra")[1]["said"]
    undo(archive, SLUG, "dashboard")
    assert archive.state(SLUG).phrases == ()


@pytest.mark.parametrize(
    ("slug", "told", "status", "says"),
    [
        (SLUG, {"key": "phrase||S R", "role": ""}, 422, "not found any more"),
        (SLUG, {"key": 5, "role": ""}, 422, "Expected a key"),
        (SLUG, {"key": "x", "role": "r" * 61}, 422, "Expected a key"),
        ("nowhere", {"key": "x", "role": ""}, 404, "nowhere"),
    ],
)
def test_what_cannot_be_taken_up_is_told(
    client: FlaskClient, archive: Archive, slug: str, told: dict[str, Any], status: int, says: str
) -> None:
    answered, content = posted(client, slug, **told)
    assert answered == status
    assert says in content["error"]
    assert archive.state(SLUG).phrases == ()
