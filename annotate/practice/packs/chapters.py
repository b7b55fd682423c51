"""The chapters of a pack that is made of a course: their headings, their notes as markup, and what stands in each.

A piece stands where the course names it first; where it comes again, there is a link to it. Ragas and compositions, of
which there is no recording, stand in their chapter as notation. What is not there any more is left out, and told.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from markupsafe import Markup

from annotate.archive import Archive
from annotate.courses.course import Chapter, Course
from annotate.courses.exercise_sets import read_exercises
from annotate.courses.notes import to_html
from annotate.courses.piece import Found, find
from annotate.practice.exercises.drawn import exercises
from annotate.practice.packs.names import SHEETS
from annotate.practice.pieces import Piece, piece
from annotate.practice.sheets.wishes import SheetWishes
from theory.errors import LayakoshError
from theory.exercises.wishes import ExerciseWishes

LEVEL = 2
"""The level of a chapter's heading on the page."""


@dataclass(frozen=True)
class PackedExercises:
    """A set of exercises in a pack: what it is, what is asked, and the file that it is printed in."""

    found: Found
    wishes: ExerciseWishes
    file: str


@dataclass(frozen=True)
class PackedChapter:
    """A chapter of a pack: notes as markup, pieces by their addresses, what of it is only written, and exercises."""

    title: str
    notes: Markup
    pieces: tuple[str, ...]
    written: tuple[Found, ...]
    exercises: tuple[PackedExercises, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Return it for the listing."""
        return {
            "title": self.title,
            "pieces": list(self.pieces),
            "exercises": [each.file for each in self.exercises],
        }


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
    chapters = tuple(_chapter(archive, number, each, pieces, lacks) for number, each in enumerate(course.chapters, 1))
    return CoursePieces(chapters, tuple(pieces.values()), tuple(lacks))


def write_exercises(chapters: Sequence[PackedChapter], folder: Path, how: SheetWishes) -> None:
    """Write the exercises of chapters into the folder of a pack, on the paper and in the script of its sheets."""
    from annotate.practice.exercises.printed import exercises_html

    for each in (one for chapter in chapters for one in chapter.exercises):
        printed = exercises_html(exercises(None, each.wishes), paper=how.paper, script=how.script)
        (folder / each.file).write_text(printed, "utf-8")


def _chapter(
    archive: Archive, number: int, chapter: Chapter, pieces: dict[str, Piece], lacks: list[str]
) -> PackedChapter:
    own: list[str] = []
    written: list[Found] = []
    asked: list[PackedExercises] = []
    for text in chapter.pieces:
        found = find(archive, text)
        if found.missing:
            lacks.append(f"{text} of '{chapter.title}' is left out: {found.missing}")
        elif found.reference.kind == "exercises":
            file = f"{SHEETS}/exercises-{number}-{len(asked) + 1}.html"
            asked.append(PackedExercises(found, read_exercises(found.reference.key), file))
        elif found.reference.kind != "row":
            written.append(found)
        else:
            try:
                pieces[text] = pieces.get(text) or piece(archive, text)
                own.append(text)
            except LayakoshError as error:
                lacks.append(f"{text} of '{chapter.title}' is left out: {error}")
    notes = Markup(to_html(chapter.notes, beneath=LEVEL, at_home=False))
    return PackedChapter(chapter.title, notes, tuple(own), tuple(written), tuple(asked))
