"""What the commands print of courses: lists, chapters with their pieces, history."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from commands.printing import print_json, print_table

if TYPE_CHECKING:
    from annotate.archive import Archive
    from annotate.courses.shelf import Courses, Kept


def print_courses(courses: Courses, taken_out: bool, as_json: bool) -> None:
    """Print the courses that are there, or those that were taken out."""
    kept = courses.all(withdrawn=taken_out)
    if as_json:
        print_json([_plain(each) for each in kept])
        return
    for name, why in courses.unread():
        click.echo(f"{name} cannot be read: {why}", err=True)
    if not kept:
        click.echo("None were taken out." if taken_out else "There are none yet: layakosh course --new TITLE")
        return
    print_table(
        f"{len(kept)} course{'' if len(kept) == 1 else 's'}",
        ["course", "title", "for", "chapters", "pieces", "changed"],
        [
            [
                each.key,
                each.content.title,
                each.content.for_whom,
                str(len(each.content.chapters)),
                str(sum(len(chapter.pieces) for chapter in each.content.chapters)),
                f"{each.latest.when:%Y-%m-%d}",
            ]
            for each in kept
        ],
    )


def print_course(archive: Archive, kept: Kept, as_json: bool) -> None:
    """Print a course, chapter by chapter."""
    if as_json:
        print_json(_plain(kept, archive))
        return
    content = kept.content
    click.secho(content.title + (" (taken out)" if kept.latest.withdrawn else ""), bold=True)
    click.echo(f"Revision {kept.latest.number}")
    for word, text in (("For", content.for_whom), ("Licence", content.licence)):
        if text:
            click.echo(f"{word}: {text}")
    if not content.chapters:
        click.echo("It has no chapters yet.")
    for number, chapter in enumerate(content.chapters, 1):
        click.secho(f"\n{number}. {chapter.title}", bold=True)
        if chapter.notes:
            first, *more = chapter.notes.split("\n")
            click.echo(f"   {first}{' ...' if more else ''}")
        print_pieces(archive, chapter.pieces)


def print_pieces(archive: Archive, pieces: tuple[str, ...]) -> None:
    """Print the pieces of a chapter, a line or two for each."""
    from annotate.courses.piece import find

    for number, piece in enumerate(pieces, 1):
        found = find(archive, piece)
        notation = f": {found.notation}" if found.notation else ""
        click.echo(f"   {number}) {piece}  {found.name}{notation}")
        if found.missing:
            click.secho(f"      Not there now. {found.missing}", fg="yellow")


def print_history(kept: Kept, as_json: bool) -> None:
    """Print what became of a course, the latest first."""
    from annotate.courses.taking_back import history
    from annotate.history.taking_back import head_words

    entries = history(kept)
    if as_json:
        print_json(
            [
                {
                    "revision": each.head.number,
                    "who": each.head.who,
                    "when": each.head.when.isoformat(),
                    "why": each.head.why,
                    "changes": list(each.changes),
                    "taken_back_by": each.taken_back_by or None,
                }
                for each in reversed(entries)
            ]
        )
        return
    for each in reversed(entries):
        words = head_words(each.head)
        note = f"; taken back by revision {each.taken_back_by}" if each.taken_back_by else ""
        click.secho(words[0].upper() + words[1:] + note, bold=True)
        for line in each.changes:
            click.echo(f"  {line}")


def _plain(kept: Kept, archive: Archive | None = None) -> dict[str, Any]:
    """Return a course as plain values; with the archive also what there is of its pieces."""
    content = kept.content
    return {
        "course": kept.key,
        "title": content.title,
        "for": content.for_whom,
        "licence": content.licence,
        "revision": kept.latest.number,
        "taken_out": kept.latest.withdrawn,
        "chapters": [
            {
                "title": chapter.title,
                "notes": chapter.notes,
                "pieces": [_plain_piece(archive, piece) for piece in chapter.pieces],
            }
            for chapter in content.chapters
        ],
    }


def _plain_piece(archive: Archive | None, piece: str) -> Any:
    from annotate.courses.piece import find

    if archive is None:
        return piece
    found = find(archive, piece)
    told = {"piece": piece, "kind": found.kind, "name": found.name, "notation": found.notation}
    return {**told, "missing": found.missing or None}
