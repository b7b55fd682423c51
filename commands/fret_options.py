"""The options that say how a phrase is laid on the frets, shared by the commands that do it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from theory.fretboard import Fretboard

_OPTIONS = (
    click.option("--string", type=int, help="Play all of it on this string, from 1 as written; left out, spread."),
    click.option("--sa-fret", type=int, help="The fret of the middle Sa."),
    click.option("--sa-string", type=int, help="The string of that fret (default: --string, or the first)."),
    click.option("--sa", default="", help="The middle Sa as a note instead: D4."),
    click.option("--frets", "fret_count", type=int, default=19, show_default=True, help="How many frets there are."),
    click.option("--capo", type=int, default=0, help="The fret the capo is on."),
    click.option("--drones", default="", help="Strings to leave out: 4,5."),
    click.option("--stretch", type=int, default=4, show_default=True, help="Frets the hand spans without moving."),
    click.option(
        "--bend", type=click.IntRange(0), default=0, help="Semitones a string may be bent above the last fret."
    ),
)


@dataclass(frozen=True)
class FretOptions:
    """What was given, by the names of the options."""

    string: int | None
    sa_fret: int | None
    sa_string: int | None
    sa: str
    fret_count: int
    capo: int
    drones: str
    stretch: int
    bend: int

    def instrument(self, tuning: str) -> tuple[Fretboard, int]:
        """Return the fretboard and the middle Sa (60 is middle C).

        Raises
        ------
        click.UsageError
            Where Sa is was not said, or said twice.
        theory.errors.BadFretting
            A string or fret that the instrument does not have.
        """
        from theory.fretboard import Fretboard, note_to_semitones, parse_numbers, parse_tuning

        if bool(self.sa) == (self.sa_fret is not None):
            raise click.UsageError("Say where Sa is: either --sa-fret, or --sa with a note such as D4.")
        board = Fretboard(parse_tuning(tuning), self.fret_count, self.capo, parse_numbers(self.drones))
        if self.sa_fret is None:
            return board, note_to_semitones(self.sa)
        return board, board.pitch(self.sa_string or self.string or 1, self.sa_fret)


def fret_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options; it takes them as keywords for :class:`FretOptions`."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command
