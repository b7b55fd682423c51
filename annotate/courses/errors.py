"""Errors of courses, beside those of :mod:`annotate.shelves.errors`.

::

    ArchiveError
    └── CourseError
        ├── NoSuchChapter     a chapter that is not there (any more)
        └── BothEdited        somebody changed the same thing first; shows it as it was, theirs and mine
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
    clashes : tuple of Clash
    who : str
        Who changed the course last; may be empty.
    """

    def __init__(self, key: str, clashes: Sequence[Clash], who: str, when: str) -> None:
        self.key, self.clashes, self.who = key, tuple(clashes), who
        lines = [f"{who or 'Somebody'} has changed the same of '{key}' meanwhile ({when}). Yours was not written."]
        for clash in self.clashes:
            versions = {"was": clash.was, "theirs": clash.theirs, "yours": clash.mine}
            lines += [f"{clash.word}:", *(f"  {name + ':':<8}{_short(text)}" for name, text in versions.items())]
        super().__init__("\n".join(lines))


def _short(text: str) -> str:
    line = " / ".join(text.split("\n"))
    return line if len(line) <= _SHOWN else f"{line[: _SHOWN - 2]} …"
