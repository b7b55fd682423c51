"""Practice sheets: what was written down of a performance, on paper for a student."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from commands.fret_options import FretOptions
from commands.params import archive_option, json_option, open_archive
from commands.printing import print_json
from commands.sheet_options import hand_of, sheet_options


@click.command()
@click.argument("addresses", metavar="[PIECE]...", nargs=-1)
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--raga", default="", help="A raga to put first, or alone: its ways up and down, rules and phrases.")
@sheet_options
@archive_option
@json_option
def sheet(
    addresses: tuple[str, ...],
    file: Path,
    raga: str,
    script: str,
    paper: str,
    played: bool,
    tuning: str,
    archive_path: Path,
    as_json: bool,
    **fretting: Any,
) -> None:
    """Make a practice sheet of tihais, phrases and a raga in FILE, which must be new: sheet.html or sheet.pdf.

    A PIECE is written RECORDING/ROW: desh-gat-in-teental/t01, several rows of a recording with commas. As HTML the
    sheet is one file with everything in it; --tuning also needs to know where Sa is (see layakosh frets).
    """
    ending = file.suffix.lower()
    if ending not in (".html", ".pdf"):
        raise click.UsageError(f"FILE comes last and ends in .html or .pdf, and '{file}' does not.")
    given = FretOptions(**fretting)
    if not tuning and (given.sa or given.string is not None or given.sa_fret is not None):
        raise click.UsageError("--sa, --sa-fret and --string go with --tuning.")
    from annotate.exchange.new_file import write_new
    from annotate.practice.pieces import pieces_named
    from annotate.practice.sheets import SheetWishes, sheet_html, sheet_pdf

    hand = hand_of(given, tuning)
    archive = open_archive(archive_path)
    wishes = SheetWishes(script=script, paper=paper, hand=hand, played=played, raga=raga)  # type: ignore[arg-type]
    wanted = pieces_named(archive, addresses)
    write_new(file, sheet_html(archive, wanted, wishes) if ending == ".html" else sheet_pdf(archive, wanted, wishes))
    names = ([f"raga {raga}"] if raga else []) + [piece.name for piece in wanted]
    if as_json:
        print_json({"file": str(file), "holds": names})
    else:
        click.echo(f"{file}: {'; '.join(names)}.")
