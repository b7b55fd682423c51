"""All courses of an archive, in ``courses/<key>/``, each changed together with what others have changed since."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from annotate.archive import Archive
from annotate.courses.changes import in_short
from annotate.courses.course import Course
from annotate.courses.errors import BothEdited
from annotate.courses.merging import Merged, merge
from annotate.courses.ordering import Keep
from annotate.courses.written import from_table, to_table
from annotate.errors import BadMoment
from annotate.history.points import moment_words
from annotate.shelves import kept, shelf
from annotate.shelves.errors import BadThing, ThingChanged

SORT = kept.Sort(
    word="course",
    folder="courses",
    lists="layakosh course",
    mend="a newer version of this program may know it.",
    largest=1 << 20,
    name_of=lambda course: course.title,
    to_table=to_table,
    from_table=from_table,
)
Kept: TypeAlias = kept.Kept[Course]
Revision: TypeAlias = kept.Revision[Course]


@dataclass(frozen=True)
class Written:
    """What became of a change: the course, what it was put together of, and whether anything was left to write."""

    kept: Kept
    merged: Merged
    wrote: bool


class Courses(shelf.Shelf[Course]):
    """The courses of an archive."""

    def __init__(self, archive: Archive) -> None:
        super().__init__(archive, SORT)

    def edit(self, key: str, mine: Course, *, seen: int, who: str, keep: Keep = "") -> Written:
        """Change a course that was looked at as of a revision, together with what others have made of it since.

        Raises
        ------
        annotate.courses.errors.BothEdited
            Both changed the same thing and ``keep`` is empty. Nothing is written.
        annotate.errors.BadMoment
            It has no such revision.
        annotate.shelves.errors.BadThing
            It is taken out, or too long.
        annotate.shelves.errors.NoSuchThing, annotate.errors.CannotWrite
        """
        return self.put(key, revision_of(self.get(key), seen).content, mine, who=who, keep=keep)

    def put(
        self, key: str, base: Course, mine: Course, *, who: str, why: str = "", keep: Keep = "", undoes: int = 0
    ) -> Written:
        """Write what makes ``mine`` of ``base`` on top of what is there now. Errors as in :meth:`edit`.

        A revision that takes another back (``undoes``) is written also where nothing is left to change.
        """
        while True:
            now = self.get(key)
            require_in(now)
            merged = merge(base, now.content, mine, keep)
            if merged.clashing and not keep:
                raise BothEdited(key, merged.clashing, now.latest.who, moment_words(now.latest.when))
            if merged.course == now.content and not undoes:
                return Written(now, merged, wrote=False)
            reason = why or in_short(now.content, merged.course)
            try:
                changed = self.change(key, merged.course, seen=now.latest.number, who=who, why=reason, undoes=undoes)
            except ThingChanged:
                continue  # somebody was faster again: put it together with that as well
            return Written(changed, merged, wrote=True)


def revision_of(course: Kept, number: int) -> Revision:
    """Return a revision of a course.

    Raises
    ------
    annotate.errors.BadMoment
        It has none of that number that can be read.
    """
    found = next((each for each in course.revisions if each.number == number), None)
    if found is None:
        numbers = ", ".join(str(each.number) for each in course.revisions[-5:])
        raise BadMoment(f"The course '{course.key}' has no revision {number}. Its latest are {numbers}.")
    return found


def require_in(course: Kept) -> None:
    """Refuse a course that was taken out.

    Raises
    ------
    annotate.shelves.errors.BadThing
    """
    if course.latest.withdrawn:
        raise BadThing(
            f"The course '{course.key}' was taken out. To have it back: layakosh course {course.key} --put-back"
        )
