"""Swaras on a staff of five lines: step, octave and accidental, spelt from Sa.

Every swara keeps the step of its degree: komal Re is the second lowered, tivra Ma the fourth raised. The key signature
is the major key of Sa, so that shuddha swaras need no accidental.
"""

from __future__ import annotations

from dataclasses import dataclass

from theory.swaras import split_symbol

STEPS = "CDEFGAB"
_NATURAL = (0, 2, 4, 5, 7, 9, 11)
_DEGREE = {
    letter: degree for degree, letters in enumerate(("S", "rR", "gG", "mM", "P", "dD", "nN")) for letter in letters
}

_TONICS = (
    ("C", 0, 0), ("D", -1, -5), ("D", 0, 2), ("E", -1, -3), ("E", 0, 4), ("F", 0, -1), ("F", 1, 6), ("G", 0, 1),
    ("A", -1, -4), ("A", 0, 3), ("B", -1, -2), ("B", 0, 5),
)  # fmt: skip
"""Step, alteration and key signature (fifths) of each Sa, from C on: the spelling with the fewest signs."""

ACCIDENTALS = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}
_SHARPS = "FCGDAEB"


@dataclass(frozen=True)
class StaffPitch:
    """A place on the staff: step (C to B), semitones it is altered by, octave (middle C begins 4)."""

    step: str
    alter: int
    octave: int


def fifths_of(sa: int) -> int:
    """Return the key signature of the major key of Sa: sharps, or flats below 0."""
    return _TONICS[sa % 12][2]


def spelt(symbol: str, sa: int) -> StaffPitch:
    """Spell a written swara; ``sa`` is the key of the middle Sa (60 is middle C)."""
    swara, octave = split_symbol(symbol)
    step, alter, _ = _TONICS[sa % 12]
    sa_octave = (sa - alter) // 12 - 1
    degrees = STEPS.index(step) + _DEGREE[swara.letter] + 7 * (sa_octave + octave)
    at, place = divmod(degrees, 7)
    natural = 12 * (at + 1) + _NATURAL[place]
    return StaffPitch(STEPS[place], sa + swara.semitones + 12 * octave - natural, at)


def in_key(step: str, fifths: int) -> int:
    """Return how many semitones a key signature alters a step by."""
    if fifths > 0:
        return int(step in _SHARPS[:fifths])
    return -int(step in _SHARPS[fifths:]) if fifths else 0
