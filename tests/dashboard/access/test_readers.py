"""A reader cannot write, by whatever callback or route; who has not logged in sees nothing at all.

Every callback and every route that the server has is asked for, so one that is added later is asked for too.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import flask
import pytest
from flask.testing import FlaskClient

from annotate.archive import Archive
from annotate.layout import named
from annotate.marking import mark_sams
from dashboard.access.at_hand import NOBODY, Person, Role, acting_as
from dashboard.access.guarded import GuardedArchive
from dashboard.access.people import People
from dashboard.errors import MayNotEdit
from tests.dashboard.access.callbacks import called, on_server, writing_to
from tests.dashboard.access.conftest import ANNOTATOR, FROM_OUR_PAGE, HERE, READER, Client
from tests.dashboard.conftest import SLUG
from tests.dashboard.test_in_browser import PAGES

DERIVED = {"snapshot", "ledger", "evidence", "grid", "index", "announced", "access"}
"""What reading makes anew, and the ended sessions; everything else of an archive is somebody's work."""
DASHBOARD = Path(__file__).parents[3] / "dashboard"
NUMBER = "0123456789abcdef" * 2


def works(archive: Path) -> dict[str, str]:
    """Digest of every file of an archive that is somebody's work."""
    names = {path.relative_to(archive).as_posix(): path for path in archive.rglob("*") if path.is_file()}
    return {
        name: hashlib.sha256(path.read_bytes()).hexdigest()
        for name, path in names.items()
        if named(name).kind not in DERIVED
    }


def call_all(client: FlaskClient) -> dict[str, flask.Response]:
    """Call every callback of the server; return the answers by the callback's output."""
    dependencies = client.get("/_dash-dependencies", base_url=HERE).json
    return {each["output"]: call(client, called(each)) for each in on_server(dependencies)}


def call(client: FlaskClient, request: dict[str, Any]) -> Any:
    return client.post("/_dash-update-component", base_url=HERE, json=request, headers=FROM_OUR_PAGE)


def requests_of(server: flask.Flask) -> Iterator[tuple[str, str, bool]]:
    """Every method and address that the server knows, with what the archive holds in the address.

    The third value tells that it is of a view marked as one that only reads, whatever its method.
    """
    filled = {"slug": SLUG, "number": NUMBER, "key": "t01", "tihai": "t01", "path": "no/such/page"}
    for rule in server.url_map.iter_rules():
        address = re.sub(r"<(?:\w+:)?(\w+)>", lambda match: filled.get(match[1], "1"), rule.rule)
        for method in sorted((rule.methods or set()) - {"HEAD", "OPTIONS"}):
            yield method, address, hasattr(server.view_functions[rule.endpoint], "only_reads")


def test_the_walk_reaches_what_writes(shared: Path, client: Client) -> None:
    before = Archive.open(shared).state(SLUG).revision
    call_all(client(ANNOTATOR))
    archive = Archive.open(shared)
    written = [revision for revision in archive.history(SLUG) if revision.number > before]
    assert len(written) >= 2  # sams, a tihai
    assert {revision.who for revision in written} == {ANNOTATOR}


def test_no_callback_writes_for_a_reader(shared: Path, client: Client) -> None:
    before = works(shared)
    answers = call_all(client(READER))
    assert len(answers) >= 5
    assert {output: answer.status_code for output, answer in answers.items() if answer.status_code >= 500} == {}
    assert works(shared) == before


def test_no_route_writes_for_a_reader(shared: Path, server: flask.Flask, client: Client) -> None:
    before = works(shared)
    reader = client(READER)
    for method, address, only_reads in requests_of(server):
        if address not in ("/login", "/logout", "/_dash-update-component"):
            body = {"name": "evening.flac", "size": 1000, "slug": SLUG}
            answer = reader.open(address, base_url=HERE, method=method, json=body, headers=FROM_OUR_PAGE)
            assert answer.status_code < 500, (method, address)
            if method != "GET" and not only_reads:
                assert answer.status_code in (403, 404, 405), (method, address)
    assert works(shared) == before


def test_a_reader_is_told_why_where_the_edit_was_made(client: Client) -> None:
    reader = client(READER)
    save = writing_to(reader.get("/_dash-dependencies", base_url=HERE).json, "save-sams")
    answer = call(reader, called(save))
    assert answer.status_code in (200, 403)
    assert f"{READER}, you are logged in to look and listen" in answer.get_data(as_text=True)


