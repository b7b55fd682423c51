"""The columns of the index, for whoever reads it with another program."""

from __future__ import annotations

import difflib
from pathlib import Path

import click

from commands.params import archive_option, json_option
from commands.printing import print_json, print_table
from theory.errors import UnknownName


@click.command()
@click.argument("table", required=False)
@archive_option
@json_option
def columns(table: str | None, archive_path: Path, as_json: bool) -> None:
    """What the columns of the index mean: the Parquet tables that any other program can read.

    TABLE is one of recordings, sections, sams, tihais, phrases, matras; all of them without it.
    """
    del archive_path  # every command takes --archive; this one needs none
    from rich.markup import escape

    from annotate.schema import INDEX_TABLES, ROW_OF, described_columns

    if table is not None and table not in INDEX_TABLES:
        near = difflib.get_close_matches(table, INDEX_TABLES)
        raise UnknownName("table of the index", table, near, known=INDEX_TABLES)
    described = {name: described_columns(name) for name in ([table] if table else INDEX_TABLES)}
    if as_json:
        print_json(described)
        return
    for name, rows in described.items():
        cells = [[row["column"], escape(row["type"]), row["from"], _words(row)] for row in rows]
        print_table(
            f"{name}: a row is {ROW_OF[name]} (index/{name}/*.parquet)", ["column", "type", "from", "meaning"], cells
        )


def _words(row: dict[str, str]) -> str:
    return f"{row['meaning']} ({row['unit']})" if row["unit"] else row["meaning"]
