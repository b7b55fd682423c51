"""The twelve swaras and their octaves, as typed: ``S r R g G m M P d D n N``, ``S'`` upper, ``.n`` lower octave.

Conventions: semitones are counted from the middle Sa (0); the octave mark is doubled for two octaves (``S''``).
Table: ``data/swaras.toml``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from theory.errors import NotationError
from theory.tables import load, one_of


@dataclass(frozen=True, slots=True)
class Swara:
    """One of the twelve: its letter, semitones above Sa, names, and whether it is shuddha, komal or tivra."""

    letter: str
    semitones: int
    name: str
    full: str
    kind: str
    devanagari: str


@cache
def all_swaras() -> tuple[Swara, ...]:
    """Return the twelve swaras from Sa upwards."""
    swaras = tuple(Swara(**row) for row in load("swaras")["swara"])
    for swara in swaras:
        one_of(swara.kind, ("shuddha", "komal", "tivra"), f"swaras.toml, {swara.letter}")
    return swaras


@cache
def letters() -> str:
    """Return the twelve letters in order: "SrRgGmMPdDnN"."""
    return "".join(swara.letter for swara in all_swaras())


@cache
def _shape() -> re.Pattern[str]:
    return re.compile(rf"(\.{{1,2}}(?=[{letters()}](?!')))?([{letters()}])('{{0,2}})")


def split_symbol(symbol: str) -> tuple[Swara, int]:
    """Split a written swara into the swara and its octave.

    Parameters
    ----------
    symbol : str
        ``"S'"``, ``".n"``, ``"G"``.

    Returns
    -------
    tuple of Swara and int
        The swara and its octave: 0 middle, 1 upper, -1 lower.

    Raises
    ------
    NotationError
        When it is no swara.
    """
    found = _shape().fullmatch(symbol)
    if found is None:
        raise NotationError(symbol, 0, f"Expected one swara ({' '.join(letters())}, S' upper, .n lower octave).")
    swara = all_swaras()[letters().index(found[2])]
    return swara, len(found[3]) - len(found[1] or "")


def semitones_of(symbol: str) -> int:
    """Return how many semitones a written swara lies above the middle Sa: ``"S'"`` is 12, ``".n"`` is -2.

    Raises
    ------
    NotationError
        When it is no swara.
    """
    swara, octave = split_symbol(symbol)
    return swara.semitones + 12 * octave
