"""What every request has to pass: the Host header, where it comes from, a proxy nobody asked for."""

from __future__ import annotations

import base64
import hashlib
import re
from pathlib import Path

import flask
import pytest

from dashboard.access.gate import only_reads
from dashboard.app import make_app
from tests.dashboard.access.callbacks import called, writing_to
from tests.dashboard.access.conftest import (
    ANNOTATOR,
    FROM_OUR_PAGE,
    HERE,
    READER,
    READERS_PASSWORD,
    Client,
    log_in,
    served_to,
)
from tests.dashboard.conftest import SLUG


def test_on_ones_own_machine_nobody_has_to_log_in(finished_archive: Path) -> None:
    client = served_to(finished_archive)
    assert client.get("/_dash-layout", base_url=HERE).status_code == 200
    assert client.get(f"/sound/{SLUG}", base_url=HERE).status_code == 200
    assert not (finished_archive / "access").exists()


def test_a_page_whose_name_was_made_to_point_here_gets_nothing(finished_archive: Path, client: Client) -> None:
    for asked in (served_to(finished_archive), client(READER)):
        for address in ("/", "/_dash-layout", f"/sound/{SLUG}", "/login", "/assets/10-ground.css"):
            answer = asked.get(address, base_url="http://rebound.example:8050")
            assert answer.status_code == 421
            assert "--name" in answer.get_data(as_text=True)


def test_a_proxy_in_front_of_a_dashboard_without_people_is_refused(finished_archive: Path) -> None:
    for header in ("X-Forwarded-For", "Forwarded", "X-Forwarded-Host", "X-Real-IP"):
        answer = served_to(finished_archive).get("/", base_url=HERE, headers={header: "192.0.2.1"})
        assert answer.status_code == 403
        assert "--behind-proxy" in answer.get_data(as_text=True)


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "https://evil.example"},
        {"Origin": "null"},
        {"Origin": "https://127.0.0.1"},
        {"Origin": "http://127.0.0.1:81"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site", "Origin": HERE},
        {"Sec-Fetch-Site": "none"},
    ],
)
def test_another_sites_page_cannot_call_a_callback(
    finished_archive: Path, client: Client, headers: dict[str, str]
) -> None:
    for asked in (served_to(finished_archive), client(ANNOTATOR)):
        save = called(writing_to(asked.get("/_dash-dependencies", base_url=HERE).json, "save-sams"))
        answer = asked.post("/_dash-update-component", base_url=HERE, json=save, headers=headers)
        assert answer.status_code == 403
        assert "Another site" in answer.get_data(as_text=True)


def test_where_people_log_in_a_request_has_to_say_where_it_comes_from(client: Client) -> None:
    assert client(ANNOTATOR).post("/sent", base_url=HERE, json={"name": "x", "size": 1}).status_code == 403


def test_another_sites_page_may_link_here_and_take_nothing_out(client: Client) -> None:
    reader = client(READER)
    link = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "document"}
    assert reader.get("/tihais", base_url=HERE, headers=link).status_code == 200
    for mode in ("no-cors", "cors"):
        took = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": mode}
        assert reader.get(f"/sound/{SLUG}", base_url=HERE, headers=took).status_code == 403


def test_behind_tls_our_own_origin_is_https(shared: Path) -> None:
    client = served_to(shared, proxy="127.0.0.1", names=("x.example",), https=True)
    for origin, status in (("https://x.example", 403), ("http://x.example", 403)):
        answer = client.post("/login", base_url="http://x.example", data={"name": "A"}, headers={"Origin": origin})
        assert answer.status_code == status
        assert ("Another site" in answer.get_data(as_text=True)) == origin.startswith("http://")


def test_a_post_that_nobody_marked_as_reading_is_closed_to_readers(shared: Path) -> None:
    server: flask.Flask = make_app(shared).server

    @server.post("/made-up/writes")
    def writes() -> str:
        raise AssertionError("a reader came here")

    @server.post("/made-up/reads")
    @only_reads
    def reads() -> str:
        return "read"

    reader = server.test_client()
    log_in(reader, READER, READERS_PASSWORD)
    refused = reader.post("/made-up/writes", base_url=HERE, headers=FROM_OUR_PAGE)
    assert refused.status_code == 403
    assert "look and listen" in refused.json["error"]
    assert reader.post("/made-up/reads", base_url=HERE, headers=FROM_OUR_PAGE).get_data() == b"read"


def test_every_answer_says_where_code_and_sound_may_come_from(client: Client) -> None:
    reader = client(READER)
    for address in ("/", "/login", "/_dash-layout", f"/sound/{SLUG}", "/assets/10-ground.css", "/no/such", "/sent/x"):
        with reader.get(address, base_url=HERE) as answer:
            headers = answer.headers
        policy = dict(rule.split(" ", 1) for rule in headers["Content-Security-Policy"].split("; "))
        assert policy["default-src"] == "'self'"
        assert "'unsafe-inline'" not in policy["script-src"]
        assert "'unsafe-eval'" not in policy["script-src"]
        assert policy["frame-ancestors"] == policy["object-src"] == policy["base-uri"] == "'none'"
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Referrer-Policy"] == "same-origin"
        assert "camera=()" in headers["Permissions-Policy"]
        assert headers["Cache-Control"]
        assert "public" not in headers["Cache-Control"]


def test_the_only_inline_script_is_dashs_own_and_its_digest_is_named(finished_archive: Path) -> None:
    """The digest as CSP level 3 says, computed here from the page that is sent."""
    answer = served_to(finished_archive).get("/", base_url=HERE)
    scripts = re.findall(r"<script([^>]*)>(.*?)</script>", answer.get_data(as_text=True), re.DOTALL)
    inline = [text for told, text in scripts if "src=" not in told and "application/json" not in told]
    assert len(inline) == 1
    digest = base64.b64encode(hashlib.sha256(inline[0].encode()).digest()).decode()
    assert f"'sha256-{digest}'" in answer.headers["Content-Security-Policy"]


def test_no_asset_of_ours_has_an_inline_script_or_handler() -> None:
    dashboard = Path(__file__).parents[3] / "dashboard"
    pages = [path for kind in ("*.html", "*.mjs", "*.js", "*.py") for path in dashboard.rglob(kind)]
    handler = re.compile(r"<[a-z][^>]*\son[a-z]+=|javascript:|\beval\(|new Function\(|<script>")
    assert [path.name for path in pages if handler.search(path.read_text("utf-8"))] == []
