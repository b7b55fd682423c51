"""What the player needs beside the sound: thekas, and what is worth hearing again.

    GET /listening/<slug>                  thekas of the recording's talas; its tihais and phrases
    GET /listening/<slug>/<sound>.flac     one stroke of the theka, on a dayan tuned to the recording's Sa

Conventions
    JSON ``{"channels": n, "theka": {tala: strokes}, "tihais": [...], "phrases": [...]}``; strokes as in
    :mod:`dashboard.theka`; a tihai or phrase is ``{"from_s", "to_s", "words"}``, a tihai from its first palla to its
    landing. In order of time. Asked for again each time, with an ETag: 304 when nothing is new.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import flask

from annotate.archive import Archive
from annotate.errors import NoSuchRecording
from dashboard.library import Library
from dashboard.theka import SOUNDS, dayan_hz, stroke_flac, theka_strokes
from ingest.decode import probe
from ingest.errors import IngestError
from theory.talas import get_tala


def listening_routes(library: Library) -> flask.Blueprint:
    """Make the routes for an archive."""
    routes = flask.Blueprint("listening", __name__)

    @routes.get("/listening/<slug>")
    def listening(slug: str) -> flask.Response:
        try:
            beside = beside_sound(library.archive, slug)
        except NoSuchRecording as error:
            return _told(str(error))
        return _unchanged_or(json.dumps(beside, separators=(",", ":")), "application/json")

    @routes.get("/listening/<slug>/<sound>.flac")
    def stroke(slug: str, sound: str) -> flask.Response:
        if sound not in SOUNDS:
            return _told(f"There is no such sound; there are {', '.join(SOUNDS)}.")
        try:
            sa_hz = library.archive.state(slug).recording.sa_hz
        except NoSuchRecording as error:
            return _told(str(error))
        return _unchanged_or(stroke_flac(sound, dayan_hz(sa_hz)), "audio/flac")

    return routes


def beside_sound(archive: Archive, slug: str) -> dict[str, Any]:
    """Return what the module's conventions say.

    Raises
    ------
    NoSuchRecording
    """
    state = archive.state(slug)
    talas = sorted({section.tala for section in state.sections if section.tala})
    tihais = [
        {"from_s": each.palla_s[0], "to_s": each.landing_s, "words": f"tihai {each.tihai}"}
        for each in state.tihais
        if each.status != "rejected"
    ]
    phrases = [{"from_s": each.start_s, "to_s": each.end_s, "words": f"phrase {each.swaras}"} for each in state.phrases]
    return {
        "channels": _channels(archive.sound_path(slug)),
        "theka": {tala: theka_strokes(get_tala(tala)) for tala in talas},
        "tihais": sorted(tihais, key=lambda each: each["from_s"]),
        "phrases": sorted(phrases, key=lambda each: each["from_s"]),
    }


def _channels(copy: Path | None) -> int | None:
    """Return how many channels the listening copy has; None where there is none that can be read."""
    try:
        return probe(copy).channels if copy is not None else None
    except IngestError:
        return None


def _unchanged_or(content: str | bytes, mimetype: str) -> flask.Response:
    response = flask.Response(content, mimetype=mimetype)
    response.add_etag()
    response.headers["Cache-Control"] = "private, no-cache"
    response.make_conditional(flask.request)
    return response


def _told(message: str) -> flask.Response:
    return flask.Response(f"{message}\n", 404, mimetype="text/plain")
