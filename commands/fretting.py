"""Fretting: where a phrase lies on the strings of an instrument."""

from __future__ import annotations

from pathlib import Path

import click

from commands.params import archive_option, json_option
from commands.printing import print_json, print_table


@click.command()
@click.option("--tuning", required=True, help="Strings in order, with commas: G,D,A,E or G3+G3,D4+D4; or semitones.")
@click.option("--swaras", required=True, help="The phrase in sargam: 'R m P N S''.")
@click.option("--string", type=int, help="Play all of it on this string, from 1 as written; left out, spread.")
@click.option("--sa-fret", type=int, help="The fret of the middle Sa.")
@click.option("--sa-string", type=int, help="The string of that fret (default: --string, or the first).")
@click.option("--sa", default="", help="The middle Sa as a note instead: D4.")
@click.option("--frets", "fret_count", type=int, default=19, show_default=True, help="How many frets there are.")
@click.option("--capo", type=int, default=0, help="The fret the capo is on.")
@click.option("--drones", default="", help="Strings to leave out: 4,5.")
@click.option("--stretch", type=int, default=4, show_default=True, help="Frets the hand spans without moving.")
@click.option("--bend", type=click.IntRange(0), default=0, help="Semitones a string may be bent above the last fret.")
@archive_option
@json_option
def frets(
    tuning: str,
    swaras: str,
    string: int | None,
    sa_fret: int | None,
    sa_string: int | None,
    sa: str,
    fret_count: int,
    capo: int,
    drones: str,
    stretch: int,
    bend: int,
    archive_path: Path,
    as_json: bool,
) -> None:
    """Where a phrase lies on the frets: on one string, or spread so that the hand moves least.

    Strings are numbered from 1 as the tuning is written, frets from the nut.
    """
    del archive_path
    from theory.fingering import on_one_string, spread, swaras_of
    from theory.fretboard import Fretboard, note_name, note_to_semitones, parse_numbers, parse_tuning
    from theory.notation import parse

    if bool(sa) == (sa_fret is not None):
        raise click.UsageError("Say where Sa is: either --sa-fret, or --sa with a note such as D4.")
    board = Fretboard(parse_tuning(tuning), fret_count, capo, parse_numbers(drones))
    symbols = swaras_of(parse(swaras))
    middle_sa = note_to_semitones(sa) if sa_fret is None else board.pitch(sa_string or string or 1, sa_fret)
    movement = None
    if string is not None:
        places = on_one_string(board, middle_sa, symbols, string, bend)
    else:
        fingering = spread(board, middle_sa, symbols, stretch=stretch, bend=bend)
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