def test_who_has_not_logged_in_sees_nothing(shared: Path, server: flask.Flask, client: Client) -> None:
    before = works(shared)
    stranger = client()
    for method, address, _ in requests_of(server):
        answer = stranger.open(address, base_url=HERE, method=method, json={}, headers=FROM_OUR_PAGE)
        if not address.startswith(("/assets/", "/login", "/logout", "/_favicon.ico")):
            assert answer.status_code in (303, 403, 405), (method, address)
        assert b"Trial in rupak" not in answer.get_data()
    assert works(shared) == before


def test_a_readers_pages_have_nothing_that_writes_when_it_is_pressed(shared: Path, client: Client) -> None:
    annotator, reader = client(ANNOTATOR), client(READER)
    dependencies = annotator.get("/_dash-dependencies", base_url=HERE).json
    writing = [each for each in on_server(dependencies) if _writes(shared, annotator, each)]
    pressed = {name for each in writing for name in _names_of(each["inputs"][0]["id"])}
    assert {"save-sams", "save-tihai"} <= pressed
    for address in PAGES:
        shown = _page(annotator, dependencies, address)
        if address == f"/cycles/{SLUG}":
            assert {name for name in pressed if f'"{name}"' in shown} >= {"save-sams", "save-tihai"}
        assert {name for name in pressed if f'"{name}"' in _page(reader, dependencies, address)} == set(), address


def test_a_reader_is_shown_no_form_that_adds_or_changes(client: Client) -> None:
    annotator, reader = client(ANNOTATOR), client(READER)
    dependencies = annotator.get("/_dash-dependencies", base_url=HERE).json
    for address, form in (
        ("/", "Add a recording"),
        ("/add", "add-form"),
        (f"/concerts/{SLUG}", "details-form"),
        (f"/concerts/{SLUG}", "withdraw-now"),
    ):
        assert form in _page(annotator, dependencies, address)
        assert form not in _page(reader, dependencies, address)


def _writes(shared: Path, client: FlaskClient, callback: dict[str, Any]) -> bool:
    before = works(shared)
    call(client, called(callback))
    return works(shared) != before


def _names_of(name: str) -> list[str]:
    """The id of a button; of a kind of buttons, what tells it from other kinds."""
    return [key for key in json.loads(name) if key != "key"] if name.startswith("{") else [name]


def _page(client: FlaskClient, dependencies: list[dict[str, Any]], address: str) -> str:
    turn = called(next(each for each in dependencies if each["output"].startswith("..page.children")))
    path, _, search = address.partition("?")
    turn["inputs"][0]["value"], turn["inputs"][1]["value"] = path, f"?{search}" if search else ""
    page = call(client, turn)
    assert page.status_code == 200
    return str(page.get_data(as_text=True))


def test_a_role_that_is_changed_counts_from_the_next_request_on(shared: Path, client: Client) -> None:
    reader = client(READER)
    save = called(writing_to(reader.get("/_dash-dependencies", base_url=HERE).json, "save-tihai"))
    People(Archive.open(shared)).set_role(READER, Role.ANNOTATOR)
    call(reader, save)
    assert Archive.open(shared).history(SLUG)[-1].who == READER
    People(Archive.open(shared)).set_role(READER, Role.READER)
    assert "look and listen" in call(reader, save).get_data(as_text=True)


def test_the_archive_that_pages_get_asks_who_is_at_hand(shared: Path) -> None:
    guarded = GuardedArchive(Archive.open(shared).store, lambda: True)
    reader, annotator = Person(READER, Role.READER), Person(ANNOTATOR, Role.ANNOTATOR)
    for person in (reader, NOBODY):
        with acting_as(person), pytest.raises(MayNotEdit):
            mark_sams(guarded, SLUG, [11.06], who="dashboard")
    with pytest.raises(MayNotEdit, match="Nobody is logged in"):  # as in a thread that does not say whose work it does
        mark_sams(guarded, SLUG, [11.06], who="dashboard")
    with acting_as(annotator):
        mark_sams(guarded, SLUG, [11.06], who="somebody else")
    assert guarded.history(SLUG)[-1].who == ANNOTATOR


def test_no_page_opens_the_archive_past_the_guard() -> None:
    opening = re.compile(
        r"\bArchive\.(open|create)\(|\bArchive\(|\bstore_at\(|\.store\.(create|replace|writing|put|del)"
    )
    found = {
        path.relative_to(DASHBOARD).as_posix()
        for path in DASHBOARD.rglob("*.py")
        if opening.search(path.read_text("utf-8").replace("GuardedArchive(", ""))
    }
    assert found == {"app.py"}
