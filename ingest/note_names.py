"""Sa as a person names it: a frequency in Hz or a note name, A4 = 440 Hz in equal temperament (ISO 16)."""

from __future__ import annotations

import re

from ingest.errors import BadSa

OCTAVE_OF_A_BARE_NAME = 4
"""``D`` is D4: near the middle of a mandolin. The octave of Sa decides only where its swaras are drawn."""
LOWEST_HZ, HIGHEST_HZ = 40.0, 1200.0
_SEMITONE = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_ACCIDENTAL = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}


def hz_of(text: str) -> float:
    """Read Sa: ``293.7``, ``D``, ``C#3``, ``Bb3``.

    Returns
    -------
    float
        Hz.

    Raises
    ------
    BadSa
        Neither a frequency from 40 to 1200 Hz nor a note name.
    """
    text = text.strip()
    note = re.fullmatch(r"([A-Ga-g])([#♯b♭]?)(\d?)", text)
    if note:
        letter, accidental, octave = note.groups()
        semitones = _SEMITONE[letter.upper()] + _ACCIDENTAL[accidental] - _SEMITONE["A"]
        hz = 440.0 * 2 ** (int(octave or OCTAVE_OF_A_BARE_NAME) - 4 + semitones / 12)
    else:
        try:
            hz = float(text.lower().removesuffix("hz"))
        except ValueError:
            raise BadSa(f"Sa should be Hz or a note name (293.7, D, C#3, Bb3); '{text}' came.") from None
    if not LOWEST_HZ <= hz <= HIGHEST_HZ:
        raise BadSa(f"Sa at {text} is {hz:g} Hz; expected {LOWEST_HZ:g} to {HIGHEST_HZ:g} Hz.")
    return hz
