"""Tab: which string and fret each note of a score is played on.

Our strings are numbered as the tuning is written; MusicXML numbers them from the highest line of the staff, which is
the last one written, so that the string written first lies at the bottom.
"""

from __future__ import annotations

from dataclasses import dataclass

from annotate.exchange.score import Stretch
from theory.fingering import DEFAULT_STRETCH, Place, on_one_string, spread, swaras_of
from theory.fretboard import Fretboard


@dataclass(frozen=True)
class Hand:
    """How a score is laid on the strings: the instrument, its Sa (60 is middle C), one string or all, and the hand."""

    board: Fretboard
    sa: int
    string: int | None = None
    stretch: int = DEFAULT_STRETCH
    bend: int = 0


def places_of(hand: Hand, stretches: tuple[Stretch, ...]) -> list[Place]:
    """Return a place for every note; a palla is played alike each time.

    Raises
    ------
    theory.errors.BadFretting
        A swara lies nowhere on the strings, or bols came.
    """
    known: dict[tuple[str, ...], tuple[Place, ...]] = {}
    found: list[Place] = []
    for each in stretches:
        if not each.passage.notes:
            continue
        swaras = swaras_of(each.passage)
        if swaras not in known:
            known[swaras] = (
                spread(hand.board, hand.sa, swaras, stretch=hand.stretch, bend=hand.bend).places
                if hand.string is None
                else on_one_string(hand.board, hand.sa, swaras, hand.string, hand.bend)
            )
        found += known[swaras]
    return found


def line_of(board: Fretboard, string: int) -> int:
    """Return the number that MusicXML gives a string: 1 is the highest line."""
    return len(board.courses) + 1 - string
