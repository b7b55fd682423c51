"""Routes by which the folded page fetches itself: its outline at once, what stands in its rows as they come near.

    GET /outline/<slug>                          how the page is laid out
    GET /rows/<slug>?from=0&to=24&cells=64       what stands in rows 0 to 23, a column in 64 steps

Conventions: JSON, compressed by the application. Both answers carry an ETag that changes with every revision and with
the evidence, and are asked for again each time: 304 when nothing is new. A slug is looked up in the archive, never
joined to a path; whatever else is asked is told in a sentence, ``{"error": ...}``, with status 400 or 404.
"""

from __future__ import annotations

import hashlib
import json
from typing import Any

import flask

from annotate.errors import NoSuchRecording
from dashboard.folded import CELLS
from dashboard.library import Library

MOST_ROWS = 256


def fold_routes(library: Library) -> flask.Blueprint:
    """Make the routes for an archive."""
    routes = flask.Blueprint("fold", __name__)

    @routes.get("/outline/<slug>")
    def outline(slug: str) -> flask.Response:
        return _answer(library, slug, lambda fold: fold.outline)

    @routes.get("/rows/<slug>")
    def rows(slug: str) -> flask.Response:
        wanted = [flask.request.args.get(name, type=int) for name in ("from", "to", "cells")]
        if None in wanted:
            return _told("Expected ?from=, &to= and &cells=, each a whole number.", 400)
        first, last, cells = (number for number in wanted if number is not None)
        if cells not in CELLS or not 0 <= last - first <= MOST_ROWS:
            return _told(f"Expected at most {MOST_ROWS} rows and cells out of {', '.join(map(str, CELLS))}.", 400)
        return _answer(
            library,
            slug,
            lambda fold: {"version": fold.version, "from": max(first, 0), "rows": fold.details(first, last, cells)},
        )

    return routes


def _answer(library: Library, slug: str, content_of: Any) -> flask.Response:
    """Answer with what a fold gives; not even made when the browser has it already."""
    try:
        version = library.version(slug)
    except NoSuchRecording as error:
        return _told(str(error), 404)
    etag = hashlib.blake2b(version.encode(), digest_size=12).hexdigest()
    # the compression adds its name to the tag it sends, so what comes back is ours and a name
    if any(known.partition(":")[0] == etag for known in flask.request.if_none_match.as_set()):
        response = flask.Response(status=304)
    else:
        response = _json(content_of(library.fold(slug)), 200)
    response.set_etag(etag)
    response.headers["Cache-Control"] = "private, no-cache"
    return response


def _told(message: str, status: int) -> flask.Response:
    return _json({"error": message}, status)


def _json(content: Any, status: int) -> flask.Response:
    return flask.Response(json.dumps(content, separators=(",", ":")), status, mimetype="application/json")
