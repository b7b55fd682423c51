"""Writing a passage in Devanagari or in Latin letters with the signs of Bhatkhande's notation.

Conventions: a komal swara has a short line under it, tivra ma an upright line over it, the lower octave a dot below,
the upper a dot above; they are combining characters, so any text can carry them. Words, holds, silences and vibhag bars
stay as in the plain notation. Holds of bols and swaras alike are dashes; several notes of one word share its matra (in
print an arc joins them).

References
----------
Vasant, Sangit Visharad, Sangeet Karyalaya, Hathras, p. 140 (signs). Spelling of bols: common practice.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Literal

from theory.bols import Bol, split_bols, strokes
from theory.errors import UnknownName
from theory.notation import Vibhags
from theory.notation_print import to_text
from theory.passage import Note, Passage
from theory.swaras import split_symbol

KOMAL, TIVRA = "\u0332", "\u030d"  # line below, upright line above
LOWER, UPPER = "\u0323", "\u0307"  # dot below, dot above

Script = Literal["devanagari", "latin"]


def to_bhatkhande(
    passage: Passage, script: Script = "devanagari", tala: Vibhags | None = None, start: Fraction | int = 1
) -> str:
    """Write a passage with Bhatkhande's signs.

    Parameters
    ----------
    passage : Passage
        In swaras or bols. Bols in Latin letters have no signs and stay as they are; a bol whose Devanagari spelling is
        not in the lexicon stays in Latin letters.
    script : {"devanagari", "latin"}
        The letters to use.
    tala, start
        As for :func:`theory.notation_print.to_text`: where to set vibhag bars.

    Returns
    -------
    str
        The notation, one word for each matra.
    """
    return to_text(spelled(passage, script), tala, start)


def spelled(passage: Passage, script: Script) -> Passage:
    """Return a passage with its symbols written in a script, with Bhatkhande's signs; as :func:`to_bhatkhande`."""
    if passage.system == "sargam":
        symbols = [_swara(note.symbol, script) for note in passage.notes]
    elif script == "devanagari":
        symbols = _bols(passage)
    else:
        return passage
    notes = tuple(Note(s, note.onset, note.length) for s, note in zip(symbols, passage.notes, strict=True))
    return Passage(passage.system, notes, passage.length)


def _swara(symbol: str, script: Script) -> str:
    swara, octave = split_symbol(symbol)
    letter = swara.devanagari if script == "devanagari" else swara.letter.upper()
    sign = {"komal": KOMAL, "tivra": TIVRA}.get(swara.kind, "")
    dots = (UPPER if octave > 0 else LOWER) * abs(octave)
    return letter + sign + dots


def _bols(passage: Passage) -> list[str]:
    known = tuple(note for note in passage.notes if _is_known(note.symbol))
    struck = strokes(Passage(passage.system, known, passage.length))  # all at once: a Ta is closed by what precedes it
    spelled: dict[Fraction, str] = {}
    behind = iter(struck)
    for note in known:
        spelled[note.onset] = "".join(_spell(next(behind).bol) for _ in split_bols(note.symbol))
    return [spelled.get(note.onset, note.symbol) for note in passage.notes]


def _is_known(symbol: str) -> bool:
    try:
        return bool(split_bols(symbol))
    except UnknownName:
        return False


def _spell(bol: Bol) -> str:
    return bol.devanagari or bol.name
