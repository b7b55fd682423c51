"""Two people change the same course: what can be put together is, the rest is shown and a person decides.

The title, for whom it is and the licence are each one thing, and so are a chapter's title and its notes. Of chapters,
and of the pieces in one, what both put in and took out is put together, and so are moves by one of them. Both changed
the same where both changed one thing to something else, both moved the same, or one changed a chapter that the other
removed.
"""

from __future__ import annotations

from dataclasses import dataclass

from annotate.courses.changes import FIELDS, ORDER, sentences
from annotate.courses.course import Chapter, Course
from annotate.courses.errors import Clash
from annotate.courses.ordering import Keep, inserted, put_together

REMOVED = "(removed)"


@dataclass(frozen=True)
class Merged:
    """A course put together of two versions.

    ``theirs`` says in words what it has of theirs that mine has not; ``clashing`` are the things that both changed to
    something else: of these the course has what was asked to be kept.
    """

    course: Course
    theirs: tuple[str, ...]
    clashing: tuple[Clash, ...]


def merge(base: Course, theirs: Course, mine: Course, keep: Keep = "") -> Merged:
    """Put two versions of a course together.

    Parameters
    ----------
    base, theirs, mine : Course
        The course that both began with, and what each made of it.
    keep : str
        Whose version is taken of what both changed; theirs where it is empty.

    Raises
    ------
    BadThing
        Together they are more than a course may hold.
    """
    clashing: list[Clash] = []
    values = {
        name: _text(word, getattr(base, name), getattr(theirs, name), getattr(mine, name), keep, clashing)
        for name, word in FIELDS
    }
    before, by_them, by_me = ({each.key: each for each in course.chapters} for course in (base, theirs, mine))
    chapters = {key: each for key, each in {**by_me, **by_them}.items() if key not in before}
    for key, was in before.items():
        chapter = _chapter(was, by_them.get(key), by_me.get(key), keep, clashing)
        if chapter is not None:
            chapters[key] = chapter
    merged = Course(**values, chapters=_ordered(chapters, base, theirs, mine, keep, clashing))
    return Merged(merged, sentences(mine, merged), tuple(clashing))


def _ordered(
    chapters: dict[str, Chapter], base: Course, theirs: Course, mine: Course, keep: Keep, clashing: list[Clash]
) -> tuple[Chapter, ...]:
    """Return chapters in order; one that is kept although one of the two removed it stands where the other has it."""
    was, by_them, by_me = (tuple(each.key for each in course.chapters) for course in (base, theirs, mine))
    for key in was:
        if key in chapters:
            by_them, by_me = inserted(by_them, by_me, key), inserted(by_me, by_them, key)
    order, both = put_together(was, by_them, by_me, keep)
    if both:
        clashing.append(Clash(ORDER, *(", ".join(each.title for each in c.chapters) for c in (base, theirs, mine))))
    return tuple(chapters[key] for key in order)


def _chapter(
    was: Chapter, theirs: Chapter | None, mine: Chapter | None, keep: Keep, clashing: list[Clash]
) -> Chapter | None:
    """Return a chapter put together of two versions; None stands for one that was removed."""
    if theirs is None or mine is None:
        changed = theirs or mine
        if changed is None or changed == was:
            return None
        clashing.append(Clash(f"chapter '{was.title}'", _in_words(was), _in_words(theirs), _in_words(mine)))
        return mine if keep == "mine" else theirs
    title = _text("title of a chapter", was.title, theirs.title, mine.title, keep, clashing)
    notes = _text(f"notes of '{was.title}'", was.notes, theirs.notes, mine.notes, keep, clashing)
    pieces, both = put_together(was.pieces, theirs.pieces, mine.pieces, keep)
    if both:
        orders = (", ".join(each.pieces) for each in (was, theirs, mine))
        clashing.append(Clash(f"order of the pieces of '{was.title}'", *orders))
    return Chapter(was.key, title, notes, pieces)


def _text(word: str, was: str, theirs: str, mine: str, keep: Keep, clashing: list[Clash]) -> str:
    """Return the one of three versions that counts."""
    if mine in (was, theirs):
        return theirs
    if theirs == was:
        return mine
    clashing.append(Clash(word, was, theirs, mine))
    return mine if keep == "mine" else theirs


def _in_words(chapter: Chapter | None) -> str:
    if chapter is None:
        return REMOVED
    return "\n".join(filter(None, [chapter.title, ", ".join(chapter.pieces), chapter.notes]))
