"""What a course is.

Conventions: notes are Markdown, as people type it. A chapter has a key that it keeps wherever it is moved and however
it is named, so that what two people did to it can be put together; nobody sees it. A piece is text
(:mod:`annotate.courses.piece`), and stands in a chapter once. Whatever can be made is sound.
"""

from __future__ import annotations

import re
import secrets
from dataclasses import dataclass

from annotate.courses.piece import read_piece
from annotate.shelves.errors import BadThing
from annotate.shelves.texts import require_name, require_text

LONGEST_TITLE = 120
LONGEST_LINE = 300
"""Characters of whom it is for, and of its licence."""
LONGEST_NOTES = 20_000
MOST_CHAPTERS = 100
MOST_PIECES = 100
"""Of one chapter."""

_KEY = re.compile(r"[0-9a-f]{8}")


def new_key() -> str:
    """Return a key for a chapter, which no other has."""
    return secrets.token_hex(4)


@dataclass(frozen=True)
class Chapter:
    """A chapter: what is said in it (Markdown) and the pieces that are practised, in order.

    Raises
    ------
    BadThing
        When it cannot be kept; the message says what is wrong.
    """

    key: str
    title: str
    notes: str = ""
    pieces: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not _KEY.fullmatch(self.key):
            raise BadThing(f"'{self.key[:20]}' is no key of a chapter: 8 digits from 0 to f were expected.")
        require_name("the chapter", self.title, LONGEST_TITLE)
        require_text(f"notes of '{self.title}'", self.notes, LONGEST_NOTES, lines=True)
        if len(self.pieces) > MOST_PIECES:
            raise BadThing(f"'{self.title}' has {len(self.pieces)} pieces: at most {MOST_PIECES} stand in a chapter.")
        for piece in self.pieces:
            if str(read_piece(piece)) != piece:
                raise BadThing(f"'{piece}' is written {read_piece(piece)}.")
        if twice := next((piece for piece in self.pieces if self.pieces.count(piece) > 1), ""):
            raise BadThing(f"{twice} stands in '{self.title}' twice: name it once.")


@dataclass(frozen=True)
class Course:
    """A course.

    Attributes
    ----------
    title, for_whom, licence : str
        As its maker calls it, who it is for, under which licence it may be passed on.
    chapters : tuple of Chapter
        In the order in which they are taken.

    Raises
    ------
    BadThing
        When it cannot be kept; the message says what is wrong.
    """

    title: str
    for_whom: str = ""
    licence: str = ""
    chapters: tuple[Chapter, ...] = ()

    def __post_init__(self) -> None:
        require_name("the course", self.title, LONGEST_TITLE)
        require_text("line that says whom it is for", self.for_whom, LONGEST_LINE)
        require_text("licence", self.licence, LONGEST_LINE)
        if len(self.chapters) > MOST_CHAPTERS:
            raise BadThing(f"It has {len(self.chapters)} chapters: at most {MOST_CHAPTERS} make a course.")
        if len({chapter.key for chapter in self.chapters}) != len(self.chapters):
            raise BadThing("Two chapters have the same key.")

    def chapter(self, key: str) -> Chapter | None:
        """Return a chapter by its key, or None."""
        return next((chapter for chapter in self.chapters if chapter.key == key), None)
