"""Chapters of a course: added, changed, moved and removed; their pieces and their notes."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from commands.course_printing import print_pieces
from commands.coursing import keep_option, seen_option, write
from commands.params import archive_option, json_option, open_archive, who_option
from commands.printing import print_json
from theory.errors import LayakoshError

if TYPE_CHECKING:
    from annotate.courses.course import Course
    from annotate.courses.shelf import Kept

STDIN = "-"


@click.command()
@click.argument("course")
@click.argument("chapter", type=click.IntRange(min=1), required=False)
@click.option("--new", metavar="TITLE", help="Add a chapter.")
@click.option("--title", help="What the chapter is called.")
@click.option("--notes", metavar="FILE", help="Its notes: a Markdown file (-: from standard input).")
@click.option("--add", multiple=True, metavar="PIECE", help="Put a piece in; one that is there already moves.")
@click.option("--at", type=click.IntRange(min=1), help="With --add: from this place on (default: at the end).")
@click.option("--drop", multiple=True, metavar="PIECE", help="Take a piece out.")
@click.option("--place", type=click.IntRange(min=1), help="The place of the chapter in the course.")
@click.option("--remove", is_flag=True, help="Remove the chapter; 'course COURSE --undo' brings it back.")
@seen_option
@keep_option
@who_option
@archive_option
@json_option
def chapter(
    course: str,
    chapter: int | None,
    new: str | None,
    title: str | None,
    notes: str | None,
    add: tuple[str, ...],
    at: int | None,
    drop: tuple[str, ...],
    place: int | None,
    remove: bool,
    seen: int | None,
    keep: str | None,
    who: str,
    archive_path: Path,
    as_json: bool,
) -> None:
    """A chapter of a course: shown, or changed by what is asked.

    CHAPTER is its number. A piece is RECORDING/ROW (desh-gat-in-teental/t01), raga:KEY, composition:KEY
    or exercises:tala=T,level=N.
    """
    from annotate.courses import editing
    from annotate.courses.piece import require_there
    from annotate.courses.shelf import Courses, revision_of

    asked = bool(title or notes or add or drop or place or remove)
    if (new is None) == (chapter is None):
        raise click.UsageError("Give the number of a chapter, or --new TITLE for another one.")
    if (new is not None and (title or remove or drop)) or (remove and (title or notes or add or drop or place)):
        raise click.UsageError("--new goes with --notes, --add and --place; --remove goes alone.")
    if at and not add:
        raise click.UsageError("--at says where pieces are put in: give it with --add.")
    archive = open_archive(archive_path)
    courses = Courses(archive)
    kept = courses.get(course)
    if chapter is not None and not asked:
        _show(kept, chapter, as_json)
        return
    text = _notes(notes) if notes else None
    pieces = tuple(require_there(archive, piece).text for piece in add)
    if chapter is None:
        key = ""
    else:
        key = editing.chapter_at(revision_of(kept, seen or kept.latest.number).content, chapter).key

    def edit(was: Course) -> Course:
        if new is not None:
            longer = editing.with_chapter(was, new, text or "", place=place)
            (own,) = {each.key for each in longer.chapters} - {each.key for each in was.chapters}
            return editing.with_changed(longer, own, pieces=pieces)
        if remove:
            return editing.without_chapter(was, key)
        held = editing.without_pieces(editing.require_chapter(was, key).pieces, drop)
        changed = editing.with_changed(was, key, title=title, notes=text, pieces=editing.with_pieces(held, pieces, at))
        return editing.moved_chapter(changed, key, place) if place else changed

    write(courses, kept, seen, edit, keep, who, as_json)


def _notes(source: str) -> str:
    """Return the text of a Markdown file, or of standard input."""
    from annotate.courses.course import LONGEST_NOTES

    most = 4 * LONGEST_NOTES  # bytes of so many characters
    if source == STDIN:
        content = sys.stdin.buffer.read(most + 1)
    else:
        with Path(source).open("rb") as file:
            content = file.read(most + 1)
    if len(content) > most:
        raise LayakoshError(f"{source} is too long: notes have at most {LONGEST_NOTES} characters.")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise LayakoshError(
            f"{source} is no text in UTF-8 (byte {error.start}): save it as UTF-8, then give it again."
        ) from None


def _show(kept: Kept, number: int, as_json: bool) -> None:
    from annotate.courses.editing import chapter_at

    found = chapter_at(kept.content, number)
    if as_json:
        told = {"course": kept.key, "chapter": number, "revision": kept.latest.number, "title": found.title}
        print_json({**told, "notes": found.notes, "pieces": list(found.pieces)})
        return
    click.secho(f"{number}. {found.title}", bold=True)
    click.echo(f"Revision {kept.latest.number} of {kept.key}\n")
    if found.notes:
        click.echo(f"{found.notes}\n")
    print_pieces(open_archive(click.get_current_context().params["archive_path"]), found.pieces)
