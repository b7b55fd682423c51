"""A passage of music on paper: notes (swaras or bols) with their place and length in matras.

Conventions: onsets are counted in matras from the passage's own start (0). Silence is where no note sounds, and may
stand before, between and after the notes; the passage's length includes it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from theory.errors import BadTihai

System = Literal["sargam", "bols", "empty"]


@dataclass(frozen=True, slots=True)
class Note:
    """One swara or bol: as written, where it begins and how long it lasts (matras from the passage's start)."""

    symbol: str
    onset: Fraction
    length: Fraction

    @property
    def end(self) -> Fraction:
        """Where it ends, in matras from the passage's start."""
        return self.onset + self.length


@dataclass(frozen=True, slots=True)
class Passage:
    """Notes in order, none overlapping, within a length in matras.

    Raises
    ------
    BadTihai
        When notes overlap, leave the passage, or have no length.
    """

    system: System
    notes: tuple[Note, ...]
    length: Fraction

    def __post_init__(self) -> None:
        # Compared as whole numbers (a/b < c/d iff a*d < c*b): four times as fast, and long passages are read often.
        free, parts = 0, 1
        for note in self.notes:
            onset, onset_parts = note.onset.as_integer_ratio()
            length, length_parts = note.length.as_integer_ratio()
            if onset * parts < free * onset_parts or length <= 0:
                raise BadTihai(f"'{note.symbol}' at matra {note.onset} of the passage overlaps the note before it.")
            free, parts = onset * length_parts + length * onset_parts, onset_parts * length_parts
        if Fraction(free, parts) > self.length:
            raise BadTihai(f"The notes last {Fraction(free, parts)} matras, longer than the passage of {self.length}.")

    @property
    def onsets(self) -> tuple[Fraction, ...]:
        """Where each note begins, in matras."""
        return tuple(note.onset for note in self.notes)

    @property
    def last_onset(self) -> Fraction:
        """Where the last sounding note begins, in matras: under the within rule, this is the stroke that lands.

        Raises
        ------
        BadTihai
            When the passage holds no note.
        """
        if not self.notes:
            raise BadTihai("The passage holds no stroke, only silence: write at least one swara or bol.")
        return self.notes[-1].onset

    @property
    def symbols(self) -> tuple[str, ...]:
        """The swaras or bols in order, as written."""
        return tuple(note.symbol for note in self.notes)

    @property
    def subdivision(self) -> int:
        """Into how many equal parts a matra must be divided to hold every onset and length exactly."""
        counts = [self.length, *(note.onset for note in self.notes), *(note.length for note in self.notes)]
        return math.lcm(*(count.denominator for count in counts))


EMPTY = Passage("empty", (), Fraction(0))


def silence(length: Fraction) -> Passage:
    """Return a passage of silence, in matras."""
    return Passage("empty", (), length)


def join(passages: Iterable[Passage]) -> Passage:
    """Set passages one after the other.

    Raises
    ------
    BadTihai
        When swaras and bols would come into one passage.
    """
    notes: list[Note] = []
    length = Fraction(0)
    system: System = "empty"
    for passage in passages:
        if passage.system != "empty":
            if system not in ("empty", passage.system):
                raise BadTihai("Swaras and bols do not mix in one passage: write all of it in one of the two.")
            system = passage.system
        notes += (Note(note.symbol, length + note.onset, note.length) for note in passage.notes)
        length += passage.length
    return Passage(system, tuple(notes), length)


def cut(passage: Passage, place: Fraction) -> tuple[Passage, Passage]:
    """Cut a passage in two.

    Parameters
    ----------
    passage : Passage
        What to cut. A note that sounds across the cut ends there, and the second part begins with silence.
    place : Fraction
        Where, in matras from its start, between 0 and its length.
    """
    before = tuple(
        Note(note.symbol, note.onset, min(note.end, place) - note.onset) for note in passage.notes if note.onset < place
    )
    behind = tuple(Note(note.symbol, note.onset - place, note.length) for note in passage.notes if note.onset >= place)
    return (
        Passage(passage.system if before else "empty", before, place),
        Passage(passage.system if behind else "empty", behind, passage.length - place),
    )
