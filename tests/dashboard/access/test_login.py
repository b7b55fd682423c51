"""Logging in and out: what the form answers, what the cookie is, when a session ends."""

from __future__ import annotations

import errno
import os
import re
import time
from pathlib import Path
from types import SimpleNamespace
from urllib.parse import urlsplit

import flask
import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotate.archive import Archive
from annotate.errors import CannotWrite
from dashboard.access import passwords
from dashboard.access.attempts import FREE
from dashboard.access.login import inside
from dashboard.access.people import People
from dashboard.access.sessions import LIFETIME_S, Sessions
from dashboard.app import make_app
from dashboard.errors import BadPeopleFile
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

LAYOUT = "/_dash-layout"


ONLY_THE_LIGHT = '<script src="/assets/light.js"></script>'
"""It shows the page light or dark as was chosen; the page works without it."""


def may_look(client: flask.testing.FlaskClient) -> bool:
    return bool(client.get(LAYOUT, base_url=HERE, headers={"Sec-Fetch-Dest": "empty"}).status_code == 200)


def test_the_page_asks_for_name_and_password_and_needs_no_script(client: Client) -> None:
    page = client().get("/login?to=/tihais", base_url=HERE)
    text = page.get_data(as_text=True)
    assert page.status_code == 200
    assert page.headers["Cache-Control"] == "no-store"
    assert re.findall("<script.*?</script>", text, re.DOTALL) == [ONLY_THE_LIGHT]
    assert 'value="/tihais"' in text


def test_any_page_leads_to_the_login_and_back(client: Client) -> None:
    stranger = client()
    answer = stranger.get("/tihais?verdict=late", base_url=HERE, headers={"Sec-Fetch-Dest": "document"})
    assert answer.status_code == 303
    assert answer.headers["Location"] == "/login?to=/tihais%3Fverdict%3Dlate"
    form = {"name": READER, "password": READERS_PASSWORD, "to": "/tihais?verdict=late"}
    answer = stranger.post("/login", base_url=HERE, data=form, headers=FROM_OUR_PAGE)
    assert (answer.status_code, answer.headers["Location"]) == (303, "/tihais?verdict=late")
    assert may_look(stranger)


def test_what_is_no_page_is_told_that_one_has_to_log_in(client: Client) -> None:
    answer = client().get(LAYOUT, base_url=HERE, headers={"Sec-Fetch-Dest": "empty"})
    assert answer.status_code == 403
    assert "Log in" in answer.json["error"]
    assert answer.headers["X-Layakosh"] == "log in"


def test_a_wrong_name_and_a_wrong_password_are_answered_alike(client: Client) -> None:
    stranger = client()

    def answer(name: str, password: str) -> tuple[int, str]:
        form = {"name": name, "password": password}
        told = stranger.post("/login", base_url=HERE, data=form, headers=FROM_OUR_PAGE)
        return told.status_code, told.get_data(as_text=True).replace(name, "")

    assert answer(READER, "not the right one") == answer("Nobody At All", "not the right one")
    assert answer(READER, "not the right one")[0] == 403
    assert not may_look(stranger)


