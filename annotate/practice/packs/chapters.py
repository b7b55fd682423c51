"""The chapters of a pack that is made of a course: their headings, their notes as markup, and what stands in each.

A piece stands where the course names it first; where it comes again, there is a link to it. Ragas and compositions, of
which there is no recording, stand in their chapter as notation. What is not there any more is left out, and told.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from annotate.archive import Archive
from annotate.courses.course import Chapter, Course
from annotate.courses.notes import to_html
from annotate.courses.piece import Found, find
from annotate.practice.pieces import Piece, piece
from theory.errors import LayakoshError

LEVEL = 2
"""The level of a chapter's heading on the page."""


@dataclass(frozen=True)
class PackedChapter:
    """A chapter of a pack: its notes as markup, its pieces by their addresses, and what of it is only written."""

    title: str
    notes: Markup
    pieces: tuple[str, ...]
    written: tuple[Found, ...]

    def to_json(self) -> dict[str, Any]:
        """Return it for the listing."""
        return {"title": self.title, "pieces": list(self.pieces)}


@dataclass(frozen=True)
class CoursePieces:
    """What a course gives to a pack: its pieces in order, each once, and in sentences what of it is not there."""

    chapters: tuple[PackedChapter, ...]
    pieces: tuple[Piece, ...]
    lacks: tuple[str, ...]


def of_course(archive: Archive, course: Course) -> CoursePieces:
    """Return the chapters and pieces of a course."""
    pieces: dict[str, Piece] = {}
    lacks: list[str] = []
    chapters = tuple(_chapter(archive, each, pieces, lacks) for each in course.chapters)
    return CoursePieces(chapters, tuple(pieces.values()), tuple(lacks))


def _chapter(archive: Archive, chapter: Chapter, pieces: dict[str, Piece], lacks: list[str]) -> PackedChapter:
    own: list[str] = []
    written: list[Found] = []
    for text in chapter.pieces:
        found = find(archive, text)
        if found.missing:
            lacks.append(f"{text} of '{chapter.title}' is left out: {found.missing}")
        elif found.reference.kind != "row":
            written.append(found)
        else:
            try:
                pieces[text] = pieces.get(text) or piece(archive, text)
                own.append(text)
            except LayakoshError as error:
                lacks.append(f"{text} of '{chapter.title}' is left out: {error}")
    return PackedChapter(
        chapter.title, Markup(to_html(chapter.notes, beneath=LEVEL, at_home=False)), tuple(own), tuple(written)
    )
