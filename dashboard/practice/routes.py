"""The page's answers.

    GET /practice/asked?...&at=1                 the choices and a question of the set, as markup by name
    GET /practice/marked?...&at=1&answer=5 1/2   an answer, marked; or &place=9/2, a place on the cycle
    GET /practice/sheet.html?...                 the set as a page to print, the answers apart; to be kept as a file
    GET /practice/clap/asked?...                 the choices for clapping along, as markup
    GET /practice/clap/take?...                  what is clapped along to (:mod:`dashboard.practice.takes`)

Conventions: JSON, whose markup comes from templates that escape what they are given. A fault is told as
``{"error": ...}`` with status 400 or 404; so is, with status 200, an answer that cannot be read. Nothing is written.
"""

from __future__ import annotations

from typing import Any

import flask

from annotate.errors import NoSuchRecording, NoSuchRow
from annotate.practice.exercises.printed import exercises_html
from annotate.practice.pieces import piece
from dashboard.answering import answer, refusal
from dashboard.glossary import meaning
from dashboard.library import Library
from dashboard.practice import clapping
from dashboard.practice.asked import ARCHIVE, CLAP, PATH, read, read_clapped
from dashboard.practice.shown import Sets, form_of, marked_by, marked_of, question_of
from dashboard.practice.takes import on_paper, take_as_played, take_on_paper
from theory.errors import LayakoshError, TheoryError, UnknownName
from theory.exercises.making import made_up


def practice_routes(library: Library) -> flask.Blueprint:
    """Make the routes for an archive."""
    routes = flask.Blueprint("practice", __name__, template_folder="templates")
    sets = Sets(library)
    routes.register_error_handler(LayakoshError, lambda error: refusal(str(error), 400))
    for missing in (NoSuchRecording, NoSuchRow):
        routes.register_error_handler(missing, lambda error: refusal(str(error), 404))

    @routes.get(f"{PATH}/asked")
    def asked() -> flask.Response:
        wanted = read(flask.request.args)
        told: dict[str, Any] = {
            "form": _markup("form", form_of(wanted)),
            "wrong": dict(wanted.wrong),
            "address": wanted.address(),
            "sheet": wanted.address().replace(PATH, f"{PATH}/sheet.html", 1),
            "question": "",
            "count": 0,
        }
        if wanted.wishes is None:
            return _fresh(told)
        try:
            made = sets.get(wanted, wanted.wishes)
        except UnknownName as error:  # the tala is known by now: it is the raga
            return _fresh({**told, "wrong": {"raga": str(error)}})
        at = _number(flask.request.args.get("at", "1"), len(made.questions))
        told |= {"question": _markup("question", question_of(made, at)), "count": len(made.questions), "at": at}
        return _fresh(told)

    @routes.get(f"{PATH}/marked")
    def marked() -> flask.Response:
        wanted, args = read(flask.request.args), flask.request.args
        if wanted.wishes is None:
            return refusal(next(iter(wanted.wrong.values())), 400)
        questions = sets.get(wanted, wanted.wishes).questions
        question = questions[_number(args.get("at", "1"), len(questions)) - 1]
        try:
            found = marked_by(question, args.get("answer", ""), args.get("place", ""))
        except TheoryError as error:
            return _fresh({"error": str(error)})  # somebody mistyped: that is no fault of the request
        shown = marked_of(question, found)
        return _fresh({"right": found.right, "kind": question.kind, "marked": _markup("marked", shown)})

    @routes.get(f"{PATH}/sheet.html")
    def sheet() -> flask.Response:
        wanted = read(flask.request.args)
        if wanted.wishes is None:
            return refusal(next(iter(wanted.wrong.values())), 400)
        made = sets.get(wanted, wanted.wishes)
        response = flask.Response(exercises_html(made), mimetype="text/html")
        # a file: within the dashboard a page may not bring styles of its own
        name = f"exercises-{wanted.wishes.tala.replace('/', '-')}-{wanted.wishes.seed}.html"
        response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
        return response

    @routes.get(f"{CLAP}/asked")
    def clap_asked() -> flask.Response:
        wanted = read_clapped(flask.request.args)
        return _fresh(
            {
                "form": _markup("clap", clapping.form_of(library, wanted)),
                "wrong": dict(wanted.wrong),
                "address": wanted.address(),
            }
        )

    @routes.get(f"{CLAP}/take")
    def clap_take() -> flask.Response:
        wanted = read_clapped(flask.request.args)
        fields = wanted.fields
        if wanted.wishes is None:
            return refusal(next(iter(wanted.wrong.values())), 400)
        if fields["whose"] != ARCHIVE:
            (question,) = made_up(wanted.wishes)
            return _fresh(take_on_paper(question.piece, "A made-up tihai"))
        if not fields["piece"]:
            return refusal("Choose a tihai of the archive first.", 400)
        played = piece(library.archive, fields["piece"])
        if fields["sound"] == "recording":
            return _fresh(take_as_played(library.archive, played))
        written = on_paper(played)
        if written is None:
            return refusal(f"{fields['piece']} lies in no tala, or too little of it is written down.", 400)
        return _fresh(take_on_paper(written, played.name))

    return routes


def _markup(name: str, values: dict[str, Any]) -> str:
    return flask.render_template(f"practice/{name}.html", meaning=meaning, **values)


def _number(text: str, most: int) -> int:
    """Return the number of a question; the nearest where there is none of that number."""
    number = int(text) if text.isascii() and text.isdigit() and len(text) < 6 else 1
    return min(max(number, 1), most)


def _fresh(content: Any) -> flask.Response:
    response = answer(content)
    response.headers["Cache-Control"] = "private, no-store"
    return response
