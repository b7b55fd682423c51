"""A phrase held against a raga: which swaras are unusual in it, and where.

Conventions:

* A swara's direction is judged by the swaras beside it. One swara repeated or held counts once. A swara that is passed
  through from below to above goes up, from above to below goes down. A swara at a turn (the top or the bottom of the
  line) belongs to both directions, and so does the last swara of a phrase, of which nobody knows how it goes on; the
  first one goes where it leaves to.
* A turn of phrase that a raga allows against its rules, or keeps a swara to, counts in every octave. At the ends of the
  phrase, where part of the turn may lie outside, what is there must fit.
* What is found is *unusual in* the raga, as this table has it. Musicians set such swaras on purpose, and schools
  differ: the teacher decides.

The rules are those of :class:`theory.ragas.Raga`. How a direction is judged is common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Literal

from theory.errors import NotationError
from theory.notation import parse
from theory.numbers import spoken, stored
from theory.passage import Note
from theory.ragas import Raga
from theory.swaras import letters, semitones_of, split_symbol

Kind = Literal["foreign", "ascent only", "descent only", "only within", "not straight"]

_SWARA = re.compile(rf"\.{{0,2}}[{letters()}]['’‘′]{{0,2}}")


@dataclass(frozen=True, slots=True)
class Breach:
    """A swara that is unusual in a raga.

    Attributes
    ----------
    kind : str
        What is unusual: "foreign" (no swara of the raga), "ascent only" (used going down), "descent only" (used going
        up), "only within" (outside the turns it is kept to), "not straight" (a way that the raga takes round).
    symbol : str
        The swara as written.
    note : int
        Which note of the phrase it is, counted from 1.
    column : int
        Where it stands in the text, counted from 0.
    onset : Fraction
        Where it begins, in matras from the phrase's start.
    sentence : str
        All of it in words.
    """

    kind: Kind
    symbol: str
    note: int
    column: int
    onset: Fraction
    sentence: str

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values; the onset is "n/d"."""
        return {
            "kind": self.kind,
            "swara": self.symbol,
            "note": self.note,
            "column": self.column,
            "onset": stored(self.onset),
            "sentence": self.sentence,
        }


@dataclass(frozen=True, slots=True)
class _Step:
    """A swara of the line, once however often it is repeated: its letter, pitch in semitones, and its first note."""

    letter: str
    pitch: int
    note: int


def check_phrase(raga: Raga, text: str) -> tuple[Breach, ...]:
    """Hold a phrase against a raga.

    Parameters
    ----------
    raga : Raga
        The raga, or a variant of it.
    text : str
        The phrase in swaras, as :mod:`theory.notation` reads them.

    Returns
    -------
    tuple of Breach
        What is unusual, in the order of the phrase; a swara appears once for each rule that it goes against.

    Raises
    ------
    NotationError
        When the text does not parse, or is in bols.
    """
    passage = parse(text)
    if passage.system == "bols":
        raise NotationError(text, 0, f"A raga is checked in swaras ({' '.join(letters())}), but bols came.")
    columns = [found.start() for found in _SWARA.finditer(text)]
    line = tuple(_line(passage.notes))
    found = sorted({(place, kind): why for place, kind, why in _unusual(raga, line)}.items())
    return tuple(
        _breach(raga, passage.notes[line[place].note], line[place].note, columns[line[place].note], kind, why)
        for (place, kind), why in found
    )


def _breach(raga: Raga, note: Note, number: int, column: int, kind: Kind, why: str) -> Breach:
    place = f"note {number + 1}, matra {spoken(note.onset + 1)} of the phrase"
    sentence = f"{note.symbol} ({place}): unusual in {raga.name}, {why}."
    return Breach(kind, note.symbol, number + 1, column, note.onset, sentence)


def _line(notes: Sequence[Note]) -> Iterator[_Step]:
    before = None
    for number, note in enumerate(notes):
        pitch = semitones_of(note.symbol)
        if pitch != before:
            yield _Step(split_symbol(note.symbol)[0].letter, pitch, number)
        before = pitch


def _unusual(raga: Raga, line: Sequence[_Step]) -> Iterator[tuple[int, Kind, str]]:
    """Yield the place in the line, the kind and the reason of everything unusual."""
    allowed = {place for way in raga.allowed for at in _found(line, way) for place in at}
    within = {
        swara: {place for way in ways for at in _found(line, way, beyond_ends=True) for place in at}
        for swara, ways in raga.only_within
    }
    for place, step in enumerate(line):
        if step.letter not in raga.swara_set:
            yield place, "foreign", f"whose swaras are {' '.join(raga.swaras)}"
            continue
        if place in allowed:
            continue
        going = _going(line, place)
        if going < 0 and step.letter in raga.ascent_only:
            yield place, "ascent only", "where it belongs to the ascent; here it goes down"
        if going > 0 and step.letter in raga.descent_only:
            yield place, "descent only", "where it belongs to the descent; here it goes up"
        if place not in within.get(step.letter, {place}):
            ways = dict(raga.only_within)[step.letter]
            yield place, "only within", f"where it comes only within {' or '.join(ways)}"
    for way in raga.never:
        for at in _found(line, way):
            if not allowed.issuperset(at):
                yield at[len(at) // 2], "not straight", f"which does not go straight {way}"


def _going(line: Sequence[_Step], place: int) -> int:
    """Tell which way the line passes through a swara: 1 up, -1 down, 0 at a turn or at the end of the phrase."""
    if place + 1 == len(line):
        return 0
    leaves = 1 if line[place + 1].pitch > line[place].pitch else -1
    if place == 0:
        return leaves
    comes = 1 if line[place].pitch > line[place - 1].pitch else -1
    return leaves if leaves == comes else 0


def _found(line: Sequence[_Step], way: str, beyond_ends: bool = False) -> Iterator[range]:
    """Yield where a turn of phrase lies in the line, in any octave, or (``beyond_ends``) where an end cuts it off."""
    wanted = tuple(_line(parse(way).notes))
    slack = len(wanted) - 1 if beyond_ends else 0
    for start in range(-slack, len(line) - len(wanted) + slack + 1):
        at = range(max(start, 0), min(start + len(wanted), len(line)))
        pairs = [(line[place], wanted[place - start]) for place in at]
        shift = pairs[0][0].pitch - pairs[0][1].pitch if pairs else 0
        if pairs and all(a.letter == b.letter and a.pitch - b.pitch == shift for a, b in pairs):
            yield at
