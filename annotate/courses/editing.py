"""What people do to a course, each as a function from one course to another.

Conventions: places are counted from 1; a place beyond the end means the end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from annotate.courses.course import Chapter, Course, new_key
from annotate.courses.errors import NoSuchChapter
from annotate.shelves.errors import BadThing


def with_chapter(course: Course, title: str, notes: str = "", *, place: int | None = None) -> Course:
    """Return a course with another chapter, at its end or at a place."""
    added = Chapter(new_key(), title.strip(), clean_notes(notes))
    chapters = [*course.chapters]
    chapters.insert(len(chapters) if place is None else _index(place), added)
    return replace(course, chapters=tuple(chapters))


def without_chapter(course: Course, key: str) -> Course:
    """Return a course without one of its chapters.

    Raises
    ------
    NoSuchChapter
    """
    require_chapter(course, key)
    return replace(course, chapters=tuple(each for each in course.chapters if each.key != key))


def moved_chapter(course: Course, key: str, place: int) -> Course:
    """Return a course in which a chapter stands at another place.

    Raises
    ------
    NoSuchChapter
    """
    moved = require_chapter(course, key)
    others = [each for each in course.chapters if each.key != key]
    others.insert(_index(place), moved)
    return replace(course, chapters=tuple(others))


def with_changed(
    course: Course, key: str, *, title: str | None = None, notes: str | None = None, pieces: Sequence[str] | None = None
) -> Course:
    """Return a course with a chapter changed; what is None stays as it is.

    Raises
    ------
    NoSuchChapter, BadThing
    """
    old = require_chapter(course, key)
    changed = Chapter(
        key,
        old.title if title is None else title.strip(),
        old.notes if notes is None else clean_notes(notes),
        old.pieces if pieces is None else tuple(pieces),
    )
    return replace(course, chapters=tuple(changed if each.key == key else each for each in course.chapters))


def chapter_at(course: Course, number: int) -> Chapter:
    """Return a chapter by its number, counted from 1.

    Raises
    ------
    NoSuchChapter
    """
    if not 1 <= number <= len(course.chapters):
        raise NoSuchChapter(f"'{course.title}' has no chapter {number}. {_there(course)}")
    return course.chapters[number - 1]


def require_chapter(course: Course, key: str) -> Chapter:
    """Return a chapter by its key.

    Raises
    ------
    NoSuchChapter
    """
    found = course.chapter(key)
    if found is None:
        raise NoSuchChapter(f"'{course.title}' has no such chapter (any more). {_there(course)}")
    return found


def with_pieces(pieces: Sequence[str], added: Sequence[str], place: int | None = None) -> tuple[str, ...]:
    """Return pieces with others added, at the end or from a place on; one that is there already moves there."""
    wanted = list(dict.fromkeys(added))
    others = [each for each in pieces if each not in wanted]
    at = len(others) if place is None else _index(place)
    return (*others[:at], *wanted, *others[at:])


def without_pieces(pieces: Sequence[str], dropped: Sequence[str]) -> tuple[str, ...]:
    """Return pieces without some of them.

    Raises
    ------
    BadThing
        One of them is not there.
    """
    if strange := [each for each in dropped if each not in pieces]:
        raise BadThing(f"{strange[0]} is not in this chapter. It has {', '.join(pieces) or 'no pieces'}.")
    return tuple(each for each in pieces if each not in dropped)


def clean_notes(notes: str) -> str:
    """Return notes as they are kept: lines end as everywhere, without spaces around the whole."""
    return notes.replace("\r\n", "\n").replace("\r", "\n").strip("\n").rstrip()


def _index(place: int) -> int:
    return max(place - 1, 0)


def _there(course: Course) -> str:
    if not course.chapters:
        return "It has no chapters yet."
    return "It has " + ", ".join(f"{number} {each.title}" for number, each in enumerate(course.chapters, 1)) + "."
