"""The gate: what every request passes before anything answers it.

In this order: it is meant for us (``Host``); it comes from a page of ours; somebody has logged in where one has to; a
reader asks for nothing that changes something. Whoever passes is at hand (:mod:`dashboard.access.at_hand`) until the
request is answered.

A POST is refused to readers unless its view is marked with :func:`only_reads`, so that a route nobody thought of is
closed to them; Dash's callbacks pass, and the archive refuses what they would write.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from contextlib import ExitStack
from typing import Any, TypeVar
from urllib.parse import quote

import flask

from annotate.errors import CannotWrite
from dashboard.access.at_hand import LOCAL, NOBODY, Person, acting_as
from dashboard.access.guarded import refuse_reader
from dashboard.access.origin import changes_something, comes_from_us
from dashboard.access.people import People
from dashboard.access.sessions import Sessions
from dashboard.access.sharing import Sharing
from dashboard.errors import BadPeopleFile, MayNotEdit, SendingRefused
from theory.errors import LayakoshError

View = TypeVar("View", bound=Callable[..., Any])
OPEN_PATHS = ("/assets/", "/_favicon.ico")
"""Answered to everybody: style sheets and code, the same for every archive."""
_FORWARDED = ("Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Real-Ip")
log = logging.getLogger("layakosh.access")


class Access:
    """Who may come in: the people, their sessions, and how the dashboard is served."""

    def __init__(self, people: People, sessions: Callable[[], Sessions], sharing: Sharing) -> None:
        self.people = people
        self.sharing = sharing
        self._sessions = sessions
        self._begun: Sessions | None = None

    @property
    def sessions(self) -> Sessions:
        """The sessions; the archive's key is made when somebody first logs in."""
        if self._begun is None:
            self._begun = self._sessions()
        return self._begun

    @property
    def cookie(self) -> str:
        """The cookie's name; by its beginning a browser holds to it that it came by https, from this host alone."""
        return f"__Host-{self.sessions.cookie}" if self.sharing.https else self.sessions.cookie

    def login_needed(self) -> bool:
        """Whether people have to log in: where others reach the dashboard, and wherever people are named."""
        return self.sharing.beyond_this_machine or bool(self.people.all())

    def person(self, request: flask.Request) -> Person | None:
        """Return whose request this is; None where one has to log in and has not."""
        if not self.login_needed():
            return LOCAL
        value = request.cookies.get(self.cookie)
        return self.sessions.person(value) if value else None


def only_reads(view: View) -> View:
    """Mark a view that answers a POST and changes nothing, so that readers may ask for it."""
    view.only_reads = True  # type: ignore[attr-defined]
    return view


def without_login(view: View) -> View:
    """Mark a view that is there for people who have not logged in."""
    view.without_login = True  # type: ignore[attr-defined]
    return view


def keep_gate(server: flask.Flask, access: Access) -> None:
    """Put the gate before everything that a server answers."""

    @server.before_request
    def enter() -> Any:
        request = flask.request
        if not access.sharing.is_ours(request.headers.get("Host", "")):
            return _plain(
                "This dashboard does not go by that name. Open it by its address; if the name is right, "
                "start it with --name NAME.",
                421,
            )
        needed = access.login_needed()
        if not needed and any(name in request.headers for name in _FORWARDED):
            return _plain(
                "This request came through a proxy, and nobody has to log in here. Add people and start with "
                "--behind-proxy, or take the proxy away.",
                403,
            )
        if not comes_from_us(request, https=access.sharing.https, said=needed):
            return _plain("Another site's page asked for this. Open the dashboard itself and try again.", 403)
        view = server.view_functions.get(request.endpoint or "")
        person = access.person(request)
        if person is None and not request.path.startswith(OPEN_PATHS) and not hasattr(view, "without_login"):
            return _to_login(request)
        _be_at_hand(person or NOBODY)
        if person is not None and changes_something(request) and not _for_readers(request, view):
            refuse_reader(person)
        return None

    @server.teardown_request
    def leave(_error: BaseException | None) -> None:
        stack = flask.g.pop("at_hand", None)
        if stack is not None:
            stack.close()

    server.register_error_handler(MayNotEdit, lambda error: _told(error, 403))
    server.register_error_handler(SendingRefused, lambda error: _told(error, error.status))
    server.register_error_handler(CannotWrite, lambda error: _told(error, 507))
    server.register_error_handler(LayakoshError, lambda error: _told(error, 422))

    @server.errorhandler(BadPeopleFile)
    def closed(error: BadPeopleFile) -> Any:
        log.error("%s", error)
        return _plain("Nobody can log in at the moment: the file of people cannot be read. See the server's log.", 503)


def _be_at_hand(person: Person) -> None:
    stack = ExitStack()
    stack.enter_context(acting_as(person))
    flask.g.at_hand = stack


def _for_readers(request: flask.Request, view: Any) -> bool:
    return request.path == "/_dash-update-component" or hasattr(view, "only_reads") or hasattr(view, "without_login")


def _to_login(request: flask.Request) -> Any:
    """Send a page to the login and say so to whatever else asked."""
    destination = request.headers.get("Sec-Fetch-Dest", "document" if request.accept_mimetypes.accept_html else "")
    if request.method == "GET" and destination == "document":
        wanted = request.full_path.removesuffix("?")
        return flask.redirect(f"/login?to={quote(wanted, safe='/')}" if wanted != "/" else "/login", 303)
    response = flask.jsonify(error="You are not logged in, or no longer. Log in and try again.")
    response.status_code = 403  # 401 is for logins that the browser itself asks for
    response.headers["X-Layakosh"] = "log in"
    return response


def _plain(words: str, status: int) -> flask.Response:
    return flask.Response(f"{words}\n", status, mimetype="text/plain")


def _told(error: LayakoshError, status: int) -> Any:
    response = flask.jsonify(error=str(error))
    response.status_code = status
    return response
