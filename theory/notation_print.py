"""Writing a passage back as text: the same plain notation that :mod:`theory.notation` reads.

Conventions: one word for each matra of the passage, cut into as many equal parts as it needs. A matra that would need
more parts than anyone reads at a glance is written as words with their own lengths (``S:3/7 R:4/7``).
``parse(to_text(passage)) == passage`` for every passage. How a text is laid out by avartans: :mod:`theory.layout`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from theory.notation import Vibhags
from theory.passage import Passage

MOST_PARTS = 16  # the most parts of one matra that are written as one word

# A stretch of sound or silence: its symbol and where it begins and ends, in ticks (parts of a matra, see words).
_Span = tuple[str, int, int]


@dataclass(frozen=True, slots=True)
class Word:
    """A word: where it begins (matras from the passage's start), its signs, and its length as it is typed.

    A sign is a symbol, ``-`` or ``_``; the signs share the word's length equally. The length is '' for one matra.
    """

    place: Fraction
    signs: tuple[str, ...]
    length: str

    def __str__(self) -> str:
        return "".join(self.signs) + self.length


def to_text(passage: Passage, tala: Vibhags | None = None, start: Fraction | int = 1) -> str:
    """Write a passage in the notation that the parser reads.

    Parameters
    ----------
    passage : Passage
        What to write.
    tala : Tala, optional
        When given, a ``|`` is set where a vibhag begins, as far as that falls between two words.
    start : Fraction, optional
        The matra of the tala on which the passage begins; sam is 1.

    Returns
    -------
    str
        The notation; an empty text for a passage of no length.
    """
    written: list[str] = []
    for word in words(passage):
        if tala is not None and word.place and (start + word.place - 1) % tala.matras + 1 in tala.vibhag_starts:
            written.append("|")
        written.append(str(word))
    return " ".join(written)


def words(passage: Passage) -> Iterator[Word]:
    """Yield the words of a passage in order; mostly one for each matra.

    Everything is counted in ticks, of which a matra has as many as the passage needs, so that the work is on integers.
    """
    ticks = passage.subdivision
    spans = _spans(passage, ticks)
    span = next(spans, None)
    end = _in_ticks(passage.length, ticks)
    for here in range(0, end, ticks):
        there = min(here + ticks, end)
        within: list[_Span] = []
        while span is not None and span[1] < there:
            within.append(span)
            if span[2] > there:
                break
            span = next(spans, None)
        yield from _matra(within, here, there, ticks)


def _spans(passage: Passage, ticks: int) -> Iterator[_Span]:
    """Cut the passage into sound and silence without gaps."""
    here = 0
    for note in passage.notes:
        onset = _in_ticks(note.onset, ticks)
        if onset > here:
            yield "_", here, onset
        here = onset + _in_ticks(note.length, ticks)
        yield note.symbol, onset, here
    end = _in_ticks(passage.length, ticks)
    if end > here:
        yield "_", here, end


def _in_ticks(matras: Fraction, ticks: int) -> int:
    return matras.numerator * (ticks // matras.denominator)


def _matra(spans: list[_Span], here: int, there: int, ticks: int) -> Iterator[Word]:
    """Write one matra (the last may be a part of one): as one word if it can be read, else a word for each span."""
    part = math.gcd(there - here, *(begin - here for _, begin, _ in spans if begin > here))
    if there - here <= MOST_PARTS * part:
        signs: list[str] = []
        for span in spans:
            signs += _signs(span, here, (min(span[2], there) - max(span[1], here)) // part)
        yield Word(Fraction(here, ticks), tuple(signs), _length(there - here, ticks))
        return
    for span in spans:
        begin, end = max(span[1], here), min(span[2], there)
        yield Word(Fraction(begin, ticks), tuple(_signs(span, here, 1)), _length(end - begin, ticks))


def _signs(span: _Span, here: int, parts: int) -> list[str]:
    symbol, begin, _ = span
    if symbol == "_":
        return ["_"] * parts
    return [symbol if begin >= here else "-", *["-"] * (parts - 1)]


def _length(length: int, ticks: int) -> str:
    return "" if length == ticks else f":{Fraction(length, ticks)}"
