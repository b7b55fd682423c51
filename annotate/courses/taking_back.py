"""Undo and redo of a course's edits: a revision is taken back by a new one, as those of a recording are.

What comes next is decided in :mod:`annotate.history.chains`. What a revision changed is changed back on top of what
others have made of the course since; where somebody has changed the same thing since, nothing is written. Taking a
course out and putting it back are no edits: each has a command of its own.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from annotate.courses.changes import sentences
from annotate.courses.course import Course
from annotate.courses.errors import BothEdited, EditedSince
from annotate.courses.shelf import Courses, Kept, Revision, require_in, revision_of
from annotate.errors import NothingToTakeBack
from annotate.history.chains import Chains
from annotate.history.ledger import Head
from annotate.history.taking_back import head_words


@dataclass(frozen=True)
class TakenBack:
    """An undo or redo that was written as ``revision``: its kind, the edit it is about, and what it changed."""

    revision: int
    kind: str
    edit: Head
    changes: tuple[str, ...]

    @property
    def words(self) -> str:
        """The edit in words."""
        return head_words(self.edit)


@dataclass(frozen=True)
class Entry:
    """A revision of a course's history: what it changed, and which later one takes it back (0: none)."""

    head: Head
    changes: tuple[str, ...]
    taken_back_by: int = 0


def history(course: Kept) -> list[Entry]:
    """Return what became of a course, the first revision first."""
    chains = _chains(course)
    before = [None, *(each.content for each in course.revisions)]
    return [
        Entry(
            _head(each),
            sentences(was, each.content) if was is not None else (),
            chains.taken_back_by(each.number),
        )
        for was, each in zip(before, course.revisions, strict=False)
    ]


def can_undo(course: Kept, who: str | None) -> Head | None:
    """Return the edit that :func:`undo` would take back, or None. ``who`` is None for everyone's edits."""
    return _edit(_chains(course), Chains.next_undo, who)


def can_redo(course: Kept, who: str | None) -> Head | None:
    """Return the edit that :func:`redo` would bring back, or None. ``who`` is None for everyone's edits."""
    return _edit(_chains(course), Chains.next_redo, who)


def undo(courses: Courses, key: str, who: str, *, everyone: bool = False) -> TakenBack:
    """Take back the latest edit that holds: of ``who``, or of anybody.

    Raises
    ------
    annotate.errors.NothingToTakeBack
        None is left.
    annotate.courses.errors.EditedSince
        Somebody has changed the same since. Nothing is written.
    annotate.shelves.errors.NoSuchThing, annotate.shelves.errors.BadThing
    """
    return _latest(courses, key, who, Chains.next_undo, "undo", everyone)


def redo(courses: Courses, key: str, who: str, *, everyone: bool = False) -> TakenBack:
    """Bring back what was undone last. Errors as in :func:`undo`."""
    return _latest(courses, key, who, Chains.next_redo, "redo", everyone)


def take_back(courses: Courses, key: str, number: int, who: str) -> TakenBack:
    """Take back one revision, whichever it is; taking back an undo is a redo. Errors as in :func:`undo`.

    Raises
    ------
    annotate.errors.BadMoment
        The course has no such revision.
    """
    course = courses.get(key)
    require_in(course)
    revision_of(course, number)
    chains = _chains(course)
    if number in _set_apart(course):
        raise NothingToTakeBack(
            f"Revision {number} of '{key}' is no edit: it kept the course, took it out or put it back."
        )
    if by := chains.taken_back_by(number):
        raise NothingToTakeBack(
            f"Revision {number} of '{key}' has been taken back already, by {head_words(chains.head(by))}. "
            f"To bring it back: layakosh course {key} --undo --revision {by}"
        )
    return _taken_back(courses, course, chains, number, who)


def _latest(
    courses: Courses, key: str, who: str, choose: Callable[[Chains, str | None], int], kind: str, everyone: bool
) -> TakenBack:
    course = courses.get(key)
    require_in(course)
    chains = _chains(course)
    number = choose(chains, None if everyone else who)
    if not number:
        whose = "by anybody" if everyone else f"by {who or 'you'}; --everyone goes by all"
        raise NothingToTakeBack(f"Nothing is left to {kind} in the course '{key}' {whose}.")
    return _taken_back(courses, course, chains, number, who)


def _taken_back(courses: Courses, course: Kept, chains: Chains, number: int, who: str) -> TakenBack:
    edit = chains.edit_of(number)
    kind = "redo" if chains.kind(number) == "undo" else "undo"
    after, before = _around(course, number)
    why = f"{kind} of revision {edit.number}" + (f": {edit.why}" if edit.why else "")
    try:
        written = courses.put(course.key, after, before, who=who, why=why, undoes=number)
    except BothEdited as both:
        raise EditedSince(number, both) from None
    was = written.kept.revisions[-2].content
    return TakenBack(written.kept.latest.number, kind, edit, sentences(was, written.kept.content))


def _around(course: Kept, number: int) -> tuple[Course, Course]:
    """Return the course as a revision left it, and as it was before: the one before that can be read."""
    at = next(place for place, each in enumerate(course.revisions) if each.number == number)
    return course.revisions[at].content, course.revisions[at - 1].content


def _chains(course: Kept) -> Chains:
    return Chains([_head(each) for each in course.revisions], _set_apart(course))


def _set_apart(course: Kept) -> set[int]:
    """Return the revisions that are no edits: the first, those that took the course out and those that put it back."""
    numbers = {course.revisions[0].number}
    for before, each in zip(course.revisions, course.revisions[1:], strict=False):
        if each.withdrawn or before.withdrawn:
            numbers.add(each.number)
    return numbers


def _edit(chains: Chains, choose: Callable[[Chains, str | None], int], who: str | None) -> Head | None:
    number = choose(chains, who)
    return chains.edit_of(number) if number else None


def _head(revision: Revision) -> Head:
    return Head(revision.number, revision.who, revision.when, revision.why, revision.undoes)
