"""The requests of the pages of courses.

    GET  /course/<key>                    the course, as markup
    GET  /course/<key>/form/<chapter>     the form of a chapter, as markup
    GET  /course/<key>.md                 all of it as a Markdown file
    GET  /course-pieces?find=...&piece=...  pieces of which these words say something, and those named, as markup
    POST /course-preview {notes}          notes as markup; readers may ask
    POST /course {title, for_whom}        make a course  ->  {to}
    POST /course/<key>                    an edit (:mod:`dashboard.courses.editing`)  ->  {said, chapter, course};
                                          409 with both versions on a conflict
    POST /course/<key>/undo, /redo        ->  {said, course}
    POST /course/<key>/take-out, /put-back  ->  {said, to}

Conventions: JSON; a fault is told as ``{"error": ...}``: 404 where there is no such course or chapter, 409 where
somebody was first or nothing is left to take back, else 422.
"""

from __future__ import annotations

from typing import Any

import flask

from annotate.courses import taking_back
from annotate.courses.as_markdown import to_markdown
from annotate.courses.course import LONGEST_NOTES, MOST_PIECES, Course
from annotate.courses.errors import BothEdited, EditedSince, NoSuchChapter
from annotate.courses.shelf import Courses
from annotate.errors import NothingToTakeBack
from annotate.shelves.errors import NoSuchThing, ThingChanged
from dashboard.access.gate import only_reads
from dashboard.answering import answer, refusal
from dashboard.courses import shown
from dashboard.courses.editing import edit
from dashboard.courses.markup import markup
from dashboard.errors import BadRequest
from dashboard.library import Library
from dashboard.marking.shown import WHO


def courses_routes(library: Library) -> flask.Blueprint:
    """Make the routes for an archive."""
    routes = flask.Blueprint("courses", __name__)
    courses = Courses(library.archive)

    for gone in (NoSuchThing, NoSuchChapter):
        routes.register_error_handler(gone, lambda error: refusal(str(error), 404))
    for first in (ThingChanged, EditedSince, NothingToTakeBack):
        routes.register_error_handler(first, lambda error: refusal(str(error), 409))

    @routes.get("/course/<key>")
    def see(key: str) -> flask.Response:
        return answer({"course": course_markup(courses, key)})

    @routes.get("/course/<key>/form/<chapter>")
    def form(key: str, chapter: str) -> flask.Response:
        return answer({"form": markup("form", shown.form_of(courses, key, chapter))})

    @routes.get("/course/<key>.md")
    def as_markdown(key: str) -> flask.Response:
        text = to_markdown(library.archive, courses.get(key).content)
        response = flask.Response(text, mimetype="text/markdown")
        response.headers["Content-Disposition"] = f'attachment; filename="{key}.md"'
        return response

    @routes.get("/course-pieces")
    def pieces() -> flask.Response:
        args = flask.request.args
        with library.reading_tables:
            found = shown.pieces_of(library.archive, args.get("find", ""), args.getlist("piece")[:MOST_PIECES])
        return answer({"found": markup("found", found)})

    @routes.post("/course-preview")
    @only_reads
    def preview() -> flask.Response:
        notes = _told().get("notes")
        if not isinstance(notes, str) or len(notes) > LONGEST_NOTES:
            raise BadRequest(f"Notes of at most {LONGEST_NOTES} characters were expected.")
        return answer({"preview": shown.notes_of(notes)})

    @routes.post("/course")
    def make() -> flask.Response:
        title, for_whom = (str(_told().get(name) or "").strip() for name in ("title", "for_whom"))
        return answer({"to": f"/courses/{courses.keep(Course(title, for_whom), who=WHO, why='made').key}"})

    @routes.post("/course/<key>")
    def change(key: str) -> flask.Response:
        try:
            done = edit(courses, key, _told())
        except BothEdited as error:
            return answer({"error": str(error).partition("\n")[0], "conflict": shown.conflict_of(error)}, 409)
        return answer({**done, "course": course_markup(courses, key)})

    @routes.post("/course/<key>/<any(undo, redo):which>")
    def take_back(key: str, which: str) -> flask.Response:
        act = taking_back.undo if which == "undo" else taking_back.redo
        done = act(courses, key, library.archive.signature(WHO))
        word = "Undone" if done.kind == "undo" else "Brought back"
        return answer({"said": f"{word}: {done.edit.why}.", "course": course_markup(courses, key)})

    @routes.post("/course/<key>/take-out")
    def take_out(key: str) -> flask.Response:
        kept = courses.get(key)
        courses.withdraw(key, seen=kept.latest.number, who=WHO)
        return answer({"said": f"{kept.content.title} is taken out.", "to": "/courses"})

    @routes.post("/course/<key>/put-back")
    def put_back(key: str) -> flask.Response:
        courses.put_back(key, who=WHO)
        return answer({"said": "It is back.", "to": f"/courses/{key}"})

    return routes


def course_markup(courses: Courses, key: str) -> str:
    """Return a course as markup.

    Raises
    ------
    annotate.shelves.errors.NoSuchThing
    """
    return markup("course", shown.course_of(courses, key))


def list_markup(courses: Courses) -> str:
    """Return the list of courses as markup."""
    return markup("list", shown.list_of(courses))


def _told() -> dict[str, Any]:
    told = flask.request.get_json(silent=True)
    return told if isinstance(told, dict) else {}
