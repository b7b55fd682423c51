"""The requests by which recordings that were sent are taken in. Annotators only.

    GET    /in-hand                 {orders: [...]}: one's own, as ``Work.listed`` tells them
    POST   /in-hand                 {files: [{number, role}], title, raga, talas, ...}  ->  201 {number}
    POST   /in-hand/NUMBER/again    try what failed again
    DELETE /in-hand/NUMBER          cancel it, or dismiss what has ended

Conventions: JSON; a refusal is ``{error}``. Files are named by the numbers under which they were sent.
"""

from __future__ import annotations

from datetime import date
from typing import Any, cast

import flask

from annotate.errors import BadAnnotation
from annotate.history.fields import with_fields
from annotate.records import Recording
from dashboard.access.at_hand import at_hand
from dashboard.answering import answer
from dashboard.concerts.listed import suggestions
from dashboard.concerts.markup import markup
from dashboard.concerts.orders import ROLES, SentFile
from dashboard.concerts.work import Work
from dashboard.library import Library
from dashboard.marking.shown import WHO
from theory.talas import get_tala

MOST_TEXT = 10_000
MOST_FILES = 24
_ROLE_WORDS = {
    "whole": "everything together",
    "melody": "the lead alone",
    "tabla": "the tabla alone",
    "drone": "the tanpura alone",
}


def adding_routes(library: Library, work: Work) -> flask.Blueprint:
    """Make the routes for an archive."""
    routes = flask.Blueprint("work", __name__)

    @routes.get("/in-hand")
    def listed() -> flask.Response:
        return answer({"orders": work.listed(at_hand())})

    @routes.post("/in-hand")
    def begin() -> flask.Response:
        told = flask.request.get_json(silent=True)
        if not isinstance(told, dict):
            raise BadAnnotation("Expected JSON with files and what is said of them. Load the page again.")
        title, how = _how(told)
        files = _files(told)
        how["who"] = library.archive.signature(WHO)
        return answer({"number": work.begin(at_hand(), title, files, how).number}, 201)

    @routes.post("/in-hand/<number>/again")
    def again(number: str) -> flask.Response:
        work.again(at_hand(), number)
        return answer({})

    @routes.delete("/in-hand/<number>")
    def drop(number: str) -> tuple[str, int]:
        work.drop(at_hand(), number)
        return "", 204

    return routes


def adding_markup() -> str:
    """Return the form by which recordings are added."""
    return markup("add", {**suggestions(), "today": date.today().isoformat(), "roles": list(_ROLE_WORDS.items())})


def _files(told: dict[str, Any]) -> list[SentFile]:
    rows = told.get("files")
    if not isinstance(rows, list) or not 0 < len(rows) <= MOST_FILES or not all(isinstance(row, dict) for row in rows):
        raise BadAnnotation(f"Expected 1 to {MOST_FILES} files of one recording. Choose the files again.")
    files = [SentFile(str(row.get("number", "")), "", str(row.get("role", "whole"))) for row in rows]
    if any(file.role not in ROLES for file in files):
        raise BadAnnotation(f"A file holds one of {', '.join(ROLES)}. Load the page again.")
    if all(file.role == "drone" for file in files):
        raise BadAnnotation("There is only a tanpura in these files. Add the file with the lead.")
    return files


def _how(told: dict[str, Any]) -> tuple[str, dict[str, Any]]:
    """Return the title and what :func:`annotate.intake.take_in` is told beside it.

    Raises
    ------
    theory.errors.LayakoshError
        A field that is missing or cannot be read.
    """
    texts = {name: _text(told, name) for name in ("title", "raga", "on", "venue", "lead", "musicians", "sa", "notes")}
    if not texts["raga"]:
        raise BadAnnotation("Say which raga it is, or 'unknown'.")
    talas = told.get("talas")
    if not isinstance(talas, list) or not talas:
        raise BadAnnotation("Choose the tala; several where it changes or you are not sure.")
    recording = cast(Recording, with_fields(Recording("", ""), texts))
    return recording.title, {
        "raga": recording.raga,
        "tala": [get_tala(str(tala)[:MOST_TEXT]).key for tala in talas],
        "sa": recording.sa_hz,
        "performed_on": recording.performed_on.isoformat() if recording.performed_on else None,
        "venue": recording.venue,
        "lead": recording.lead,
        "musicians": [list(pair) for pair in recording.musicians],
        "notes": recording.notes,
    }


def _text(told: dict[str, Any], name: str) -> str:
    value = told.get(name, "")
    if not isinstance(value, str) or len(value) > MOST_TEXT:
        raise BadAnnotation(f"Expected a text of at most {MOST_TEXT} characters under '{name}'.")
    return value.strip()
