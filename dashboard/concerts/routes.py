"""The requests of the list of performances and of a performance's details.

    GET  /performances?...           the list for an address, as markup
    GET  /details/<slug>            the details of a performance, as markup
    POST /details/<slug>            {fields: {word: text}, seen, keep}  ->  {said}; 409 with both versions on a conflict
    POST /details/<slug>/withdraw   withdraw the recording  ->  {said, to}
    POST /withdrawn/<slug>/back     bring it back  ->  {said, to}

Conventions: JSON; a fault is told as ``{"error": ...}``. Readers may ask for all that is got.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, cast, get_args

import flask

from annotate.archive import Archive
from annotate.errors import ConflictingEdit, NoSuchRecording, NotWithdrawn
from annotate.history.merging import Keep
from dashboard.access.at_hand import at_hand
from dashboard.answering import answer, refusal
from dashboard.concerts import details, withdrawn
from dashboard.concerts.asked import Asked, read
from dashboard.concerts.listed import choices_of, list_of
from dashboard.concerts.markup import markup
from dashboard.library import Library
from dashboard.marking.shown import conflict_of
from theory.errors import LayakoshError

MOST_TEXT = 10_000


def concerts_routes(library: Library) -> flask.Blueprint:
    """Make the routes for an archive."""
    routes = flask.Blueprint("concerts", __name__)

    @routes.get("/performances")
    def parts() -> flask.Response:
        return answer({"list": list_markup(library, read(flask.request.args))})

    @routes.get("/details/<slug>")
    def see(slug: str) -> flask.Response:
        try:
            return answer({"details": details_markup(library, slug)})
        except NoSuchRecording as error:
            return refusal(str(error), 404)

    @routes.post("/details/<slug>")
    def write(slug: str) -> flask.Response:
        told = flask.request.get_json(silent=True)
        told = told if isinstance(told, dict) else {}
        fields, seen, keep = told.get("fields"), told.get("seen"), told.get("keep")
        if not isinstance(fields, dict) or not _are_texts(fields) or not isinstance(seen, int) or not 0 < seen < 10**8:
            return refusal("Texts by field and the revision they were looked at on were expected. Load it again.", 400)
        try:
            return answer(
                {"said": details.write(library, slug, fields, seen, cast(Keep, keep if keep in get_args(Keep) else ""))}
            )
        except ConflictingEdit as error:
            return answer({"error": str(error).splitlines()[0], "conflict": conflict_of(error)}, 409)
        except NoSuchRecording as error:
            return refusal(str(error), 404)
        except LayakoshError as error:
            return refusal(str(error), 400)

    @routes.post("/details/<slug>/withdraw")
    def withdraw(slug: str) -> flask.Response:
        return _turned(withdrawn.withdraw, slug)

    @routes.post("/withdrawn/<slug>/back")
    def bring_back(slug: str) -> flask.Response:
        return _turned(withdrawn.bring_back, slug)

    def _turned(act: Callable[[Archive, str], dict[str, str]], slug: str) -> flask.Response:
        try:
            return answer(act(library.archive, slug))
        except NoSuchRecording as error:
            return refusal(str(error), 404)
        except NotWithdrawn as error:
            return refusal(str(error), 409)

    return routes


def concerts_parts(library: Library, asked: Asked) -> dict[str, str]:
    """Return the parts of the page that lists performances, as markup by name."""
    performances = library.overviews()
    if not performances:
        return {"list": markup("empty", {"may_edit": at_hand().may_edit})}
    return {"filters": markup("filters", choices_of(performances, asked)), "list": list_markup(library, asked)}


def list_markup(library: Library, asked: Asked) -> str:
    """Return the list for what is asked, as markup."""
    return markup("list", list_of(library.overviews(), asked, library.waiting))


def details_markup(library: Library, slug: str) -> str:
    """Return a performance's details as markup.

    Raises
    ------
    annotate.errors.NoSuchRecording
    """
    return markup("details", details.shown(library, slug))


def withdrawn_markup(library: Library) -> str:
    """Return the list of withdrawn recordings as markup."""
    return markup("withdrawn", withdrawn.shown(library.archive))


def _are_texts(fields: dict[Any, Any]) -> bool:
    return all(isinstance(v, str) and len(v) <= MOST_TEXT for v in fields.values())
