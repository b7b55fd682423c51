"""What the marking panel asks.

    GET  /marks/<slug>                             what is marked, and what undo and redo would do
    GET  /marks/<slug>/row?table=&key=             a row as its form shows it
    GET  /marks/<slug>/history?table=&key=         who changed what when, newest first
    GET  /marks/<slug>/as-of?revision=&table=&key= what going back would change
    GET  /marks/<slug>/count?of=tihai&palla=...    matras, sum and bars of what is being typed
    GET  /marks/<slug>/draft?from_s=&to_s=         a draft of a passage
    GET  /marks/<slug>/stroke?near_s=              the stroke nearest to a time
    POST /marks/<slug>/sam, /row, /phrase, /take-out, /split, /join, /undo, /redo, /as-of

Conventions: JSON both ways. A POST answers with a sentence, ``{"said": ...}``; a fault is told as ``{"error": ...}``,
status 404 where there is no such row, 409 with both versions under ``conflict`` where somebody else was first, else
422. Readers may look; the gate and the archive refuse what they would write.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, Literal

import flask

from annotate.errors import BadAnnotation, ConflictingEdit, NoSuchRecording, NoSuchRow
from annotate.history.merging import Keep
from annotate.transcription import Transcription, transcribe
from dashboard.answering import answer, refusal, tagged
from dashboard.library import Library
from dashboard.marking import shown, writing
from dashboard.marking.counting import count_phrase, count_tihai
from dashboard.marking.strokes import nearest_stroke
from theory.clock import format_clock
from theory.notation_print import to_text
from theory.numbers import matras, spoken

MOST_TEXT = 4000
"""Characters of one field."""


def marking_routes(library: Library) -> flask.Blueprint:
    """Make the routes for an archive."""
    routes = flask.Blueprint("marks", __name__, url_prefix="/marks/<slug>")
    archive = library.archive
    routes.register_error_handler(ConflictingEdit, _conflict)
    routes.register_error_handler(NoSuchRow, lambda error: refusal(str(error), 404))
    routes.register_error_handler(NoSuchRecording, lambda error: refusal(str(error), 404))

    @routes.get("")
    def marked(slug: str) -> flask.Response:
        return tagged(library.version(slug), lambda: shown.marked(library, slug))

    @routes.get("/row")
    def row(slug: str) -> flask.Response:
        return answer(shown.row_form(archive, slug, *_row_asked()))

    @routes.get("/history")
    def history(slug: str) -> flask.Response:
        return answer({"entries": shown.entries(archive, slug, *_row_asked())})

    @routes.get("/as-of")
    def as_of(slug: str) -> flask.Response:
        number = flask.request.args.get("revision", type=int) or 0
        return answer(shown.planned(writing.plan(archive, slug, number, *_row_asked())))

    @routes.get("/count")
    def count(slug: str) -> flask.Response:
        typed = {name: text[:MOST_TEXT] for name, text in flask.request.args.items()}
        return answer((count_phrase if typed.get("of") == "phrase" else count_tihai)(library, slug, typed))

    @routes.get("/draft")
    def draft(slug: str) -> flask.Response:
        from_s, to_s = (_time(flask.request.args.get(name, type=float), name) for name in ("from_s", "to_s"))
        if archive.melody(slug) is None:
            raise BadAnnotation(
                "The melody of this recording was not followed yet, so there is no draft. This follows it once:\n"
                f"  layakosh transcribe {slug} --from {format_clock(from_s)} --to {format_clock(to_s)}"
            )
        return answer(_drafted(transcribe(archive, slug, from_s, to_s)))

    @routes.get("/stroke")
    def stroke(slug: str) -> flask.Response:
        near_s = _time(flask.request.args.get("near_s", type=float), "near_s")
        return answer({"time_s": nearest_stroke(archive, slug, near_s)})

    _writing(routes, library)
    return routes


def _writing(routes: flask.Blueprint, library: Library) -> None:
    archive = library.archive

    def post(name: str, write: Callable[[str, _Asked], str]) -> None:
        def view(slug: str) -> flask.Response:
            return answer({"said": write(slug, _Asked()), "revision": archive.state(slug).revision})

        routes.add_url_rule(f"/{name}", name.replace("-", "_") + "_written", view, methods=["POST"])

    def going(kind: Literal["undo", "redo"]) -> Callable[[str, _Asked], str]:
        return lambda slug, _asked: writing.go_back(archive, slug, kind)

    post(
        "sam",
        lambda slug, asked: writing.place_sam(
            archive,
            slug,
            asked.time("to_s"),
            key=asked.text("key"),
            from_s=asked.maybe_time("from_s"),
            keep=asked.keep,
            nudged=asked.said_yes("nudged"),
        ),
    )
    post(
        "row",
        lambda slug, asked: writing.change_row(
            archive,
            slug,
            asked.text("table"),
            asked.text("key"),
            asked.texts("fields"),
            seen=asked.seen,
            keep=asked.keep,
        ),
    )
    post("phrase", lambda slug, asked: writing.write_phrase(archive, slug, asked.texts("fields")))
    post(
        "take-out",
        lambda slug, asked: writing.take_out(archive, slug, asked.text("table"), asked.text("key"), asked.seen),
    )
    post("split", lambda slug, asked: writing.split(archive, slug, asked.text("key"), asked.time("at_s")))
    post("join", lambda slug, asked: writing.join(archive, slug, asked.text("key")))
    post("undo", going("undo"))
    post("redo", going("redo"))
    post(
        "as-of",
        lambda slug, asked: writing.restore(
            archive, slug, asked.whole("revision"), asked.text("table"), asked.text("key"), asked.seen
        ),
    )


class _Asked:
    """What a POST brings; anything that is not as it should be is told."""

    def __init__(self) -> None:
        told = flask.request.get_json(silent=True)
        if not isinstance(told, dict):
            raise BadAnnotation("Expected JSON with names and values. Load the page again.")
        self._told = told

    def text(self, name: str) -> str:
        value = self._told.get(name, "")
        if not isinstance(value, str) or len(value) > MOST_TEXT:
            raise BadAnnotation(f"Expected a text of at most {MOST_TEXT} characters under '{name}'.")
        return value

    def texts(self, name: str) -> dict[str, str]:
        values = self._told.get(name)
        if not isinstance(values, dict) or not all(isinstance(v, str) and len(v) <= MOST_TEXT for v in values.values()):
            raise BadAnnotation(f"Expected texts by field under '{name}', of at most {MOST_TEXT} characters each.")
        return values

    def time(self, name: str) -> float:
        return _time(self._told.get(name), name)

    def maybe_time(self, name: str) -> float | None:
        return None if self._told.get(name) is None else self.time(name)

    def whole(self, name: str) -> int:
        value = self._told.get(name)
        if not isinstance(value, int) or isinstance(value, bool) or not 0 <= value < 10**8:
            raise BadAnnotation(f"Expected a whole number under '{name}'.")
        return value

    def said_yes(self, name: str) -> bool:
        return self._told.get(name) is True

    @property
    def seen(self) -> int:
        return self.whole("seen")

    @property
    def keep(self) -> Keep:
        return "mine" if self._told.get("keep") == "mine" else ""


def _row_asked() -> tuple[str, str]:
    return flask.request.args.get("table", ""), flask.request.args.get("key", "")


def _time(value: Any, name: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise BadAnnotation(f"Expected a time in seconds under '{name}'.")
    return float(value)


def _conflict(error: ConflictingEdit) -> flask.Response:
    return answer({"error": str(error).splitlines()[0], "conflict": shown.conflict_of(error)}, 409)


def _drafted(drafted: Transcription) -> dict[str, Any]:
    notes = drafted.draft.notes
    doubtful = [each for each in notes if each.doubtful]
    return {
        "text": to_text(drafted.draft.passage, drafted.tala, drafted.matra),
        "from_s": drafted.matra_s[0],
        "to_s": drafted.matra_s[-1],
        "words": f"{matras(drafted.draft.passage.length)} from avartan {drafted.cycle}, matra {drafted.matra}: "
        f"{len(notes)} notes, {len(doubtful)} doubtful",
        "doubtful": [
            f"matra {spoken(drafted.place(each.note.onset)[1])}: {each.note.symbol}, "
            f"{f'or {each.other}' if each.other else 'hardly sounds'}"
            for each in doubtful[:12]
        ],
    }
