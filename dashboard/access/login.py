"""Logging in and out: a page of the server's own, which works without JavaScript.

A wrong name and a wrong password are answered alike, and after as long. Where to go afterwards comes from the address,
and is only ever a place on this server.
"""

from __future__ import annotations

import math
from urllib.parse import urlsplit

import flask

from annotate.errors import CannotWrite
from dashboard.access.attempts import Attempts
from dashboard.access.gate import Access, log, without_login
from dashboard.access.people import Kept
from dashboard.access.sessions import LIFETIME_S
from dashboard.errors import TooManyAtOnce

_WRONG = "That is not the name and password of anybody here. Look at capitals and the keyboard's language."
LONGEST_FIELD = 1000
"""Of a form's field; names and passwords are shorter, and nothing longer is looked at."""


def login_routes(access: Access, attempts: Attempts | None = None) -> flask.Blueprint:
    """Make the routes ``/login`` and ``/logout``."""
    tried = attempts or Attempts()
    routes = flask.Blueprint("login", __name__, template_folder="templates")

    @routes.get("/login")
    @without_login
    def ask() -> flask.typing.ResponseReturnValue:
        to = inside(flask.request.args.get("to", ""))
        if access.person(flask.request) is not None:
            return flask.redirect(to, 303)
        return _page(to)

    @routes.post("/login")
    @without_login
    def log_in() -> flask.typing.ResponseReturnValue:
        form = flask.request.form
        to = inside(form.get("to", ""))
        name, password = form.get("name", "")[:LONGEST_FIELD], form.get("password", "")[:LONGEST_FIELD]
        address = flask.request.remote_addr or ""
        wait_s = tried.begin(address, name)
        if wait_s > 0:
            seconds = math.ceil(wait_s)
            log.warning("login from %s has to wait %d s after too many that failed", address, seconds)
            page = _page(to, f"Too many logins have failed. Wait {_spoken(seconds)} and try again.", name, 429)
            page.headers["Retry-After"] = str(seconds)
            return page
        try:
            kept = access.people.who_logs_in(name, password)
        except TooManyAtOnce as error:
            return _page(to, str(error), name, 503)
        if kept is None:
            log.warning("login from %s failed", address)
            return _page(to, _WRONG, name, 403)
        tried.succeeded(address, name)
        log.info("%s logged in from %s", kept.person.name, address)
        return _with_cookie(access, kept, to)

    @routes.post("/logout")
    @without_login
    def log_out() -> flask.typing.ResponseReturnValue:
        value = flask.request.cookies.get(access.cookie, "")
        try:
            access.sessions.end(value)
        except CannotWrite as error:
            log.error("a session has ended until the server is started again only: %s", error)
        response = flask.redirect("/login", 303)
        response.delete_cookie(access.cookie, path="/", httponly=True, samesite="Lax", secure=_secure(access))
        response.headers["Clear-Site-Data"] = '"cache", "storage"'  # what was heard and seen stays with nobody
        return response

    return routes


def inside(to: str) -> str:
    """Return where to go after logging in: a path on this server, ``/`` for anything else."""
    try:
        parts = urlsplit(to)
    except ValueError:
        return "/"
    odd = parts.scheme or parts.netloc or "\\" in to or any(ord(sign) < 33 or ord(sign) == 127 for sign in to)
    if odd or not to.startswith("/") or to.startswith("//") or parts.path.rstrip("/") in ("/login", "/logout"):
        return "/"
    return to


def _with_cookie(access: Access, kept: Kept, to: str) -> flask.typing.ResponseReturnValue:
    response = flask.redirect(to, 303)
    response.set_cookie(
        access.cookie,
        access.sessions.begin(kept),
        max_age=LIFETIME_S,
        path="/",
        httponly=True,
        samesite="Lax",
        secure=_secure(access),
    )
    return response


def _secure(access: Access) -> bool:
    return access.sharing.https or flask.request.is_secure


def _page(to: str, wrong: str = "", name: str = "", status: int = 200) -> flask.Response:
    page = flask.make_response(flask.render_template("login.html", to=to, wrong=wrong, name=name), status)
    page.headers["Cache-Control"] = "no-store"
    return page


def _spoken(seconds: int) -> str:
    if seconds < 90:
        return f"{seconds} second{'' if seconds == 1 else 's'}"
    return f"{math.ceil(seconds / 60)} minutes"
