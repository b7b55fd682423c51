"""The cycle to choose an answer on: matra by matra with claps and khali, each a place that can be pointed at.

Conventions: matras from 1 = sam. What is known of the tihai stands in it: where it begins, what the first palla covers,
where it is to land. A place within a matra is offered where the question has parts; more than :data:`MOST_PARTS` of
them are too narrow to be pointed at, and then there is no cycle to choose on.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from theory.exercises.difficulty import measure
from theory.exercises.question import Question
from theory.layout import lay_out
from theory.numbers import spoken

MOST_PARTS = 4
_SIGNS = {Fraction(1, 2): "½", Fraction(1, 3): "⅓", Fraction(2, 3): "⅔", Fraction(1, 4): "¼", Fraction(3, 4): "¾"}


@dataclass(frozen=True)
class Place:
    """A place to choose: its value in an address, what is shown, what is said of it, and what is known to be there."""

    value: str
    sign: str
    said: str
    begins: bool
    aims: bool
    palla: bool


@dataclass(frozen=True)
class Matra:
    """A matra: the clap above it ("X", "0", "2", ...; mostly none), its number, its bol of the theka, its places."""

    number: int
    mark: str
    mark_said: str
    bol: str
    places: tuple[Place, ...]


@dataclass(frozen=True)
class Cycle:
    """The cycle, vibhag by vibhag; what to point at in words; which of the three signs stand in it."""

    words: str
    vibhags: tuple[tuple[Matra, ...], ...]
    parts: int
    begins: bool
    palla: bool


def cycle_of(question: Question) -> Cycle | None:
    """Return the cycle to choose the answer of a question on; None where its matras have too many parts."""
    parts = measure(question).parts
    if parts > MOST_PARTS:
        return None
    tala, piece = question.tala, question.piece
    begins = piece.start if question.asked != "start" else None
    covered = _first_palla(question)
    bols = lay_out(tala.theka, tala).avartans[0] if tala.theka_known else ()
    signs = dict(zip(tala.vibhag_starts, lay_out(tala.theka, tala).marks, strict=True))

    def place(matra: int, part: int) -> Place:
        at = matra + Fraction(part, parts)
        here, aimed = at == begins, at == piece.target
        within = covered is not None and (at - covered[0]) % tala.matras < covered[1]
        known = ", ".join(words for words, there in (("it begins here", here), ("here it is to land", aimed)) if there)
        said = f"{tala.name_of(at) if at == 1 else f'matra {spoken(at)}'}{f', {known}' if known else ''}"
        return Place(str(at), _SIGNS.get(at % 1, str(matra)), said, here, aimed, within)

    matras = [
        Matra(
            number,
            *signs.get(number, ("", "")),
            bols[number - 1].text if bols else "",
            tuple(place(number, part) for part in range(parts)),
        )
        for number in range(1, tala.matras + 1)
    ]
    ends = (*tala.vibhag_starts[1:], tala.matras + 1)
    vibhags = tuple(tuple(matras[start - 1 : end - 1]) for start, end in zip(tala.vibhag_starts, ends, strict=True))
    return Cycle(question.place_words, vibhags, parts, begins is not None, covered is not None)


def _first_palla(question: Question) -> tuple[Fraction, Fraction] | None:
    """Return where the first palla begins and how long it is, where that is known and shorter than an avartan."""
    piece = question.piece
    if question.asked in ("start", "palla") or piece.round_dam is not None:
        return None
    return (piece.start, piece.palla.length) if piece.palla.length < question.tala.matras else None
