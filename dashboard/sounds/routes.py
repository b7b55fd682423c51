"""The practice sound of a piece.

    GET /practice-sound/<slug>/<key>.<opus, mp3 or flac>?from= &speed= ...      see :mod:`dashboard.sounds.asked`

Conventions: what cannot be made is told in a sentence, with status 400, 404 or 503.
"""

from __future__ import annotations

import flask

from annotate.errors import NoSuchRecording, NoSuchRow
from annotate.practice.pieces import piece
from dashboard.library import Library
from dashboard.sound import send_sound
from dashboard.sounds.asked import CHOICES, asked_of, wishes_of
from dashboard.sounds.made import MadeSounds, TooManyWaiting
from theory.errors import LayakoshError


def practice_sound_routes(library: Library) -> flask.Blueprint:
    """Make the route for an archive."""
    routes = flask.Blueprint("practice_sounds", __name__)
    sounds = MadeSounds(library.archive.store)

    @routes.get("/practice-sound/<slug>/<file>")
    def practice_sound(slug: str, file: str) -> flask.Response:
        key, _, ending = file.rpartition(".")
        if ending not in CHOICES["as"]:
            return _told(f"A practice sound is .{', .'.join(CHOICES['as'])}.", 404)
        try:
            of = piece(library.archive, f"{slug}/{key}")
            wishes = wishes_of(asked_of(flask.request.args), of)
            path = sounds.get(of.address, library.archive.state(slug).revision, wishes, ending)
        except (NoSuchRecording, NoSuchRow) as error:
            return _told(str(error), 404)
        except LayakoshError as error:
            return _told(str(error), 400)
        except TooManyWaiting:
            return _told("Others are having sounds made. Try again in a moment.", 503)
        response = send_sound(path, flask.request)
        if flask.request.args.get("keep") == "1":
            response.headers.set("Content-Disposition", "attachment", filename=f"{slug}-{key}.{ending}")
        return response

    return routes


def _told(message: str, status: int) -> flask.Response:
    return flask.Response(f"{message}\n", status, mimetype="text/plain")
