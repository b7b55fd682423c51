"""The routes by which a recording comes from the browser, piece by piece. Annotators only.

::

    POST   /sent                  {"name": "evening.flac", "size": 43210987}  ->  201 {number, received, piece}
    GET    /sent/NUMBER                                                       ->  {number, name, size, received, piece}
    PUT    /sent/NUMBER?from=N    the bytes from N on, at most `piece`        ->  {received}
    POST   /sent/NUMBER/whole                                                 ->  {number, name, container, duration_s}
    DELETE /sent/NUMBER                                                       ->  204

A refusal is ``{error}`` with what to do, and of a piece that was not the next one (409) ``received`` says where to go
on. What is whole and sound waits for a taking in, which asks :class:`dashboard.access.sending.Sendings` for it by its
number; nothing in these requests is ever a path.
"""

from __future__ import annotations

from typing import Any

import flask

from dashboard.access.at_hand import at_hand
from dashboard.access.sending import LONGEST_PIECE, Sending, Sendings
from dashboard.errors import SendingRefused

LONGEST_NAME = 1000
PIECE = LONGEST_PIECE // 2
"""What pieces are best sent in: small enough that progress is seen on a slow line."""


def sending_routes(sendings: Sendings) -> flask.Blueprint:
    """Make the routes."""
    routes = flask.Blueprint("sent", __name__)

    @routes.post("/sent")
    def begin() -> Any:
        told = flask.request.get_json(silent=True)
        name = told.get("name") if isinstance(told, dict) else None
        size = told.get("size") if isinstance(told, dict) else None
        if not isinstance(name, str) or not isinstance(size, int) or isinstance(size, bool):
            raise SendingRefused('JSON {"name": the file\'s name, "size": its length in bytes} was expected.', 400)
        return _told(sendings.begin(at_hand(), name[-LONGEST_NAME:], size)), 201

    @routes.get("/sent/<number>")
    def see(number: str) -> Any:
        return _told(sendings.find(at_hand(), number))

    @routes.put("/sent/<number>")
    def add(number: str) -> Any:
        request = flask.request
        at = request.args.get("from", type=int)
        if at is None or request.content_length is None:
            raise SendingRefused("The piece's place (?from=N) and its length were expected.", 400)
        try:
            return {"received": sendings.add(at_hand(), number, at, request.stream, request.content_length)}
        except SendingRefused as refused:
            if refused.status != 409:
                raise
            received = sendings.find(at_hand(), number).received
            return flask.jsonify(error=str(refused), received=received), 409

    @routes.post("/sent/<number>/whole")
    def whole(number: str) -> Any:
        sending, found = sendings.find(at_hand(), number), sendings.look(at_hand(), number)
        return {
            "number": number,
            "name": sending.shown,
            "container": found.container,
            "duration_s": found.duration_s,
        }

    @routes.delete("/sent/<number>")
    def drop(number: str) -> Any:
        sendings.drop(at_hand(), number)
        return "", 204

    return routes


def _told(sending: Sending) -> dict[str, Any]:
    return {
        "number": sending.number,
        "name": sending.shown,
        "size": sending.size,
        "received": sending.received,
        "piece": PIECE,
    }
