"""Loading: annotations made elsewhere, from plain tables or from a file of another program."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from commands.params import A_FILE, archive_option, json_option, login_or, who_option
from commands.printing import print_json

if TYPE_CHECKING:
    from annotate.archive import Archive
    from annotate.rows_in import Taken

MOST_SHOWN = 20


@click.command()
@click.argument("recording")
@click.option("--sams", type=A_FILE, help="CSV: sam_s, and section and cycle if known.")
@click.option("--tihais", type=A_FILE, help="CSV: start_s, landing_s, and palla, dam, rule ... if known.")
@click.option("--phrases", type=A_FILE, help="CSV: start_s, end_s, swaras, role.")
@click.option("--sections", type=A_FILE, help="CSV: start_s, end_s, label or section, kind, tala.")
@click.option("--from", "file", type=A_FILE, help="Instead: labels (start, end, label), WebVTT or JAMS.")
@click.option(
    "--as", "form", type=click.Choice(["labels", "webvtt", "jams"]), help="What that file is (default: by its ending)."
)
@click.option(
    "--table",
    type=click.Choice(["sections", "sams", "tihais", "phrases"]),
    help="What its labels are, where they do not say so themselves.",
)
@click.option("--dry-run", is_flag=True, help="Only say what would be written.")
@click.option("--raga", default="", help="The raga, for a recording that the archive does not hold yet.")
@click.option("--title", default="", help="The title, for a recording that the archive does not hold yet.")
@who_option
@archive_option
@json_option
def load(
    recording: str,
    sams: Path | None,
    tihais: Path | None,
    phrases: Path | None,
    sections: Path | None,
    file: Path | None,
    form: str | None,
    table: str | None,
    dry_run: bool,
    raga: str,
    title: str,
    who: str,
    archive_path: Path,
    as_json: bool,
) -> None:
    """Load annotations made elsewhere: CSV tables, or one file with --from.

    All of it in one revision, or nothing. A recording that the archive does not hold yet is made, without sound.
    """
    tables = {"sections": sections, "sams": sams, "tihais": tihais, "phrases": phrases}
    if file is not None and any(tables.values()):
        raise click.UsageError("Give either tables, or one file with --from.")
    if file is None and not any(tables.values()):
        raise click.UsageError(
            "Nothing to load: name at least one of --sams, --tihais, --phrases, --sections, or a file with --from."
        )
    if file is None and (form or table):
        raise click.UsageError("--as and --table go with --from.")
    from annotate.archive import Archive
    from annotate.exchange.reading import form_of, read_file
    from annotate.rows_in import take
    from annotate.tables_in import named, new_recording, table_rows

    archive = Archive.open(archive_path, create=not dry_run)
    passed_over: dict[str, int] = {}
    if file is not None:
        read = read_file(file, form or form_of(file), table)
        rows, passed_over = read.rows, read.passed_over
    else:
        rows = {name: table_rows(path, name) for name, path in tables.items() if path is not None}
    made = new_recording(archive, recording, title=title, raga=raga)
    why = "tables loaded" if file is None else f"loaded from {click.format_filename(file.name)}"
    taken = take(archive, named(recording), rows, made=made, who=login_or(who), why=why, write=not dry_run)
    if as_json:
        print_json(_told(archive, taken, passed_over, dry_run))
    else:
        _print(archive, taken, passed_over, dry_run)


def _told(archive: Archive, taken: Taken, passed_over: dict[str, int], dry_run: bool) -> dict[str, object]:
    told = {
        table: {"came": each.came, "new": each.new, "corrected": each.corrected, "already there": each.there}
        for table, each in taken.counts.items()
    }
    return {
        "recording": taken.slug,
        **({} if dry_run else _present(archive, taken.slug)),
        "loaded": told,
        "passed_over": passed_over,
        "proposed_sections_withdrawn": taken.withdrawn,
        "written": not dry_run and bool(taken.edits),
    }


def _present(archive: Archive, slug: str) -> dict[str, int]:
    state = archive.state(slug)
    return {
        "sections": len(state.sections),
        "sams": len(state.marked_sams),
        "tihais": len(state.tihais),
        "phrases": len(state.phrases),
    }


def _print(archive: Archive, taken: Taken, passed_over: dict[str, int], dry_run: bool) -> None:
    for table, each in taken.counts.items():
        click.echo(f"{table}: {each.new} new, {each.corrected} corrected, {each.there} already there")
    if taken.withdrawn:
        click.echo(f"{taken.withdrawn} proposed sections give way to these")
    for what, how_many in passed_over.items():
        click.echo(f"passed over: {how_many} {what}")
    if not dry_run:
        counts = ", ".join(f"{number} {what}" for what, number in _present(archive, taken.slug).items())
        click.echo(f"{taken.slug}: now {counts}.")
        return
    from annotate.cells import cells_of
    from annotate.records import WORD_FOR

    shown = [edit for edit in taken.edits if edit.table in taken.counts]
    for edit in shown[:MOST_SHOWN]:
        cells = cells_of(edit.record) if edit.record is not None else {"": edit.key}
        told = ", ".join(cell for cell in cells.values() if cell)
        click.echo(f"  {edit.action} {WORD_FOR[edit.table]}: {told}")
    if len(shown) > MOST_SHOWN:
        click.echo(f"  and {len(shown) - MOST_SHOWN} more")
    click.echo(f"{taken.slug}: nothing was written (--dry-run).")
