"""A fretted instrument: its strings as tuned, courses, capo and frets, and the pitch at each place.

Conventions: pitches are semitones as in the MIDI standard (C4, middle C, is 60; A4 is 69). Strings (or courses: two
strings played as one) are numbered from 1 in the order in which the tuning is written. Frets are numbered from the
nut, 0 being the open string; with a capo at fret c the open string sounds fret c, and no place lies below it. All frets
lie a semitone apart.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from theory.errors import BadFretting

_NATURAL = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_SHARP_NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
_NOTE = re.compile(r"(?P<letter>[A-Ga-g])(?P<signs>[#♯b♭]{0,2})(?P<octave>-?\d)?")
FIRST_OCTAVE = 3  # of the first string, where a tuning names no octaves
MOST_FRETS = 36


@dataclass(frozen=True, slots=True)
class Course:
    """One string or several played as one: the pitch of each, in semitones, as written; the first one counts."""

    pitches: tuple[int, ...]

    @property
    def pitch(self) -> int:
        """The open pitch it is named by, in semitones."""
        return self.pitches[0]


@dataclass(frozen=True, slots=True)
class Fretboard:
    """An instrument.

    Attributes
    ----------
    courses : tuple of Course
        In the order of the tuning.
    frets : int
        How many frets it has.
    capo : int
        The fret the capo is on; 0 without one.
    drones : frozenset of int
        Courses that are left out of fingering, by number from 1.

    Raises
    ------
    BadFretting
        When there is no string left to play, the capo is beyond the frets, or a drone has no string.
    """

    courses: tuple[Course, ...]
    frets: int = 19
    capo: int = 0
    drones: frozenset[int] = frozenset()

    def __post_init__(self) -> None:
        if not 1 <= self.frets <= MOST_FRETS:
            raise BadFretting(f"{self.frets} frets: give a number from 1 to {MOST_FRETS}.")
        if not 0 <= self.capo < self.frets:
            raise BadFretting(f"The capo on fret {self.capo} leaves no fret of {self.frets}: put it lower.")
        unknown = self.drones - set(range(1, len(self.courses) + 1))
        if unknown:
            raise BadFretting(f"There is no string {min(unknown)}: the tuning has {len(self.courses)}.")
        if not self.playable:
            raise BadFretting("Every string is left out as a drone: leave one to play on.")

    @property
    def playable(self) -> tuple[int, ...]:
        """The numbers of the strings to play on."""
        return tuple(number for number in range(1, len(self.courses) + 1) if number not in self.drones)

    def pitch(self, string: int, fret: int) -> int:
        """Return the pitch of a place, in semitones.

        Raises
        ------
        BadFretting
            When there is no such string or fret.
        """
        self.require_string(string)
        if not self.capo <= fret <= self.frets:
            low = f"{self.capo} (the capo)" if self.capo else "0 (open)"
            raise BadFretting(f"There is no fret {fret}: string {string} has frets from {low} to {self.frets}.")
        return self.courses[string - 1].pitch + fret

    def fret(self, string: int, pitch: int) -> int:
        """Return the fret at which a string would sound a pitch, be it there or not."""
        self.require_string(string)
        return pitch - self.courses[string - 1].pitch

    def require_string(self, string: int) -> None:
        """Refuse a string that is not there.

        Raises
        ------
        BadFretting
            When there is no such string.
        """
        if not 1 <= string <= len(self.courses):
            raise BadFretting(f"There is no string {string}: the tuning has strings 1 to {len(self.courses)}.")


def parse_tuning(text: str) -> tuple[Course, ...]:
    """Read a tuning.

    Parameters
    ----------
    text : str
        Strings with commas between, each a note name or a number of semitones (60 is middle C): "G,D,A,E",
        "G3,D4,A4,E5", "55,62,69,76". Without octaves the first string is in octave 3, and each next one is the nearest
        above the one before. The strings of a course are joined by "+": "G3+G3,D4+D4"; only unisons and octaves can
        be fretted as one.

    Raises
    ------
    BadFretting
        When a string is neither, or those of a course are not in unison or octaves.
    """
    courses: list[Course] = []
    for word in text.split(","):
        pitches: list[int] = []
        for name in word.split("+"):
            lowest = pitches[0] if pitches else courses[-1].pitch + 1 if courses else 12 * (FIRST_OCTAVE + 1)
            pitches.append(_pitch(name.strip(), lowest))
        if any((pitch - pitches[0]) % 12 for pitch in pitches):
            raise BadFretting(f"'{word.strip()}' is no course: its strings must be in unison or in octaves.")
        courses.append(Course(tuple(pitches)))
    return tuple(courses)


def parse_numbers(text: str) -> frozenset[int]:
    """Read numbers of strings with commas between: "4,5"; an empty text names none.

    Raises
    ------
    BadFretting
        When a part is no number.
    """
    parts = [part.strip() for part in text.split(",")] if text.strip() else []
    wrong = next((part for part in parts if not part.isdecimal()), None)
    if wrong is not None:
        raise BadFretting(f"'{wrong}' is no number of a string: write them as 4,5.")
    return frozenset(map(int, parts))


def note_to_semitones(name: str) -> int:
    """Return the pitch of a note name with its octave: "C4" is 60, "Bb3" is 58.

    Raises
    ------
    BadFretting
        When it is no note name, or has no octave.
    """
    found = _NOTE.fullmatch(name)
    if found is None or found["octave"] is None:
        raise BadFretting(f"'{name}' is no note with an octave: write it as D4, F#3 or Bb3.")
    return _class_of(found) + 12 * (int(found["octave"]) + 1)


def note_name(pitch: int) -> str:
    """Return the name of a pitch with its octave, with sharps: 61 is "C#4"."""
    octave, place = divmod(pitch, 12)
    return f"{_SHARP_NAMES[place]}{octave - 1}"


def _pitch(name: str, lowest: int) -> int:
    """Read one string; a name without an octave is the lowest such note from ``lowest`` on."""
    if re.fullmatch(r"\d{1,3}", name):
        return int(name)
    found = _NOTE.fullmatch(name)
    if found is None:
        raise BadFretting(
            f"'{name}' is no string: write a note (D, F#, Bb3) or a number of semitones (60 is middle C)."
        )
    if found["octave"] is not None:
        return note_to_semitones(name)
    return lowest + (_class_of(found) - lowest) % 12


def _class_of(found: re.Match[str]) -> int:
    """Return the semitones above C of a note name, not folded into the octave: "Cb4" lies below C4."""
    signs = found["signs"].replace("♯", "#").replace("♭", "b")
    return _NATURAL[found["letter"].upper()] + signs.count("#") - signs.count("b")
