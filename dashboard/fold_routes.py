"""Routes by which the folded page fetches itself: its outline at once, what stands in its rows as they come near.

    GET /outline/<slug>                          how the page is laid out (?early: 204 where there is no such recording,
                                                 for a browser that asks before it knows)
    GET /rows/<slug>?from=0&to=24&cells=64       what stands in rows 0 to 23, a column in 64 steps

Conventions: JSON, compressed by the application. Both answers carry an ETag that changes with every revision and with
the evidence, and are asked for again each time: 304 when nothing is new. A slug is looked up in the archive, never
joined to a path; whatever else is asked is told in a sentence, ``{"error": ...}``, with status 400 or 404.
"""

from __future__ import annotations

from typing import Any

import flask

from annotate.errors import NoSuchRecording
from dashboard.answering import refusal, tagged
from dashboard.folded import CELLS
from dashboard.library import Library

MOST_ROWS = 256


def fold_routes(library: Library) -> flask.Blueprint:
    """Make the routes for an archive."""
    routes = flask.Blueprint("fold", __name__)

    @routes.get("/outline/<slug>")
    def outline(slug: str) -> flask.Response:
        if "early" in flask.request.args and slug not in library.archive:
            return flask.Response(status=204)
        return _answer(library, slug, lambda fold: fold.outline)

    @routes.get("/rows/<slug>")
    def rows(slug: str) -> flask.Response:
        wanted = [flask.request.args.get(name, type=int) for name in ("from", "to", "cells")]
        if None in wanted:
            return refusal("Expected ?from=, &to= and &cells=, each a whole number.", 400)
        first, last, cells = (number for number in wanted if number is not None)
        if cells not in CELLS or not 0 <= last - first <= MOST_ROWS:
            return refusal(f"Expected at most {MOST_ROWS} rows and cells out of {', '.join(map(str, CELLS))}.", 400)
        return _answer(
            library,
            slug,
            lambda fold: {"version": fold.version, "from": max(first, 0), "rows": fold.details(first, last, cells)},
        )

    return routes


def _answer(library: Library, slug: str, content_of: Any) -> flask.Response:
    """Answer with what a fold gives."""
    try:
        version = library.version(slug)
    except NoSuchRecording as error:
        return refusal(str(error), 404)
    return tagged(version, lambda: content_of(library.fold(slug)))
