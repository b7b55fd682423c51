"""A palla of plain syllables, to hear a length before there are words for it.

Conventions: bols alternate Ti and Ta before the closing Dha; swaras go down to Sa by the shuddha scale. Strokes are as
long as the part of a matra that the lead needs. They are no composition: whoever shows them says so.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from typing import Literal

from theory.errors import BadTihai
from theory.numbers import matras
from theory.passage import Note, Passage

Syllables = Literal["bols", "sargam"]

_LEAD, _CLOSE = ("Ti", "Ta"), "Dha"
_SA = "S"
_TO_SA = ("S'", "N", "D", "P", "m", "G", "R")  # each step nearer to Sa
_FROM_SA = (_SA, "R", "G", "m", "P", "D", "N")


@lru_cache(maxsize=1024)
def filler(length: Fraction, last_stroke: Fraction, syllables: Syllables = "bols", closing: int = 1) -> Passage:
    """Fill a palla with plain syllables.

    Parameters
    ----------
    length : Fraction
        Length of the palla in matras.
    last_stroke : Fraction
        Length of each closing stroke in matras.
    syllables : {"bols", "sargam"}
        What it is written in.
    closing : int
        How many equal strokes close it: 3 in a kamali chakradar.

    Raises
    ------
    BadTihai
        When the closing strokes are longer than the palla, or have no length.
    """
    lead = length - closing * last_stroke
    if lead < 0 or last_stroke <= 0 or closing < 1:
        raise BadTihai(
            f"A palla of {matras(length)} has no room for {closing} closing "
            f"{'stroke' if closing == 1 else 'strokes'} of {matras(last_stroke)}."
        )
    step = Fraction(1, lead.denominator)
    count = int(lead / step)
    symbols = _lead_bols(count) if syllables == "bols" else _lead_swaras(count)
    notes = [Note(symbol, number * step, step) for number, symbol in enumerate(symbols)]
    close = _CLOSE if syllables == "bols" else _SA
    notes += [Note(close, lead + number * last_stroke, last_stroke) for number in range(closing)]
    return Passage(syllables, tuple(notes), length)


def _lead_bols(count: int) -> list[str]:
    return [_LEAD[(count - number) % 2] for number in range(count)]


def _lead_swaras(count: int) -> list[str]:
    """Swaras that come down to Sa; where there are more than an octave of them, they go up to it first, and so on."""
    wave = (*_TO_SA, *_FROM_SA)
    return [wave[(number - count) % len(wave) - len(_FROM_SA)] for number in range(count)]
