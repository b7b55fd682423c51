"""Patterns of swaras and of contours, made into regular expressions over the index's texts.

How a pattern of swaras is written (the syntax is ours):

=============  ======================================================================================
``R m P``      these swaras, one after the other; ``RmP`` is the same
``?``          any one swara
``*``          any number of swaras, none included
``[mM]``       one of these
``S``          in any octave; ``S'`` the upper, ``.S`` the lower only (as marked)
=============  ======================================================================================

A pattern stands for a whole phrase; ``* R m P *`` (or ``anywhere=True``) is found anywhere in one. Where octaves are
told apart (``octaves=True``) a swara without a mark is of the middle octave.

A contour is written as moves: ``up``, ``down``, ``same``, an exact move (``+2``, ``-1``, ``0``), ``?`` any one move,
``*`` any number of them. It is compared with the moves of :mod:`annotate.search.derived`, so it holds whatever the
octave and wherever on the ladder the phrase begins.

Rhythm never counts: a phrase is compared swara by swara. The expressions need no look-around, so that RE2, the engine
of Arrow and DuckDB, matches them in linear time.
"""

from __future__ import annotations

import re
from typing import Literal

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray

from annotate.errors import BadPattern
from annotate.search.derived import semitone_moves, step_moves, symbols_of
from theory.swaras import letters

By = Literal["direction", "steps", "semitones"]
"""How moves are compared: only up, down or same; by steps of the raga's ladder; by semitones."""

_TYPED = str.maketrans({"’": "'", "‘": "'", "′": "'"})
_ANY_OCTAVE = r"\.{{0,2}}{}'{{0,2}}"
_ANY = r"[^ ]+"
_MOVES = {"up": r"\+\d+", "down": r"-\d+", "same": "0", "?": _ANY}


def swara_regex(pattern: str, octaves: bool = False, anywhere: bool = False) -> str:
    """Return the regular expression of a pattern of swaras, over texts such as ``"R m P S'"``.

    Parameters
    ----------
    pattern : str
        As this module's opening describes.
    octaves : bool
        Whether a swara without an octave mark means the middle octave only.
    anywhere : bool
        Whether it may be a part of a phrase.

    Raises
    ------
    BadPattern
        With the place that cannot be read.
    """
    typed = pattern.translate(_TYPED)
    swara = rf"(?P<low>\.{{1,2}}(?=[{letters()}](?!')))?(?P<letter>[{letters()}])(?P<high>'{{0,2}})"
    part = re.compile(rf"\s+|(?P<sign>[*?])|\[(?P<choice>[{letters()}]+)\]|{swara}")
    words, here = [], 0
    while here < len(typed):
        found = part.match(typed, here)
        if found is None:
            raise BadPattern(pattern, here, f"Expected swaras ({' '.join(letters())}), ?, * or a choice such as [mM].")
        here = found.end()
        if found["sign"]:
            words.append(_ANY if found["sign"] == "?" else "*")
        elif found["choice"]:
            words.append(_octave(f"[{found['choice']}]", octaves))
        elif found["letter"]:
            marked = found["low"] or found["high"]
            words.append(re.escape(found[0]) if marked else _octave(found["letter"], octaves))
    if not words:
        raise BadPattern(pattern, 0, "Expected at least one swara, ? or *.")
    return _whole(["*", *words, "*"] if anywhere else words)


def contour_regex(contour: str, anywhere: bool = False) -> str:
    """Return the regular expression of a contour, over moves such as ``"+3 -1 0"``, or (``anywhere``) a part of them.

    Raises
    ------
    BadPattern
        With the place that cannot be read.
    """
    words = []
    for found in re.finditer(r"\S+", contour):
        word = found[0].casefold()
        if word == "*":
            words.append(word)
        elif word in _MOVES:
            words.append(_MOVES[word])
        elif re.fullmatch(r"[+-]?\d{1,2}", word):
            move = int(word)
            if move and word[0] not in "+-":
                raise BadPattern(contour, found.start(), f"Up or down? Write +{move} or -{move}.")
            words.append(re.escape(f"{move:+d}") if move else "0")
        else:
            raise BadPattern(contour, found.start(), "Expected up, down, same, a move such as +2, ? or *.")
    if not words:
        raise BadPattern(contour, 0, "Expected at least one move: up, down, same, +2, ? or *.")
    return _whole(["*", *words, "*"] if anywhere else words)


def contour_of(swaras: str, by: By, raga: str = "") -> str:
    """Return the contour of a phrase, to find its like.

    Parameters
    ----------
    swaras : str
        The phrase as notation.
    by : "direction", "steps" or "semitones"
    raga : str
        Whose ladder steps are counted on.

    Raises
    ------
    BadPattern
        When it has fewer than two swaras, is in bols, or uses a swara that is on no rung of the raga's ladder.
    """
    symbols = symbols_of(swaras)
    moves = step_moves(symbols, raga) if by == "steps" else semitone_moves(symbols)
    if moves is None:
        where = f" that stand on the ladder of {raga}" if by == "steps" and raga else ""
        raise BadPattern(swaras, 0, f"A contour needs swaras{where} ({' '.join(letters())}).")
    if not moves:
        raise BadPattern(swaras, 0, "A contour leads from swara to swara: give two at least.")
    if by != "direction":
        return moves
    return " ".join({"+": "up", "-": "down", "0": "same"}[move[0]] for move in moves.split())


def matches(column: pd.Series, regex: str) -> NDArray[np.bool_]:
    """Tell which texts of a column a regular expression of this module matches; a missing text none."""
    found = pc.match_substring_regex(pa.array(column, pa.large_string(), from_pandas=True), regex)
    return np.asarray(pc.fill_null(found, False).to_numpy(zero_copy_only=False), dtype=bool)


def _octave(letter: str, octaves: bool) -> str:
    return letter if octaves else _ANY_OCTAVE.format(letter)


def _whole(words: list[str]) -> str:
    """Join words for a text with one space between words; ``*`` stands for any number of words."""
    wanted = [word for number, word in enumerate(words) if word != "*" or words[number - 1 : number] != ["*"]]
    if wanted == ["*"]:
        return "^.*$"
    text, glue = "", ""  # glue: what stands between the word before and the next one
    for number, word in enumerate(wanted):
        if word != "*":
            text, glue = text + glue + word, " "
        elif number == 0:
            glue = rf"(?:{_ANY} )*"
        elif number == len(wanted) - 1:
            text += rf"(?: {_ANY})*"
        else:
            glue = rf"(?: {_ANY})* "
    return f"^{text}$"
