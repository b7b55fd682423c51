"""What the pages of courses show, as plain values for their templates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import parse_qsl, quote

from markupsafe import Markup

from annotate.archive import Archive
from annotate.compositions.shelf import Shelf
from annotate.courses.course import LONGEST_LINE, LONGEST_NOTES, LONGEST_TITLE, Chapter
from annotate.courses.editing import require_chapter
from annotate.courses.errors import BothEdited
from annotate.courses.exercise_sets import read_exercises, written
from annotate.courses.finding import find_pieces
from annotate.courses.notes import to_html
from annotate.courses.piece import Found, find
from annotate.courses.shelf import Courses, Kept
from annotate.courses.taking_back import can_redo, can_undo, history
from annotate.history.points import moment_words
from dashboard import words
from dashboard.access.at_hand import at_hand
from dashboard.composing.asked import address, composition_fields
from dashboard.marking.shown import WHO, by
from dashboard.pages.instances import sound_address
from dashboard.practice.asked import PATH as PRACTICE
from dashboard.practice.asked import exercises_address, read
from dashboard.sheets.asked import raga_sheet_address, sheet_address

CHAPTER_LEVEL = 2
"""The level of a chapter's heading on the page."""
LIMITS = {"title": LONGEST_TITLE, "line": LONGEST_LINE, "notes": LONGEST_NOTES}
MOST_ENTRIES = 100
RINGS_S = 0.8
"""So long the stroke on which a tihai lands is let ring where it is heard, in seconds."""


@dataclass(frozen=True)
class PieceShown:
    """A piece in a list: what it is, and where it is opened, heard and had as a sheet to print (each may be empty)."""

    found: Found
    href: str = ""
    hear: str = ""
    sheet: str = ""


def list_of(courses: Courses) -> dict[str, Any]:
    """Return what the list of courses shows."""
    may_edit = at_hand().may_edit
    return {
        "rows": [_row(each) for each in courses.all()],
        "gone": [_row(each) for each in courses.all(withdrawn=True)] if may_edit else [],
        "unread": [(name, str(why).partition("\n")[0]) for name, why in courses.unread()],
        "may_edit": may_edit,
        "limits": LIMITS,
    }


def course_of(courses: Courses, key: str) -> dict[str, Any]:
    """Return what the page of a course shows.

    Raises
    ------
    annotate.shelves.errors.NoSuchThing
    """
    kept = courses.get(key)
    may_edit = at_hand().may_edit and not kept.latest.withdrawn
    who = courses.archive.signature(WHO) if may_edit else ""
    undo, redo = (can_undo(kept, who), can_redo(kept, who)) if may_edit else (None, None)
    content = kept.content
    return {
        "key": key,
        "title": content.title,
        "for_whom": content.for_whom,
        "licence": content.licence,
        "seen": kept.latest.number,
        "changed": _when(kept),
        "taken_out": kept.latest.withdrawn,
        "may_edit": may_edit,
        "chapters": [_chapter(courses.archive, each) for each in content.chapters],
        "history": _history(kept),
        "undo": undo.why if undo else "",
        "redo": redo.why if redo else "",
        "limits": LIMITS,
    }


def form_of(courses: Courses, key: str, chapter: str) -> dict[str, Any]:
    """Return what the form of a chapter shows.

    Raises
    ------
    annotate.shelves.errors.NoSuchThing, annotate.courses.errors.NoSuchChapter
    """
    kept = courses.get(key)
    found = require_chapter(kept.content, chapter)
    return {
        "chapter": found.key,
        "place": kept.content.chapters.index(found) + 1,
        "title": found.title,
        "notes": found.notes,
        "preview": notes_of(found.notes),
        "pieces": [_piece(courses.archive, find(courses.archive, each)) for each in found.pieces],
        "seen": kept.latest.number,
        "limits": LIMITS,
    }


def pieces_of(archive: Archive, wanted: str, named: Sequence[str] = ()) -> dict[str, Any]:
    """Return the pieces that are named and those of which words say something, to be put in.

    Raises
    ------
    annotate.shelves.errors.BadThing
        A name is no piece.
    """
    named = [*named, *_pasted(wanted)]
    found = [*(find(archive, each) for each in named), *find_pieces(archive, wanted)]
    return {"pieces": [_piece(archive, each) for each in found], "wanted": wanted.strip()}


def _pasted(wanted: str) -> list[str]:
    """Return the exercises of an address of the Practice page, if that is what was put in."""
    _, here, query = wanted.strip().partition(f"{PRACTICE}?")
    wishes = read(dict(parse_qsl(query))).wishes if here else None
    return [f"exercises:{written(wishes)}"] if wishes else []


def notes_of(notes: str) -> Markup:
    """Return notes as markup beneath a chapter's heading."""
    return Markup(to_html(notes, beneath=CHAPTER_LEVEL))  # nothing that does harm gets through to_html


def conflict_of(error: BothEdited) -> dict[str, Any]:
    """Return the versions of what both changed, side by side."""
    rows = [{"label": each.word, "was": each.was, "theirs": each.theirs, "mine": each.mine} for each in error.clashes]
    return {"who": by(error.who), "when": error.when, "rows": rows}


def _row(kept: Kept) -> dict[str, Any]:
    content = kept.content
    return {
        "key": kept.key,
        "title": content.title,
        "for_whom": content.for_whom,
        "chapters": [each.title for each in content.chapters],
        "pieces": sum(len(each.pieces) for each in content.chapters),
        "changed": _when(kept),
        "seen": kept.latest.number,
    }


def _when(kept: Kept) -> str:
    who = "" if kept.latest.who == WHO else kept.latest.who
    return words.day(kept.latest.when.date()) + (f" by {who}" if who else "")


def _chapter(archive: Archive, chapter: Chapter) -> dict[str, Any]:
    return {
        "key": chapter.key,
        "title": chapter.title,
        "notes": notes_of(chapter.notes),
        "pieces": [_piece(archive, find(archive, each)) for each in chapter.pieces],
    }


def _piece(archive: Archive, found: Found) -> PieceShown:
    if found.missing:
        return PieceShown(found)
    reference = found.reference
    if reference.kind == "raga":
        return PieceShown(found, f"/ragas/{quote(reference.key)}", sheet=raga_sheet_address(reference.key))
    if reference.kind == "exercises":
        return PieceShown(found, exercises_address(read_exercises(reference.key)))
    if reference.kind == "composition":
        composition = Shelf(archive).get(reference.key).content
        return PieceShown(found, address(composition_fields(reference.key, composition)))
    return _row_shown(archive, found)


def _row_shown(archive: Archive, found: Found) -> PieceShown:
    slug, key = found.reference.where, found.reference.key
    state = archive.state(slug)
    start_s, end_s = found.played_s or (0.0, 0.0)
    if found.kind == "tihai":
        page = f"/tihais/{quote(slug)}/{quote(key)}"
        end_s += RINGS_S
        prints = bool(found.notation) and state.tihai(key).dam is not None
    else:
        page = f"/cycles/{quote(slug)}?at={start_s:.3f}"
        prints = bool(found.notation)
    hear = sound_address(slug, max(start_s, 0.0), end_s) if state.recording.audio_path else ""
    return PieceShown(found, page, hear, sheet_address(slug, key) if prints else "")


def _history(kept: Kept) -> list[dict[str, Any]]:
    return [
        {
            "when": moment_words(each.head.when),
            "who": "" if each.head.who == WHO else each.head.who,
            "why": each.head.why,
            "taken_back": bool(each.taken_back_by),
            "changes": each.changes,
        }
        for each in reversed(history(kept)[-MOST_ENTRIES:])
    ]
