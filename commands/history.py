"""History: what became of a recording and its rows, two states of it compared."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from commands.params import POINT, archive_option, json_option, open_archive
from commands.printing import print_json

if TYPE_CHECKING:
    from annotate.archive import Archive
    from annotate.history.changes import RowChange
    from annotate.history.points import Point
    from annotate.history.timeline import Entry

ROWS_SHOWN = 12
"""So many rows of a revision are printed; ``--json`` has them all."""

TABLES = ("recordings", "sections", "sams", "tihais", "phrases")
table_option = click.option("--table", type=click.Choice(TABLES), default=None, help="Only this table.")


@click.command()
@click.argument("recording")
@click.argument("row", required=False)
@table_option
@click.option(
    "--most", type=click.IntRange(min=0), default=20, show_default=True, help="So many revisions, the latest; 0: all."
)
@archive_option
@json_option
def history(recording: str, row: str | None, table: str | None, most: int, archive_path: Path, as_json: bool) -> None:
    """What became of a recording, or of one row of it.

    ROW is the key of a tihai, phrase or sam (t01), or a section's name; the recording's own name stands for its title,
    raga and so on. The latest revision comes first: who, when, why, and each field that changed, before and after.
    """
    from annotate.history.timeline import history as history_of

    archive = open_archive(archive_path)
    table, key = which_rows(archive, recording, table, row)
    entries = history_of(archive, recording, table=table, key=key, most=most + 1 if most else 0)
    earlier, entries = (len(entries) > most, entries[-most:]) if most else (False, entries)
    if as_json:
        print_json([entry.to_json() for entry in reversed(entries)])
        return
    if not entries:
        click.echo(f"Nothing was ever written in the {table} of {recording}.")
    for entry in reversed(entries):
        _print_entry(entry)
    if earlier:
        click.echo("There are earlier ones: --most 0 shows all.")


@click.command()
@click.argument("recording")
@click.argument("first", type=POINT)
@click.argument("second", type=POINT, default="now")
@click.option("--row", help="Only this row: its key, or a section's name.")
@table_option
@archive_option
@json_option
def compare(
    recording: str,
    first: Point,
    second: Point,
    row: str | None,
    table: str | None,
    archive_path: Path,
    as_json: bool,
) -> None:
    """What is different between two states of a recording.

    FIRST and SECOND are revision numbers (0: before anything), days (2026-01-31: its end), moments ('2026-01-31 18:00',
    in this machine's zone unless it names one) or "now". Rows that were added, withdrawn, and changed.
    """
    from annotate.history.as_of import compare as compared

    archive = open_archive(archive_path)
    table, key = which_rows(archive, recording, table, row)
    found = compared(archive, recording, first, second, table=table, key=key)
    if as_json:
        rows = [change.to_json() for change in found.changes]
        print_json({"recording": recording, "first": found.first, "second": found.second, "rows": rows})
        return
    click.echo(f"{recording}, from {_named(first, found.first)} to {_named(second, found.second)}:")
    print_changes(found.changes, most=None)


def which_rows(archive: Archive, recording: str, table: str | None, row: str | None) -> tuple[str, str]:
    """Return the table and key that a user named; empty for all."""
    if row is None:
        return table or "", ""
    from annotate.history.timeline import row_named

    return row_named(archive.ledger(recording), row, table or "")


def print_changes(changes: Sequence[RowChange], most: int | None = ROWS_SHOWN) -> None:
    """Print what happened to each row, a line for each."""
    if not changes:
        click.echo("  nothing")
    for change in changes[:most]:
        click.echo(f"  {change.sentence}")
    if most is not None and len(changes) > most:
        click.echo(f"  and {len(changes) - most} more rows")


def _named(point: Point, number: int) -> str:
    return point.words if point.number is not None else f"{point.words} (revision {number})"


def _print_entry(entry: Entry) -> None:
    from annotate.history.taking_back import head_words

    words = head_words(entry.head)
    note = f"; taken back by revision {entry.taken_back_by}" if entry.taken_back_by else ""
    click.secho(words[0].upper() + words[1:] + note, bold=True)
    print_changes(entry.changes)
