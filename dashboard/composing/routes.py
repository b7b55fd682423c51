"""The page's answers.

    GET  /compose/answer?...             all parts of the page for an address, as markup by name
    GET  /compose/kept                   the list of what is kept, as markup
    GET  /compose/score?...              what sounds of the piece that an address opens
    GET  /compose/sound/<name>.flac?sa=  one stroke
    POST /compose/keep                   keep the piece that an address opens, or change what is kept
    POST /compose/take-out, /put-back    of what is kept

Conventions: JSON, whose markup comes from templates that escape what they are given. A fault is told as
``{"error": ...}`` with status 400, 404 or 409. Readers may ask for all that is got; the archive refuses what they would
write.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import flask

from annotate.compositions.shelf import Kept, Shelf
from annotate.shelves.errors import NoSuchThing, ThingChanged
from dashboard.access.at_hand import at_hand
from dashboard.composing.asked import PATH, Asked, address, composition_fields, composition_of, read
from dashboard.composing.score import score_of
from dashboard.composing.shelf_page import kept_of, opened_from
from dashboard.composing.shown import counted_of, form_of, found_of, opened_of
from dashboard.composing.sounds import sound_flac
from dashboard.errors import MayNotEdit
from dashboard.glossary import meaning
from dashboard.library import Library
from theory.errors import LayakoshError

WHO = "dashboard"


def composing_routes(library: Library) -> flask.Blueprint:
    """Make the routes for an archive."""
    routes = flask.Blueprint("compose", __name__, template_folder="templates")
    shelf = Shelf(library.archive)

    @routes.get(f"{PATH}/answer")
    def answer() -> flask.Response:
        return _json(parts_of(shelf, read(flask.request.args)))

    @routes.get(f"{PATH}/kept")
    def kept() -> flask.Response:
        return _json({"kept": _markup("kept", kept_of(shelf, may_keep=at_hand().may_edit))})

    @routes.get(f"{PATH}/score")
    def score() -> flask.Response:
        asked = read(flask.request.args)
        if asked.piece is None:
            return _told(next(iter(asked.wrong.values()), "No tihai stands in this address."), 400)
        return _json(score_of(asked.piece))

    @routes.get(f"{PATH}/sound/<name>.flac")
    def sound(name: str) -> flask.Response:
        asked = read(flask.request.args)
        made = sound_flac(name, int(asked.fields["sa"]))
        if made is None:
            return _told("There is no such sound.", 404)
        response = flask.Response(made, mimetype="audio/flac")
        response.headers["Cache-Control"] = "private, max-age=3600"
        return response

    @routes.post(f"{PATH}/keep")
    def keep() -> flask.Response:
        form = flask.request.form
        asked = read(form)
        composition = _said(lambda: composition_of(asked, form.get("name", ""), form.get("notes", "")))
        if isinstance(composition, flask.Response):
            return composition
        key = form.get("key", "")
        done = _said(
            lambda: (
                shelf.change(key, composition, seen=_number(form.get("seen", "")), who=WHO)
                if key
                else shelf.keep(composition, who=WHO)
            )
        )
        return done if isinstance(done, flask.Response) else _kept(done, asked)

    @routes.post(f"{PATH}/take-out")
    def take_out() -> flask.Response:
        form = flask.request.form
        done = _said(lambda: shelf.withdraw(form.get("key", ""), seen=_number(form.get("seen", "")), who=WHO))
        return done if isinstance(done, flask.Response) else _json({"said": f"{done.content.name} is taken out."})

    @routes.post(f"{PATH}/put-back")
    def put_back() -> flask.Response:
        done = _said(lambda: shelf.put_back(flask.request.form.get("key", ""), who=WHO))
        return done if isinstance(done, flask.Response) else _json({"said": f"{done.content.name} is put back."})

    return routes


def parts_of(shelf: Shelf, asked: Asked) -> dict[str, Any]:
    """Return all parts of the page for what is asked, as markup by name, and what of it cannot be read."""
    may_keep = at_hand().may_edit
    kept = _opened_kept(shelf, asked)
    opened = opened_of(asked, may_keep=may_keep)
    form = form_of(asked)
    found = found_of(asked)
    shown = {"nothing": True} if opened is None else {**opened, **opened_from(kept), "sas": form["sas"]}
    return {
        "form": _markup("form", form),
        "found": _markup("found", found),
        "opened": _markup("opened", {"wrong": asked.wrong, "fields": asked.fields, **shown}),
        "wrong": dict(asked.wrong),
        "counted": counted_of(asked),
        "address": address(asked.fields),
    }


def _opened_kept(shelf: Shelf, asked: Asked) -> Kept | None:
    try:
        return shelf.get(asked.fields["kept"]) if asked.fields["kept"] else None
    except NoSuchThing:
        return None


def _kept(kept: Kept, asked: Asked) -> flask.Response:
    number = kept.latest.number
    said = f"Kept as '{kept.content.name}'." if number == 1 else f"Saved; it is revision {number} of it."
    return _json({"said": said, "address": address({**asked.fields, **composition_fields(kept.key, kept.content)})})


def _markup(name: str, values: dict[str, Any]) -> str:
    return flask.render_template(f"compose/{name}.html", meaning=meaning, **values)


def _said(act: Callable[[], Any]) -> Any:
    """Return what is done, or the answer that says why it was not."""
    try:
        return act()
    except MayNotEdit:
        raise  # the gate tells it
    except ThingChanged as error:
        return _told(str(error), 409)
    except NoSuchThing as error:
        return _told(str(error), 404)
    except LayakoshError as error:
        return _told(str(error), 400)


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) <= 8 else 0


def _told(message: str, status: int) -> flask.Response:
    return _json({"error": message}, status)


def _json(content: Any, status: int = 200) -> flask.Response:
    response = flask.Response(json.dumps(content, separators=(",", ":")), status, mimetype="application/json")
    response.headers["Cache-Control"] = "private, no-store"
    return response
