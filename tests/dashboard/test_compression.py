"""What is compressed: pages, scripts and data are, sound never; what a browser has is not sent again."""

from __future__ import annotations

from pathlib import Path

import flask.testing
import pytest

from dashboard.app import make_app
from tests.dashboard.conftest import SLUG

BROTLI = {"Accept-Encoding": "br"}


@pytest.fixture(scope="module")
def browser(finished_archive: Path) -> flask.testing.FlaskClient:
    client: flask.testing.FlaskClient = make_app(finished_archive).server.test_client()
    return client


@pytest.mark.parametrize(
    "address",
    ["/", "/assets/30-fold.css", "/assets/start.js", "/assets/window/folded.mjs", "/_dash-dependencies"],
)
def test_pages_scripts_styles_and_data_are_compressed(browser: flask.testing.FlaskClient, address: str) -> None:
    plain = browser.get(address)
    small = browser.get(address, headers=BROTLI)
    assert small.headers["Content-Encoding"] == "br"
    assert len(small.data) < 0.6 * len(plain.data)
    assert int(small.headers["Content-Length"]) == len(small.data)


def test_a_browser_that_asks_for_nothing_gets_the_file_as_it_is(browser: flask.testing.FlaskClient) -> None:
    path = Path(__file__).parents[2] / "dashboard" / "assets" / "rows.mjs"
    answer = browser.get("/assets/rows.mjs", headers={"Accept-Encoding": "identity"})
    assert "Content-Encoding" not in answer.headers
    assert answer.data == path.read_bytes()


def test_sound_goes_out_as_it_is_in_the_range_asked_for(browser: flask.testing.FlaskClient) -> None:
    answer = browser.get(f"/sound/{SLUG}", headers=BROTLI | {"Range": "bytes=0-999"})
    assert answer.status_code == 206
    assert "Content-Encoding" not in answer.headers
    assert len(answer.data) == 1000


@pytest.mark.parametrize("headers", [BROTLI, {"Accept-Encoding": "identity"}])
def test_a_script_that_the_browser_has_is_not_sent_again(
    browser: flask.testing.FlaskClient, headers: dict[str, str]
) -> None:
    first = browser.get("/assets/rows.mjs", headers=headers)
    again = browser.get("/assets/rows.mjs", headers=headers | {"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")
    again.close()
