"""Going back: undo, redo, a recording or the whole archive as it was."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from commands.history import print_changes, table_option, which_rows
from commands.params import POINT, archive_option, json_option, login_or, open_archive, who_option
from commands.printing import print_json

if TYPE_CHECKING:
    from annotate.archive import Archive
    from annotate.errors import ConflictingEdit
    from annotate.history.as_of import Plan
    from annotate.history.points import Point
    from annotate.history.taking_back import TakenBack
    from theory.errors import LayakoshError

everyone_option = click.option("--everyone", is_flag=True, help="Go by everyone's edits, not only your own.")


@click.command()
@click.argument("recording")
@everyone_option
@click.option("--revision", type=click.IntRange(min=1), help="Take back this revision, whosever and whenever it was.")
@who_option
@archive_option
@json_option
def undo(recording: str, everyone: bool, revision: int | None, who: str, archive_path: Path, as_json: bool) -> None:
    """Take back your latest edit of a recording.

    Again, the one before it. It is written as a new revision: nothing is lost, and "redo" brings it back. When somebody
    has changed the same rows since, it is refused and both versions are shown.
    """
    from annotate.history.taking_back import take_back
    from annotate.history.taking_back import undo as undo_latest

    if everyone and revision is not None:
        raise click.UsageError("--everyone and --revision do not go together: a revision is one, whosever it is.")
    archive, who = open_archive(archive_path), login_or(who)
    if revision is not None:
        _print_taken_back(recording, take_back(archive, recording, revision, who), as_json)
    else:
        _print_taken_back(recording, undo_latest(archive, recording, who, everyone=everyone), as_json)


@click.command()
@click.argument("recording")
@everyone_option
@who_option
@archive_option
@json_option
def redo(recording: str, everyone: bool, who: str, archive_path: Path, as_json: bool) -> None:
    """Bring back what was undone last.

    Again, what was undone before it. A new edit ends what can be brought back so; "history" still has it.
    """
    from annotate.history.taking_back import redo as redo_latest

    archive, who = open_archive(archive_path), login_or(who)
    _print_taken_back(recording, redo_latest(archive, recording, who, everyone=everyone), as_json)


@click.command("as-of")
@click.argument("when", type=POINT)
@click.argument("recording", required=False)
@click.option("--all", "all_of_them", is_flag=True, help="Every recording of the archive.")
@click.option("--row", help="Only this row: its key, or a section's name.")
@table_option
@click.option("--yes", is_flag=True, help="Write it. Without this, only what would change is shown.")
@who_option
@archive_option
@json_option
def as_of(
    when: Point,
    recording: str | None,
    all_of_them: bool,
    row: str | None,
    table: str | None,
    yes: bool,
    who: str,
    archive_path: Path,
    as_json: bool,
) -> None:
    """Bring back a recording, a table or a row as it was.

    WHEN is a revision's number, a day (2026-01-31: its end) or a moment ('2026-01-31 18:00', in this machine's zone
    unless it names one). It shows what would change; with --yes it is written, as a new revision, which "undo" takes
    back.
    """
    from annotate.history.as_of import plan, plans_of_all

    if all_of_them == (recording is not None):
        raise click.UsageError("Name one recording, or give --all for every one.")
    if all_of_them and (row or when.number is not None):
        raise click.UsageError("--all goes with a day or a moment, and without --row: each recording has its own.")
    archive, who = open_archive(archive_path), login_or(who)
    absent: list[str] = []
    if recording is not None:
        table, key = which_rows(archive, recording, table, row)
        plans = [plan(archive, recording, when, table=table, key=key)]
    else:
        plans, absent = plans_of_all(archive, when, table=table or "")
    written = _carried_out(archive, plans, who) if yes else {}
    refused = [each for each in written.values() if not isinstance(each, int)]
    if as_json:
        print_json([_as_json(each, written.get(each.slug)) for each in plans])
    else:
        for each in plans:
            _print_plan(each, written.get(each.slug), shown=None if recording else 0)
        _print_end(plans, absent, yes=yes)
    if refused:
        raise _not_written(refused)


def _carried_out(archive: Archive, plans: list[Plan], who: str) -> dict[str, int | ConflictingEdit]:
    """Write the plans; of each recording, its revision, or why it was not written: each is by itself."""
    from annotate.errors import ConflictingEdit
    from annotate.history.as_of import carry_out

    written: dict[str, int | ConflictingEdit] = {}
    for each in plans:
        try:
            written[each.slug] = carry_out(archive, each, who)
        except ConflictingEdit as conflict:
            written[each.slug] = conflict
    return written


def _not_written(refused: list[ConflictingEdit]) -> LayakoshError:
    """Return the error that says which recordings somebody was faster in; the only one as it is."""
    from annotate.errors import ArchiveError

    if len(refused) == 1:
        return refused[0]
    slugs = ", ".join(conflict.slug for conflict in refused)
    return ArchiveError(f"Somebody changed {slugs} at this moment; they were not written. Do it again for them.")


def _as_json(made: Plan, written: int | ConflictingEdit | None) -> dict[str, object]:
    return {
        "recording": made.slug,
        "as_of_revision": made.number,
        "latest": made.latest,
        "written": written if made.changes and isinstance(written, int) else None,
        "rows": [change.to_json() for change in made.changes],
    }


def _print_plan(made: Plan, written: int | ConflictingEdit | None, *, shown: int | None) -> None:
    rows = "1 row" if len(made.changes) == 1 else f"{len(made.changes)} rows"
    asked = "" if made.point.number is not None else f" ({made.point.words})"
    head = f"{made.slug} as of revision {made.number}{asked}: "
    if not made.changes:
        click.echo(f"{head}it is so now.")
        return
    click.echo(f"{head}{rows} {'changed' if isinstance(written, int) else 'would change'}.")
    if shown != 0:
        print_changes(made.changes, most=shown)
    if isinstance(written, int):
        click.echo(f"Written as revision {written}.")


def _print_end(plans: list[Plan], absent: list[str], *, yes: bool) -> None:
    if absent:
        click.echo(f"Not in the archive then, left as they are: {', '.join(absent)}.")
    if not plans:
        click.echo("No recording has changed since.")
    elif any(made.changes for made in plans) and not yes:
        click.echo("Nothing is written yet. Give --yes to write it.")


def _print_taken_back(recording: str, done: TakenBack, as_json: bool) -> None:
    if as_json:
        print_json(done.to_json())
        return
    word = "Took back" if done.kind == "undo" else "Brought back"
    run = f" and {done.nudges - 1} nudges of the same sam" if done.nudges > 1 else ""
    click.echo(f"{word} {done.step.words}{run}, as revision {done.revision} of {recording}:")
    print_changes(done.changes)
