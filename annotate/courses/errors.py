"""Errors of courses, beside those of :mod:`annotate.shelves.errors`.

::

    ArchiveError
    └── CourseError
        ├── NoSuchChapter     a chapter that is not there (any more)
        ├── BothEdited        somebody changed the same thing first; shows it as it was, theirs and mine
        └── EditedSince       a revision that cannot be taken back: somebody has changed the same since
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from annotate.errors import ArchiveError

_SHOWN = 200
"""Characters of a text that a message shows."""


class CourseError(ArchiveError):
    """Root of the errors of this package."""


class NoSuchChapter(CourseError):
    """A chapter that the course does not have."""


@dataclass(frozen=True)
class Clash:
    """A thing that two people changed to something else: what it is, and the three versions of it as text."""

    word: str
    was: str
    theirs: str
    mine: str


class BothEdited(CourseError):
    """Somebody else changed the same thing of a course first. Nothing was written.

    Attributes
    ----------
    key : str
        The course.
    clashes : tuple of Clash
    who, when : str
        Who changed the course last, and when, in words; ``who`` may be empty.
    """

    def __init__(self, key: str, clashes: Sequence[Clash], who: str, when: str) -> None:
        self.key, self.clashes, self.who, self.when = key, tuple(clashes), who, when
        first = f"{who or 'Somebody'} has changed the same of '{key}' meanwhile ({when}). Yours was not written."
        super().__init__("\n".join([first, *_beside(clashes, "was", "theirs", "yours")]))


class EditedSince(CourseError):
    """A revision cannot be taken back: somebody has changed the same since. Nothing was written."""

    def __init__(self, number: int, both: BothEdited) -> None:
        first = (
            f"Revision {number} of '{both.key}' cannot be taken back: the same was changed since, last by "
            f"{both.who or 'somebody'} ({both.when}). Nothing was written."
        )
        super().__init__("\n".join([first, *_beside(both.clashes, "as it was left", "as it is now", "as it would be")]))


def _beside(clashes: Sequence[Clash], *names: str) -> list[str]:
    """Return lines that show the three versions of each thing under these names."""
    width = max(map(len, names)) + 2
    lines = []
    for clash in clashes:
        versions = zip(names, (clash.was, clash.theirs, clash.mine), strict=True)
        lines += [f"{clash.word}:", *(f"  {name + ':':<{width}}{_short(text)}" for name, text in versions)]
    return lines


def _short(text: str) -> str:
    line = " / ".join(text.split("\n"))
    return line if len(line) <= _SHOWN else f"{line[: _SHOWN - 2]} …"
