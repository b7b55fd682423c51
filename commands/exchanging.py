"""Exchange: annotations written in open formats for other programs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from commands.params import archive_option, json_option, open_archive
from commands.printing import print_json

if TYPE_CHECKING:
    from annotate.grid import RecordingGrid
    from annotate.state import State

FORMS = ("labels", "webvtt", "jams", "midi", "csv")


@click.command()
@click.argument("recording")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--as", "form", type=click.Choice(FORMS), required=True, help="The format.")
@click.option(
    "--table",
    "tables",
    multiple=True,
    type=click.Choice(["sections", "sams", "tihais", "phrases", "grid"]),
    help="Only this: for csv one of them, for labels and webvtt as many as you like (no grid).",
)
@archive_option
@json_option
def export(recording: str, file: Path, form: str, tables: tuple[str, ...], archive_path: Path, as_json: bool) -> None:
    """Write sections, sams, tihais and phrases into FILE, which must be new.

    labels: start, end and label with tabs between, to the microsecond; webvtt: cues, to the
    millisecond; jams: all of it, with every matra; midi: the grid as played, with a click, and the
    notes of tihais and phrases; csv: one table, as 'layakosh load' reads it.
    """
    if form == "csv" and len(tables) != 1:
        raise click.UsageError("Say which table: --table sections, sams, tihais, phrases or grid.")
    if form in ("jams", "midi") and tables:
        raise click.UsageError(f"{form} takes all of it: leave --table out.")
    if form in ("labels", "webvtt") and "grid" in tables:
        raise click.UsageError("The grid goes into csv, jams or midi.")
    from annotate.exchange.new_file import write_new

    archive = open_archive(archive_path)
    content, rows, left_out = _written(archive.state(recording), archive.grid(recording), form, tables)
    write_new(file, content)
    if as_json:
        print_json({"file": str(file), "as": form, "rows": rows, "left_out": left_out})
    else:
        click.echo(f"{file}: {rows} rows.\nThis format does not hold: {left_out}.")


def _written(state: State, grid: RecordingGrid, form: str, tables: tuple[str, ...]) -> tuple[str | bytes, int, str]:
    """Return the content, how many rows it has, and what the format leaves out."""
    from annotate.cells import TABLES
    from annotate.exchange import jams_out, spans, tables_out
    from annotate.exchange.errors import CannotExport
    from annotate.exchange.label_lists import label_list, webvtt

    if form == "csv":
        text, rows = tables_out.table_csv(state, grid, tables[0])
        return text, rows, tables_out.LEFT_OUT[tables[0]]
    found = spans.spans_of(state, grid, tables or TABLES)
    if not found:
        what = ", ".join(tables or TABLES)
        raise CannotExport(f"'{state.slug}' has no {what} yet: there is nothing to write.")
    if form == "jams":
        return jams_out.jams(state, grid), len(found), jams_out.LEFT_OUT
    if form == "midi":
        from annotate.exchange import midi_out

        written = midi_out.midi(state, grid)
        return written.content, len(found), written.left_out
    return (label_list if form == "labels" else webvtt)(found), len(found), spans.LEFT_OUT
