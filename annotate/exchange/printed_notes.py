"""Cutting notes and rests into what can be printed: note values, dots, ties and tuplets, exactly.

A matra is a quarter. A note is cut at the bars, at the vibhags, and where it begins or ends within a matra; whole
matras are printed as quarters, halves, dotted halves and whole notes, and what lies within a matra as its parts:
halves, quarters and so on plain, any other division as a tuplet of that matra. So every length is exact, and every
matra is seen. One exception is the custom of notation: a note of one matra between two half matras is one quarter.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from annotate.exchange.errors import CannotExport
from theory.numbers import spoken

MOST_PARTS = 256
"""Into how many parts a matra may be divided: a 1024th is the shortest note that has a name."""

TYPES = {Fraction(4): "whole", Fraction(2): "half", Fraction(1): "quarter", Fraction(1, 2): "eighth"} | {
    Fraction(4, parts): f"{parts}{'nd' if parts == 32 else 'th'}" for parts in (16, 32, 64, 128, 256, 512, 1024)
}
"""Names of note values, by quarters."""


@dataclass(frozen=True)
class Event:
    """A note or a silence of the score: where it begins and ends, in matras, and which note it is (None: silence)."""

    start: Fraction
    end: Fraction
    note: int | None


@dataclass(frozen=True)
class Printed:
    """One note or rest as printed.

    Attributes
    ----------
    start, length : Fraction
        In matras.
    note : int or None
        Which note of the score; None for a rest.
    value : Fraction
        The plain note value in quarters, without its dot.
    dotted : bool
    tuplet : (int, int) or None
        So many in the time of so many.
    tuplet_starts, tuplet_ends : bool
        Whether it is the first or last of its tuplet.
    tied_before, tied_after : bool
    """

    start: Fraction
    length: Fraction
    note: int | None
    value: Fraction
    dotted: bool
    tuplet: tuple[int, int] | None = None
    tuplet_starts: bool = False
    tuplet_ends: bool = False
    tied_before: bool = False
    tied_after: bool = False


def printed(events: Sequence[Event], bounds: Sequence[Fraction]) -> list[Printed]:
    """Cut events into what can be printed.

    Parameters
    ----------
    events : sequence of Event
        One after the other without gaps.
    bounds : sequence of Fraction
        Where bars and vibhags begin, ascending, the end of the last one too; matras are counted from each.

    Raises
    ------
    CannotExport
        A matra has more parts than can be named.
    """
    found: list[Printed] = []
    for origin, end in pairwise(bounds):
        inside = [
            replace(each, start=max(each.start, origin), end=min(each.end, end))
            for each in events
            if each.start < end and each.end > origin
        ]
        found += _in_vibhag(inside, origin, end - origin)
    return _tied(found)


def _in_vibhag(events: Sequence[Event], origin: Fraction, length: Fraction) -> list[Printed]:
    parts: dict[int, int] = {}
    for each in events:
        for place in (each.start - origin, each.end - origin):
            matra = math.floor(place)
            parts[matra] = math.lcm(parts.get(matra, 1), place.denominator)
    found: list[Printed] = []
    for each in events:
        here, end = each.start - origin, each.end - origin
        if _syncopated(here, end, parts):
            found.append(Printed(each.start, Fraction(1), each.note, Fraction(1), False))
            continue
        while here < end:
            matra = math.floor(here)
            whole = math.floor(end) - matra
            if here == matra and whole:
                found += _whole(origin + here, whole, each.note)
                here += whole
            else:
                until = min(end, Fraction(matra + 1))
                within = _part(origin, here, until, parts[matra], each.note)
                if within[-1].tuplet and until in (matra + 1, length):
                    within[-1] = replace(within[-1], tuplet_ends=True)
                found += within
                here = until
    return found


def _syncopated(here: Fraction, end: Fraction, parts: dict[int, int]) -> bool:
    """Tell whether a note of one matra lies between two half matras that are divided no further."""
    matra = math.floor(here)
    return here - matra == Fraction(1, 2) and end - here == 1 and parts[matra] == parts.get(matra + 1) == 2


def _whole(start: Fraction, matras: int, note: int | None) -> list[Printed]:
    """Print whole matras: as many as can be in one note, up to a whole note."""
    found = []
    while matras:
        size = min(matras, 4)
        value = Fraction(2 if size == 3 else size)
        found.append(Printed(start, Fraction(size), note, value, size == 3))
        start, matras = start + size, matras - size
    return found


def _part(origin: Fraction, here: Fraction, until: Fraction, parts: int, note: int | None) -> list[Printed]:
    """Print what lies within one matra that has so many parts."""
    if parts > MOST_PARTS:
        raise CannotExport(
            f"A matra has {parts} parts near {spoken(origin + here)} matras from the first bar; "
            f"at most {MOST_PARTS} can be written in notes."
        )
    matra = math.floor(here)
    normal = 1 << (parts.bit_length() - 1)  # the largest power of two that is not above
    tuplet = None if normal == parts else (parts, normal)
    found: list[Printed] = []
    units = (until - here) * parts
    place = here
    while units:
        plain = 1 << (math.floor(units).bit_length() - 1)
        dotted = plain > 1 and plain * 3 // 2 <= units
        size = Fraction(plain * 3 // 2 if dotted else plain)
        length = size / parts
        found.append(
            Printed(
                origin + place,
                length,
                note,
                Fraction(plain, normal),
                dotted,
                tuplet,
                tuplet_starts=tuplet is not None and place == matra,
            )
        )
        place, units = place + length, units - size
    return found


def _tied(found: list[Printed]) -> list[Printed]:
    """Tie the parts of one note."""
    tied = list(found)
    for place, (before, after) in enumerate(pairwise(found)):
        if before.note is not None and before.note == after.note:
            tied[place] = replace(tied[place], tied_after=True)
            tied[place + 1] = replace(tied[place + 1], tied_before=True)
    return tied


def beams(notes: Sequence[Printed], origins: Sequence[Fraction]) -> list[list[str]]:
    """Return the beams of each note, the first level first: notes of one matra belong together.

    Parameters
    ----------
    notes : sequence of Printed
    origins : sequence of Fraction
        Where bars and vibhags begin, from which matras are counted.
    """
    found: list[list[str]] = [[] for _ in notes]
    group: list[int] = []
    for place, each in enumerate(notes):
        if group and (not _flags(each) or _matra(notes[group[0]], origins) != _matra(each, origins)):
            _beam(group, notes, found)
            group = []
        if _flags(each):
            group.append(place)
    _beam(group, notes, found)
    return found


def _matra(note: Printed, origins: Sequence[Fraction]) -> Fraction:
    origin = max((each for each in origins if each <= note.start), default=Fraction(0))
    return origin + math.floor(note.start - origin)


def _flags(note: Printed) -> int:
    """Return how many flags a note has; 0 for a rest."""
    return 0 if note.note is None or note.value >= 1 else (1 / note.value).numerator.bit_length() - 1


def _beam(group: Sequence[int], notes: Sequence[Printed], found: list[list[str]]) -> None:
    if len(group) < 2:
        return
    for level in range(1, max(_flags(notes[place]) for place in group) + 1):
        for number, place in enumerate(group):
            if _flags(notes[place]) < level:
                continue
            before = number > 0 and _flags(notes[group[number - 1]]) >= level
            after = number + 1 < len(group) and _flags(notes[group[number + 1]]) >= level
            hook = "backward hook" if number else "forward hook"
            found[place].append({(0, 1): "begin", (1, 1): "continue", (1, 0): "end"}.get((before, after), hook))
