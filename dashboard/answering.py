"""Answers in JSON, as the routes of pages give them.

Conventions: whatever is asked wrongly is told in a sentence, ``{"error": ...}``. What follows from a version alone
carries an ETag that is made of it, and is asked for again each time: 304 when nothing is new.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from typing import Any

import flask


def answer(content: Any, status: int = 200) -> flask.Response:
    """Answer with plain values."""
    return flask.Response(json.dumps(content, separators=(",", ":")), status, mimetype="application/json")


def refusal(message: str, status: int) -> flask.Response:
    """Answer with what is wrong."""
    return answer({"error": message}, status)


def tagged(version: str, content_of: Callable[[], Any]) -> flask.Response:
    """Answer with what a version gives; it is not even made when the browser has it already."""
    etag = hashlib.blake2b(version.encode(), digest_size=12).hexdigest()
    # the compression adds its name to the tag it sends, so what comes back is ours and a name
    if any(known.partition(":")[0] == etag for known in flask.request.if_none_match.as_set()):
        response = flask.Response(status=304)
    else:
        response = answer(content_of())
    response.set_etag(etag)
    response.headers["Cache-Control"] = "private, no-cache"
    return response
