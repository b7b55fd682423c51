"""What is kept of a composition.

Conventions: palla and bol are notation as people type it; matras are Fractions, a start or target counts from 1 at sam.
Whatever can be made is sound: a piece that nobody could play, or a name of no letters, is refused when it is made.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from annotate.shelves.errors import BadThing
from annotate.shelves.texts import require_name, require_text
from theory.composing import Piece
from theory.errors import LayakoshError
from theory.notation import parse
from theory.numbers import matras
from theory.talas import get_tala
from theory.tihai import LandingRule, flat

LONGEST_NAME = 120
LONGEST_TEXT = 4000
MOST_MATRAS = 2048
MOST_STROKES = 4096
LAYA = (10, 600)
"""Matras a minute that are kept, from and to."""
SA_HZ = (50.0, 1000.0)


@dataclass(frozen=True)
class Composition:
    """A composition.

    Attributes
    ----------
    name, notes : str
        As its maker calls it, and what they say of it.
    tala : str
        Key of the tala.
    start, target : Fraction
        The matra it begins on and the one it aims at.
    rule : LandingRule
        How its landing is counted.
    palla : str
        The palla in sargam or bols.
    dam : Fraction
        The gap between pallas, in matras.
    bol : str
        In a chakradar what comes before the tihai in each round.
    round_dam : Fraction or None
        The gap between rounds, in matras; None for a plain tihai.
    per_minute : int
        The laya it is heard at, in matras a minute.
    sa_hz : float
        The Sa it is heard at.

    Raises
    ------
    BadThing
        When it cannot be kept; the message says what is wrong.
    """

    name: str
    tala: str
    palla: str
    start: Fraction = Fraction(1)
    target: Fraction = Fraction(1)
    rule: LandingRule = LandingRule.WITHIN
    dam: Fraction = Fraction(0)
    bol: str = ""
    round_dam: Fraction | None = None
    notes: str = ""
    per_minute: int = 120
    sa_hz: float = 277.2

    def __post_init__(self) -> None:
        require_name("the composition", self.name, LONGEST_NAME)
        require_text("notes", self.notes, LONGEST_TEXT, lines=True)
        for name in ("palla", "bol"):
            require_text(name, getattr(self, name), LONGEST_TEXT, lines=True)
        if not LAYA[0] <= self.per_minute <= LAYA[1]:
            raise BadThing(f"The laya is {self.per_minute} matras a minute: expected {LAYA[0]} to {LAYA[1]}.")
        if not SA_HZ[0] <= self.sa_hz <= SA_HZ[1]:
            raise BadThing(f"Sa is at {self.sa_hz} Hz: expected {SA_HZ[0]:.0f} to {SA_HZ[1]:.0f}.")
        if self.bol and self.round_dam is None:
            raise BadThing("A bol before the tihai makes rounds: say how long the gap between rounds is, 0 or more.")
        try:
            require_playable(self.piece)
        except BadThing:
            raise
        except LayakoshError as error:
            raise BadThing(str(error)) from None

    @cached_property
    def piece(self) -> Piece:
        """What it is on paper."""
        return Piece(
            get_tala(self.tala),
            self.start,
            self.target,
            self.rule,
            parse(self.palla),
            self.dam,
            parse(self.bol) if self.bol else None,
            self.round_dam,
        )


def require_playable(piece: Piece) -> None:
    """Refuse what is longer than anybody plays; a piece that is no tihai at all is refused by its own check.

    Raises
    ------
    BadThing, theory.errors.LayakoshError
    """
    length = piece.tihai.length
    if length > MOST_MATRAS:
        raise BadThing(f"It lasts {matras(length)}: at most {MOST_MATRAS} are kept and played.")
    if len(flat(piece.tihai).notes) > MOST_STROKES:
        raise BadThing(f"It has more than {MOST_STROKES} strokes: take a shorter palla or bol.")
    _ = piece.paper
