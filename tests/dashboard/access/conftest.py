"""An archive with two people, and clients that have logged in as they would."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import flask
import pytest
from flask.testing import FlaskClient

from annotate.archive import Archive
from dashboard.access.at_hand import Role
from dashboard.access.people import People
from dashboard.access.sharing import Sharing
from dashboard.app import make_app
from tests.dashboard.conftest import build_archive

HERE = "http://127.0.0.1"
READER, READERS_PASSWORD = "Obeyan Rukhdal", "four grey herons"
ANNOTATOR, ANNOTATORS_PASSWORD = "Nirvani Tolasar", "seven blue lamps"
PASSWORDS = {READER: READERS_PASSWORD, ANNOTATOR: ANNOTATORS_PASSWORD}
FROM_OUR_PAGE = {"Sec-Fetch-Site": "same-origin", "Origin": HERE}

Client = Callable[..., FlaskClient]


@pytest.fixture(scope="session")
def shared_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("shared")
    people = People(build_archive(folder))
    people.add(READER, Role.READER, READERS_PASSWORD)
    people.add(ANNOTATOR, Role.ANNOTATOR, ANNOTATORS_PASSWORD)
    return folder


@pytest.fixture
def shared(shared_once: Path, tmp_path: Path) -> Path:
    """An archive with a reader and an annotator, of the test's own."""
    return Path(shutil.copytree(shared_once, tmp_path / "shared"))


@pytest.fixture
def people(tmp_path: Path) -> People:
    """The people of a new archive: nobody yet."""
    return People(Archive.create(tmp_path / "new"))


@pytest.fixture
def server(shared: Path) -> flask.Flask:
    app: flask.Flask = make_app(shared).server
    return app


@pytest.fixture
def client(server: flask.Flask) -> Client:
    """Make clients: one that has logged in as somebody, or one that has not."""

    def make(name: str | None = None) -> FlaskClient:
        made = server.test_client()
        if name is not None:
            assert log_in(made, name, PASSWORDS[name]) == 303
        return made

    return make


def log_in(client: FlaskClient, name: str, password: str, to: str = "", **told: str) -> int:
    """Send the login form as a browser does; return the status of the answer."""
    form = {"name": name, "password": password, "to": to}
    return client.post("/login", base_url=HERE, data=form, headers=FROM_OUR_PAGE | told).status_code


def served_to(archive: Path, **how: object) -> FlaskClient:
    """A client of a dashboard that is served in a certain way."""
    server: flask.Flask = make_app(archive, Sharing(**how)).server  # type: ignore[arg-type]
    return server.test_client()
