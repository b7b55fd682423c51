"""What the pages of a tihai and of a phrase have in common, and the student's instrument in words and places."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from annotate.exchange.score import Stretch
from annotate.exchange.tab import Hand, places_of
from annotate.practice.pieces import Piece
from annotate.practice.sheets.drawing import Drawing
from theory.errors import BadFretting
from theory.fingering import Place
from theory.fretboard import note_name


@dataclass(frozen=True, kw_only=True)
class PiecePage:
    """What stands on the page of a piece; a drawing is None, a text empty, where there is nothing of its kind."""

    title: str
    label: str
    credit: str
    facts: tuple[str, ...]
    legend: str
    cycle: Drawing | None
    systems: tuple[Drawing, ...]
    neck: Drawing | None
    tuning: str
    key: tuple[str, ...]


def tuning_words(hand: Hand | None) -> str:
    """Say how an instrument is tuned and where Sa lies; nothing without one."""
    if hand is None:
        return ""
    strings = ", ".join(note_name(course.pitch) for course in hand.board.courses)
    capo = f", capo on fret {hand.board.capo}" if hand.board.capo else ""
    return f"Strings {strings}, the first one lowest in the figure{capo}; Sa is {note_name(hand.sa)}."


def fretted(hand: Hand | None, piece: Piece, stretches: Iterable[Stretch]) -> tuple[Place, ...]:
    """Return the place of every note, none without an instrument.

    Raises
    ------
    BadFretting
        A swara lies nowhere on the strings; names the piece.
    """
    if hand is None:
        return ()
    try:
        return tuple(places_of(hand, tuple(stretches)))
    except BadFretting as error:
        raise BadFretting(f"{piece.address}: {error}") from None