def test_after_some_failures_one_has_to_wait_also_with_the_right_password(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    stranger = client()
    with monkeypatch.context() as quick:  # on a busy machine real checks would take longer than the wait
        quick.setattr("dashboard.access.people.is_right", lambda _typed, _kept: False)
        for _ in range(FREE):
            assert log_in(stranger, READER, "not the right one") == 403
    form = {"name": READER, "password": READERS_PASSWORD}
    answer = stranger.post("/login", base_url=HERE, data=form, headers=FROM_OUR_PAGE)
    assert answer.status_code == 429
    assert answer.headers["Retry-After"] == "1"
    assert "Wait 1 second" in answer.get_data(as_text=True)


def test_when_many_log_in_at_once_they_are_asked_to_come_again(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(passwords, "PATIENCE_S", 0.01)
    with passwords._at_once, passwords._at_once:
        form = {"name": READER, "password": READERS_PASSWORD}
        answer = client().post("/login", base_url=HERE, data=form, headers=FROM_OUR_PAGE)
    assert answer.status_code == 503
    assert "in a few seconds" in answer.get_data(as_text=True)


def test_what_was_typed_is_shown_again_as_text_and_the_password_never(client: Client) -> None:
    form = {"name": '"><script>alert(1)</script>', "password": "a password typed"}
    text = client().post("/login", base_url=HERE, data=form, headers=FROM_OUR_PAGE).get_data(as_text=True)
    assert "<script>" not in text
    assert "a password typed" not in text


def test_a_login_that_does_not_come_from_our_page_is_refused(client: Client) -> None:
    form = {"name": READER, "password": READERS_PASSWORD}
    for headers in (
        {},
        {"Origin": "https://evil.example"},
        {"Origin": "null"},
        {"Sec-Fetch-Site": "cross-site", "Origin": HERE},
        {"Sec-Fetch-Site": "same-site"},
        {"Sec-Fetch-Site": "none"},
    ):
        answer = client().post("/login", base_url=HERE, data=form, headers=headers)
        assert answer.status_code == 403
        assert "Set-Cookie" not in answer.headers


def cookie_given(client: flask.testing.FlaskClient, base_url: str) -> str:
    form = {"name": READER, "password": READERS_PASSWORD}
    answer = client.post("/login", base_url=base_url, data=form, headers={"Sec-Fetch-Site": "same-origin"})
    return str(answer.headers["Set-Cookie"])


def test_the_cookie_is_for_our_pages_and_no_script(client: Client) -> None:
    given_ = cookie_given(client(), HERE)
    assert given_.startswith("layakosh-")
    for part in ("HttpOnly", "SameSite=Lax", "Path=/", f"Max-Age={LIFETIME_S}"):
        assert part in given_
    assert "Secure" not in given_
    assert "Domain" not in given_


def test_behind_tls_the_cookie_goes_no_other_way(shared: Path) -> None:
    assert "Secure" in cookie_given(served_to(shared), "https://127.0.0.1")
    held = cookie_given(served_to(shared, proxy="127.0.0.1", names=("x.example",), https=True), "http://x.example")
    assert held.startswith("__Host-")
    assert "Secure" in held


def test_a_session_outlives_a_restart(shared: Path) -> None:
    before = make_app(shared).server.test_client()
    log_in(before, READER, READERS_PASSWORD)
    after = make_app(shared).server.test_client()
    assert not may_look(after)
    after._cookies = before._cookies
    assert may_look(after)


def test_logging_out_ends_the_session_for_whoever_has_a_copy_of_the_cookie(shared: Path, client: Client) -> None:
    reader, thief = client(READER), client()
    thief._cookies = dict(reader._cookies)
    assert may_look(thief)
    answer = reader.post("/logout", base_url=HERE, headers=FROM_OUR_PAGE)
    assert (answer.status_code, answer.headers["Location"]) == (303, "/login")
    assert '"cache"' in answer.headers["Clear-Site-Data"]
    assert not may_look(reader)
    assert not may_look(thief)
    again = make_app(shared).server.test_client()
    again._cookies = thief._cookies
    assert not may_look(again)


def test_a_new_password_and_being_removed_end_sessions_and_those_of_nobody_else(shared: Path, client: Client) -> None:
    reader, annotator = client(READER), client(ANNOTATOR)
    people = People(Archive.open(shared))
    people.set_password(READER, "nine slow rivers")
    assert not may_look(reader)
    assert may_look(annotator)
    people.remove(ANNOTATOR)
    assert not may_look(annotator)


def test_when_the_last_person_is_removed_it_does_not_open_to_everybody(shared: Path) -> None:
    served = served_to(shared, host="0.0.0.0")
    for name in (READER, ANNOTATOR):
        People(Archive.open(shared)).remove(name)
    assert not may_look(served)


def test_a_damaged_file_of_people_lets_nobody_in(shared: Path, client: Client) -> None:
    reader = client(READER)
    People(Archive.open(shared)).path.write_text("{")
    answer = reader.get("/", base_url=HERE)
    assert answer.status_code == 503
    assert "Nobody can log in" in answer.get_data(as_text=True)


def test_cookies_are_good_for_their_archive_and_their_time_only(
    shared: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    people = People(Archive.open(shared))
    sessions = Sessions(Archive.open(shared), people)
    found = people.find(READER)
    assert found is not None
    value = sessions.begin(found)
    assert sessions.person(value) == found.person
    other = Sessions(Archive.create(tmp_path / "other"), people)
    assert other.person(value) is None
    assert other.cookie != sessions.cookie
    now_s = time.time()
    monkeypatch.setattr("itsdangerous.timed.time", SimpleNamespace(time=lambda: now_s + LIFETIME_S + 2))
    assert sessions.person(value) is None


@given(value=st.text(max_size=200), at=st.integers(0, 400), sign=st.characters(codec="ascii"))
def test_no_made_up_or_changed_text_is_a_session(shared_once: Path, value: str, at: int, sign: str) -> None:
    people = People(Archive.open(shared_once))
    sessions = Sessions(Archive.open(shared_once), people)
    assert sessions.person(value) is None
    found = people.find(READER)
    assert found is not None
    good = sessions.begin(found)
    at %= len(good)
    changed = good[:at] + sign + good[at + 1 :]
    assert (sessions.person(changed) == found.person) == (changed == good)


@pytest.mark.skipif(os.name != "posix", reason="modes are POSIX's")
def test_the_key_and_the_ended_sessions_are_the_owners_alone(shared: Path, client: Client) -> None:
    client(READER).post("/logout", base_url=HERE, headers=FROM_OUR_PAGE)
    for name in ("key", "ended.json", "people.json"):
        assert (shared / "access" / name).stat().st_mode & 0o777 == 0o600


def test_one_is_logged_out_also_where_the_disk_is_full(
    shared: Path, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    reader = client(READER)
    thief = client()
    thief._cookies = dict(reader._cookies)

    def full(path: Path, content: bytes) -> None:
        raise CannotWrite(str(path), OSError(errno.ENOSPC, "No space left on device"))

    monkeypatch.setattr("dashboard.access.sessions.write_private", full)
    assert reader.post("/logout", base_url=HERE, headers=FROM_OUR_PAGE).status_code == 303
    assert not may_look(thief)


def test_a_damaged_key_is_told_and_not_replaced(shared: Path) -> None:
    key = shared / "access" / "key"
    key.write_text("too short")
    key.chmod(0o600)
    with pytest.raises(BadPeopleFile, match="log in again"):
        Sessions(Archive.open(shared), People(Archive.open(shared)))
    assert key.read_text() == "too short"


@pytest.mark.parametrize(
    ("to", "place"),
    [
        ("/tihais?verdict=late", "/tihais?verdict=late"),
        ("/cycles/desh%20x", "/cycles/desh%20x"),
        ("", "/"),
        ("https://evil.example/", "/"),
        ("//evil.example", "/"),
        ("/\\evil.example", "/"),
        ("\\\\evil.example", "/"),
        ("javascript:alert(1)", "/"),
        ("/login?to=/", "/"),
        ("/logout", "/"),
        ("/a\r\nSet-Cookie: x=1", "/"),
        ("http:///evil.example", "/"),
        ("/\t/evil.example", "/"),
    ],
)
def test_after_logging_in_one_stays_here(to: str, place: str) -> None:
    assert inside(to) == place


@given(st.text(alphabet=st.sampled_from("/\\:@.?#%evilh tps\t\r\n\x00"), max_size=30))
def test_no_address_leads_elsewhere(to: str) -> None:
    place = inside(to)
    parts = urlsplit(place)
    assert place.startswith("/")
    assert not place.startswith(("//", "/\\"))
    assert (parts.scheme, parts.netloc) == ("", "")
    assert not any(ord(sign) < 33 for sign in place)
