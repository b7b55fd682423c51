"""Fretting: where a phrase lies on the strings of an instrument."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from commands.fret_options import FretOptions, fret_options
from commands.params import archive_option, json_option
from commands.printing import print_json, print_table


@click.command()
@click.option("--tuning", required=True, help="Strings in order, with commas: G,D,A,E or G3+G3,D4+D4; or semitones.")
@click.option("--swaras", required=True, help="The phrase in sargam: 'R m P N S''.")
@fret_options
@archive_option
@json_option
def frets(tuning: str, swaras: str, archive_path: Path, as_json: bool, **fretting: Any) -> None:
    """Where a phrase lies on the frets: on one string, or spread so that the hand moves least.

    Strings are numbered from 1 as the tuning is written, frets from the nut.
    """
    del archive_path
    from theory.fingering import on_one_string, spread, swaras_of
    from theory.fretboard import note_name
    from theory.notation import parse

    given = FretOptions(**fretting)
    board, middle_sa = given.instrument(tuning)
    symbols = swaras_of(parse(swaras))
    movement = None
    if given.string is not None:
        places = on_one_string(board, middle_sa, symbols, given.string, given.bend)
    else:
        fingering = spread(board, middle_sa, symbols, stretch=given.stretch, bend=given.bend)
        places, movement = fingering.places, fingering.movement
    if as_json:
        rows = [place.to_json() for place in places]
        print_json({"sa": note_name(middle_sa), "movement": movement, "places": rows})
        return
    print_table(
        f"Sa is {note_name(middle_sa)}",
        ["swara", "string", "fret", "bend"],
        [
            [
                place.swara,
                f"{place.string} ({note_name(board.courses[place.string - 1].pitch)})",
                "open" if place.fret == board.capo else str(place.fret),
                f"up {place.bend}" if place.bend else "",
            ]
            for place in places
        ],
    )
    if movement is not None:
        click.echo(f"The hand moves {movement} fret{'s' if movement != 1 else ''} in all.")
