"""Writing a passage back as text: the same plain notation that :mod:`theory.notation` reads.

Conventions: one word for each matra of the passage, cut into as many equal parts as it needs. A matra that would need
more parts than anyone reads at a glance is written as words with their own lengths (``S:3/7 R:4/7``).
``parse(to_text(passage)) == passage`` for every passage.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction

from theory.notation import Vibhags
from theory.passage import Passage

MOST_PARTS = 16  # the most parts of one matra that are written as one word

_Span = tuple[str, Fraction, Fraction, bool]  # symbol, from, to (in matras), whether it begins here


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
    bars = set(tala.vibhag_starts) if tala is not None else set()
    words: list[str] = []
    for here, word in _words(passage):
        if tala is not None and here and (start + here - 1) % tala.matras + 1 in bars:
            words.append("|")
        words.append(word)
    return " ".join(words)


def _words(passage: Passage) -> Iterator[tuple[Fraction, str]]:
    spans = list(_spans(passage))
    first = 0
    for whole in range(math.ceil(passage.length)):
        here, there = Fraction(whole), min(Fraction(whole + 1), passage.length)
        while spans[first][2] <= here:
            first += 1
        within = []
        for symbol, begin, end, starts in spans[first:]:
            if begin >= there:
                break
            within.append((symbol, max(begin, here), min(end, there), starts and begin >= here))
        yield from _matra(within, here, there)


def _spans(passage: Passage) -> Iterator[_Span]:
    """Cut the passage into sound and silence without gaps."""
    here = Fraction(0)
    for note in passage.notes:
        if note.onset > here:
            yield "_", here, note.onset, True
        yield note.symbol, note.onset, note.end, True
        here = note.end
    if passage.length > here:
        yield "_", here, passage.length, True


def _matra(spans: list[_Span], here: Fraction, there: Fraction) -> Iterator[tuple[Fraction, str]]:
    parts, whole = _parts(spans, here, there), there - here
    if parts <= MOST_PARTS:
        yield here, "".join(_sign(span, int((span[2] - span[1]) / whole * parts)) for span in spans) + _length(whole)
        return
    for span in spans:
        yield span[1], _sign(span, 1) + _length(span[2] - span[1])


def _parts(spans: list[_Span], here: Fraction, there: Fraction) -> int:
    return math.lcm(*(((span[2] - here) / (there - here)).denominator for span in spans))


def _sign(span: _Span, parts: int) -> str:
    symbol, _, _, starts = span
    if symbol == "_":
        return "_" * parts
    return (symbol if starts else "-") + "-" * (parts - 1)


def _length(matras: Fraction) -> str:
    if matras == 1:
        return ""
    return f":{matras.numerator}" if matras.denominator == 1 else f":{matras}"
