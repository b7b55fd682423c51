"""A phrase heard again and again, taken up from the browser.

    POST /heard-again/<slug>/take-up   {key, role}   ->  {said, revision}

Conventions: JSON both ways; a fault is told as ``{"error": ...}``: 404 where there is no such recording, 409 where
somebody else wrote at the same time, else 422. The gate and the archive refuse what readers would write.
"""

from __future__ import annotations

import flask

from annotate.errors import BadAnnotation, ConflictingEdit, NoSuchRecording
from annotate.recurring.remembered import heard_in
from annotate.recurring.taking_up import phrase_by_key, take_up
from dashboard.answering import answer, refusal
from dashboard.library import Library
from dashboard.marking.shown import WHO

MOST_TEXT = 4000
MOST_ROLE = 60
BUSY = "Somebody else has just written in this recording, so nothing was written. Press again."


def taking_up_routes(library: Library) -> flask.Blueprint:
    """Make the route for an archive."""
    routes = flask.Blueprint("heard-again", __name__, url_prefix="/heard-again/<slug>")
    routes.register_error_handler(NoSuchRecording, lambda error: refusal(str(error), 404))
    routes.register_error_handler(ConflictingEdit, lambda _error: refusal(BUSY, 409))

    @routes.post("/take-up")
    def taken_up(slug: str) -> flask.Response:
        told = flask.request.get_json(silent=True)
        key, role = (told.get(name, "") if isinstance(told, dict) else None for name in ("key", "role"))
        if not isinstance(key, str) or not isinstance(role, str) or len(key) > MOST_TEXT or len(role) > MOST_ROLE:
            raise BadAnnotation("Expected a key and a role as texts. Load the page again.")
        phrase = phrase_by_key(heard_in(library.archive, slug), slug, key)
        done = take_up(library.archive, phrase, role, WHO)
        title = library.archive.state(slug).recording.title or slug
        as_what = f" as {role.strip()}" if role.strip() else ""
        said = f"{phrase.text}: {len(done.written)} written down in {title}{as_what}."
        if done.known:
            said += f" {done.known} were there already."
        if done.written:
            said += " Undo on its Cycles page takes all of it back."
        return answer({"said": said, "revision": library.archive.state(slug).revision})

    return routes
