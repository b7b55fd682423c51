"""The requests of the page of proposals.

    GET  /proposed/<slug>          a recording's proposals, ranked, and what is known of them all (`shown.page_of`)
    GET  /proposed/<slug>/<key>    one of them: its sum, and the rows that it runs through
    POST /proposed/<slug>/look     {anew, mukhra}          look for tihais, beside the server
    POST /proposed/<slug>/accept   {key, palla}            ->  {said, tihai, revision}
    POST /proposed/<slug>/reject   {key}                   ->  {said, tihai, revision}
    POST /proposed/<slug>/undo, /redo                      ->  {said, revision}

Conventions: JSON both ways; a fault is told as ``{"error": ...}``: 404 where there is no such recording or proposal,
409 where it is decided already or the grid has changed, else 422. Readers may look; the gate refuses what they would
write.
"""

from __future__ import annotations

from typing import Any, Literal

import flask

from annotate.errors import BadAnnotation, NoSuchRecording
from annotate.proposals.errors import CannotDecide, NoSuchProposal
from annotate.proposals.proposed import Proposed
from dashboard.answering import answer, refusal, tagged
from dashboard.library import Library
from dashboard.marking import writing
from dashboard.proposals import shown
from dashboard.proposals.deciding import accepted, rejected, without_commands
from dashboard.proposals.runs import Runs

MOST_TEXT = 4000
MOST_MATRAS = 256


def proposals_routes(library: Library, runs: Runs) -> flask.Blueprint:
    """Make the routes for an archive."""
    routes = flask.Blueprint("proposals", __name__, url_prefix="/proposed/<slug>")
    archive = library.archive
    for error in (NoSuchRecording, NoSuchProposal):
        routes.register_error_handler(error, lambda error: refusal(str(error), 404))
    routes.register_error_handler(CannotDecide, lambda error: refusal(without_commands(str(error)), 409))

    @routes.get("")
    def listed(slug: str) -> flask.Response:
        run = runs.of(slug)
        return tagged(shown.version(library, slug, run), lambda: shown.page_of(library, slug, run))

    @routes.get("/<key>")
    def opened(slug: str, key: str) -> flask.Response:
        chosen = _chosen(library, slug, key)
        return tagged(f"{shown.version(library, slug, None)} {key}", lambda: shown.one_of(library, slug, chosen))

    @routes.post("/look")
    def look(slug: str) -> flask.Response:
        told, matra = _told(), _told().get("mukhra")
        if matra is not None and (isinstance(matra, bool) or not isinstance(matra, int) or not 0 < matra < MOST_MATRAS):
            raise BadAnnotation("Expected the matra on which the mukhra begins as a whole number; sam is 1.")
        archive.state(slug)
        runs.begin(slug, anew=told.get("anew") is True, mukhra=matra)
        return answer({"said": "Looking for tihais."}, 202)

    @routes.post("/accept")
    def accept(slug: str) -> flask.Response:
        told = _told()
        done, said = accepted(archive, slug, _text(told, "key"), _text(told, "palla").strip())
        return _written(slug, said, done.tihai.tihai)

    @routes.post("/reject")
    def reject(slug: str) -> flask.Response:
        done, said = rejected(archive, slug, _text(_told(), "key"))
        return _written(slug, said, done.tihai.tihai)

    @routes.post("/undo")
    def undo(slug: str) -> flask.Response:
        return _gone(slug, "undo")

    @routes.post("/redo")
    def redo(slug: str) -> flask.Response:
        return _gone(slug, "redo")

    def _gone(slug: str, kind: Literal["undo", "redo"]) -> flask.Response:
        return _written(slug, writing.go_back(archive, slug, kind), "")

    def _written(slug: str, said: str, tihai: str) -> flask.Response:
        return answer({"said": said, "tihai": tihai, "revision": archive.state(slug).revision})

    return routes


def _chosen(library: Library, slug: str, key: str) -> Proposed:
    every = shown.known(library, slug) or ()
    chosen = next((each for each in every if each.key == key), None)
    if chosen is None:
        raise NoSuchProposal(key, slug, [each.key for each in every])
    return chosen


def _told() -> dict[str, Any]:
    told = flask.request.get_json(silent=True)
    if not isinstance(told, dict):
        raise BadAnnotation("Expected JSON with names and values. Load the page again.")
    return told


def _text(told: dict[str, Any], name: str) -> str:
    value = told.get(name, "")
    if not isinstance(value, str) or len(value) > MOST_TEXT:
        raise BadAnnotation(f"Expected a text of at most {MOST_TEXT} characters under '{name}'.")
    return value
