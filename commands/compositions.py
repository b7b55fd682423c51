"""Compositions that are kept: listed, and one of them shown with its sum and what became of it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from commands.composing import print_paper
from commands.params import archive_option, json_option, open_archive
from commands.printing import print_json, print_table

if TYPE_CHECKING:
    from annotate.compositions.shelf import Kept


@click.command()
@click.argument("composition", required=False)
@click.option("--taken-out", is_flag=True, help="List those that were taken out instead.")
@archive_option
@json_option
def compositions(composition: str | None, taken_out: bool, archive_path: Path, as_json: bool) -> None:
    """The compositions that are kept; with COMPOSITION (its key) all of one, its sum and what became of it."""
    from annotate.compositions.shelf import Shelf

    shelf = Shelf(open_archive(archive_path))
    if composition is not None:
        _show(shelf.get(composition), as_json)
        return
    kept = shelf.all(withdrawn=taken_out)
    if as_json:
        print_json([_plain(each) for each in kept])
        return
    for name, why in shelf.unread():
        click.echo(f"{name} cannot be read: {why}", err=True)
    if not kept:
        click.echo("None were taken out." if taken_out else "None are kept yet: open Compose in the dashboard.")
        return
    print_table(
        f"{len(kept)} composition{'' if len(kept) == 1 else 's'}",
        ["key", "tala", "sum", "kept"],
        [
            [
                each.key,
                each.content.piece.tala.name,
                each.content.piece.paper.sum,
                f"{each.latest.when:%Y-%m-%d}",
            ]
            for each in kept
        ],
    )


def _show(kept: Kept, as_json: bool) -> None:
    if as_json:
        print_json(_plain(kept))
        return
    composition, piece = kept.content, kept.content.piece
    click.secho(composition.name + (" (taken out)" if kept.latest.withdrawn else ""), bold=True)
    bol = f"Bol: {composition.bol}\n" if composition.bol else ""
    click.echo(f"{piece.tala.name}, from {piece.tala.name_of(piece.start)}\n{bol}Palla: {composition.palla}")
    if composition.notes:
        click.echo(composition.notes)
    print_paper(piece.paper)
    for each in reversed(kept.revisions):
        by = f" by {each.who}" if each.who else ""
        click.echo(f"{each.when:%Y-%m-%d %H:%M} UTC: {each.why}{by}")


def _plain(kept: Kept) -> dict[str, Any]:
    from theory.notation_print import to_text
    from theory.numbers import stored
    from theory.tihai import flat

    composition, piece = kept.content, kept.content.piece
    return {
        "composition": kept.key,
        "name": composition.name,
        "notes": composition.notes,
        "palla": composition.palla,
        "dam": stored(composition.dam),
        "bol": composition.bol,
        "round_dam": None if composition.round_dam is None else stored(composition.round_dam),
        "per_minute": composition.per_minute,
        "sa_hz": composition.sa_hz,
        "written_out": to_text(flat(piece.tihai)),
        "taken_out": kept.latest.withdrawn,
        "paper": piece.paper.to_json(),
        "revisions": [
            {"revision": each.number, "when": each.when.isoformat(), "who": each.who, "why": each.why}
            for each in kept.revisions
        ],
    }
