"""What is asked of a course by its page, done.

A request is ``{do: ...}`` with what belongs to it, and ``seen`` and ``keep``:

    course   {title, for_whom, licence}            what is said of the course
    add      {title}                               another chapter, at the end
    chapter  {chapter, title, notes, pieces}       a chapter as its form has it
    move     {chapter, place}                      a chapter to another place, counted from 1
    remove   {chapter}
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, cast, get_args

from annotate.courses import editing
from annotate.courses.course import MOST_CHAPTERS, MOST_PIECES, Course
from annotate.courses.ordering import Keep
from annotate.courses.piece import require_there
from annotate.courses.shelf import Courses, Written, revision_of
from dashboard.errors import BadRequest
from dashboard.marking.shown import WHO

MOST_TEXT = 100_000


def edit(courses: Courses, key: str, told: Mapping[str, Any]) -> dict[str, str]:
    """Do what is asked; return a sentence that says what was done, and the key of the chapter it is about.

    Raises
    ------
    annotate.courses.errors.BothEdited
        Both changed the same and it is not said whose is kept. Nothing is written.
    dashboard.errors.BadRequest, theory.errors.LayakoshError
    """
    was = revision_of(courses.get(key), _number(told, "seen", 10**8)).content
    mine, chapter = _edited(courses, was, told)
    keep = told.get("keep")
    written = courses.edit(
        key, mine, seen=told["seen"], who=WHO, keep=cast("Keep", keep if keep in get_args(Keep) else "")
    )
    return {"said": _said(written), "chapter": chapter}


def _edited(courses: Courses, was: Course, told: Mapping[str, Any]) -> tuple[Course, str]:
    match told.get("do"):
        case "course":
            title, for_whom, licence = (_text(told, name).strip() for name in ("title", "for_whom", "licence"))
            return replace(was, title=title, for_whom=for_whom, licence=licence), ""
        case "add":
            longer = editing.with_chapter(was, _text(told, "title"))
            return longer, longer.chapters[-1].key
        case "chapter":
            chapter = _text(told, "chapter")
            pieces = _pieces(courses, editing.require_chapter(was, chapter).pieces, told.get("pieces"))
            title, notes = _text(told, "title"), _text(told, "notes")
            return editing.with_changed(was, chapter, title=title, notes=notes, pieces=pieces), chapter
        case "move":
            chapter = _text(told, "chapter")
            return editing.moved_chapter(was, chapter, _number(told, "place", MOST_CHAPTERS)), chapter
        case "remove":
            return editing.without_chapter(was, _text(told, "chapter")), ""
    raise BadRequest("It is not said what to do with the course. Load the page again.")


def _pieces(courses: Courses, were: tuple[str, ...], told: Any) -> tuple[str, ...]:
    """Return the pieces of a chapter; those that it did not have must be there."""
    if not isinstance(told, list) or len(told) > MOST_PIECES or not all(isinstance(each, str) for each in told):
        raise BadRequest(f"A list of at most {MOST_PIECES} pieces was expected.")
    return tuple(each if each in were else require_there(courses.archive, each).text for each in told)


def _said(written: Written) -> str:
    theirs = "; ".join(written.merged.theirs)
    if not written.wrote:
        return "Theirs is kept; nothing was left to write." if written.merged.clashing else "Nothing was changed."
    return "Saved." + (f" What somebody else changed meanwhile is kept too: {theirs}." if theirs else "")


def _text(told: Mapping[str, Any], name: str) -> str:
    value = told.get(name)
    if not isinstance(value, str) or len(value) > MOST_TEXT:
        raise BadRequest(f"A text was expected for '{name}', of at most {MOST_TEXT} characters.")
    return value


def _number(told: Mapping[str, Any], name: str, most: int) -> int:
    value = told.get(name)
    if not isinstance(value, int) or isinstance(value, bool) or not 0 < value <= most:
        raise BadRequest(f"A number from 1 on was expected for '{name}'. Load the page again.")
    return value
