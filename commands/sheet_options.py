"""The options that say what a practice sheet shows and for which instrument, shared by the commands that make some."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

from commands.fret_options import FretOptions, fret_options

if TYPE_CHECKING:
    from annotate.exchange.tab import Hand

_OPTIONS = (
    click.option(
        "--script",
        type=click.Choice(["latin", "devanagari", "typed"]),
        default="latin",
        show_default=True,
        help="What the notation is written in; typed: as in this program (r R g G ...).",
    ),
    click.option(
        "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Of the sheets."
    ),
    click.option("--played", is_flag=True, help="Say in the sheets how it was played: how far off and how even."),
    click.option("--tuning", default="", help="The student's instrument, for neck and tab: G,D,A,E or G3+G3,D4+D4."),
)


def sheet_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options: ``script``, ``paper``, ``played``, ``tuning`` and those of `fret_options`."""
    command = fret_options(command)
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


def hand_of(given: FretOptions, tuning: str) -> Hand | None:
    """Return the instrument and how it is held; None where no tuning is given."""
    from annotate.exchange.tab import Hand

    if not tuning:
        return None
    board, middle_sa = given.instrument(tuning)
    return Hand(board, middle_sa, given.string, given.stretch, given.bend)
