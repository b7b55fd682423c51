"""One question: a tihai of which one thing is left out, in words, and every answer that is right.

Conventions: what is asked is one of :data:`ASKED`. An answer is a count of matras, or a matra number (``start``); of
``miss`` it is how far the landing falls short of the target, negative where it overshoots and 0 where it lands. An
answer is right when the tihai that it makes lands, by :func:`theory.mends.shortfall`; since landing repeats with every
avartan, there may be several.

A place on the cycle answers every question as well: where it begins (``start``), where the landing stroke comes
(``miss``), else where the second palla or round begins.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from typing import Literal, get_args

from theory.composing import Piece
from theory.mends import shortfall
from theory.notation_print import to_text
from theory.numbers import matras, spoken
from theory.passage import Note, Passage
from theory.resize import resize
from theory.solve import sketch
from theory.talas import Tala
from theory.tihai import LandingRule, landing_offset

Asked = Literal["start", "dam", "palla", "miss", "round_dam", "bol"]
ASKED: tuple[Asked, ...] = get_args(Asked)
COUNTED: dict[Asked, int] = {"start": 1, "dam": 2, "palla": 3, "round_dam": 2, "bol": 3}
"""How often what is asked comes in the tihai: twice the dam, three times the palla."""
MADE_UP = "made up"

_ASKS: dict[Asked, str] = {
    "start": "On which matra must it begin, so that {stroke} comes on {target}?",
    "dam": "How long must the dam be, so that {stroke} comes on {target}?",
    "palla": "How long must the palla be, so that {stroke} comes on {target}?",
    "miss": "Does it land on {target}? If it does not, how many matras short or over is it?",
    "round_dam": "How long must the gap between the rounds be, so that {stroke} comes on {target}?",
    "bol": "How long must the bol that opens each round be, so that {stroke} comes on {target}?",
}
_PLACES: dict[Asked, str] = {
    "start": "where it begins",
    "miss": "where the landing stroke comes",
    "dam": "where the second palla begins",
    "palla": "where the second palla begins",
    "round_dam": "where the second round begins",
    "bol": "where the second round begins",
}


@dataclass(frozen=True)
class Question:
    """A question.

    Attributes
    ----------
    kind : str
        A key of :data:`theory.exercises.wishes.KINDS`.
    asked : str
        What is left out, one of :data:`ASKED`.
    piece : Piece
        The tihai. It lands, unless ``miss`` is asked.
    per_minute : int
        The laya in matras a minute.
    origin : str
        Whose it is, in words.
    address : str
        Where it is written down, as ``RECORDING/ROW``; empty where it is made up.
    """

    kind: str
    asked: Asked
    piece: Piece
    per_minute: int
    origin: str = MADE_UP
    address: str = ""

    @property
    def tala(self) -> Tala:
        """The tala."""
        return self.piece.tala

    @cached_property
    def answer(self) -> Fraction:
        """The answer that stands in the solutions."""
        piece = self.piece
        match self.asked:
            case "start":
                return piece.start
            case "dam":
                return piece.dam
            case "palla":
                return piece.palla.length
            case "round_dam":
                return piece.round_dam or Fraction(0)
            case "bol":
                return piece.bol.length if piece.bol is not None else Fraction(0)
            case "miss":
                return shortfall(piece.tala, piece.start, piece.tihai, piece.rule, piece.target)

    @property
    def step(self) -> Fraction:
        """How far one right answer lies from the next, in matras."""
        return Fraction(self.tala.matras, COUNTED.get(self.asked, 1))

    @property
    def others(self) -> tuple[Fraction, ...]:
        """The other right answers up to an avartan; of a start none, since it is the same matra in every cycle."""
        if self.asked in ("start", "miss"):
            return ()
        lowest = self.answer - self.answer // self.step * self.step
        every = [lowest + count * self.step for count in range(COUNTED[self.asked] + 1)]
        return tuple(each for each in every if each != self.answer and each <= self.tala.matras and self.is_right(each))

    @property
    def sentence(self) -> str:
        """The question in words; what is given stands in :attr:`given`."""
        within = self.piece.rule == LandingRule.WITHIN
        rounds = self.piece.round_dam is not None
        last = "round" if rounds else "palla"
        stroke = f"the last stroke of the third {last}" if within else f"the stroke after the third {last}"
        return _ASKS[self.asked].format(stroke=stroke, target=self.tala.name_of(self.piece.target))

    @property
    def given(self) -> tuple[tuple[str, str], ...]:
        """What is known, as pairs of a term and its value; a palla whose length is asked is not shown."""
        piece, asked = self.piece, self.asked
        facts = [("Tala", f"{piece.tala.name}, {'+'.join(map(str, piece.tala.vibhags))} = {piece.tala.matras} matras")]
        if piece.bol is not None and asked != "bol":
            facts.append(("Bol of each round", matras(piece.bol.length)))
        if asked != "palla":
            facts.append(("Palla", f"{matras(piece.palla.length)}: {to_text(piece.palla)}"))
        elif piece.rule == LandingRule.WITHIN:
            facts.append(("Last stroke of the palla", matras(self._last_stroke)))
        if asked != "dam":
            facts.append(("Dam", matras(piece.dam) if piece.dam else "none"))
        if piece.round_dam is not None and asked != "round_dam":
            facts.append(("Between the rounds", matras(piece.round_dam) if piece.round_dam else "no gap"))
        if asked != "start":
            facts.append(("Begins on", piece.tala.name_of(piece.start)))
        facts.append(("Laya", f"{self.per_minute} matras a minute"))
        return tuple(facts)

    @property
    def place_words(self) -> str:
        """What to point at on the cycle."""
        return _PLACES[self.asked]

    @property
    def place(self) -> Fraction:
        """The matra that answers it."""
        piece = self.piece
        if self.asked == "start":
            return piece.start
        if self.asked == "miss":
            return self.tala.wrap(piece.start - 1 + landing_offset(piece.tihai, piece.rule))
        onsets = piece.tihai.statement_onsets if piece.round_dam is not None else (0, piece.palla.length + piece.dam)
        return self.tala.wrap(piece.start - 1 + onsets[1])

    def answer_at(self, place: Fraction) -> Fraction:
        """Return the answer that a matra on the cycle means: the shortest that can be played and is so."""
        if self.asked == "start":
            return place
        if self.asked == "miss":
            ahead = (self.piece.target - place) % self.tala.matras
            return ahead if 2 * ahead <= self.tala.matras else ahead - self.tala.matras
        answer = (self.answer + place - self.place) % self.tala.matras
        while not self.is_possible(answer):
            answer += self.tala.matras
        return answer

    def is_possible(self, answer: Fraction) -> bool:
        """Whether anybody could play it: no length below 0, and a palla with room for its last stroke."""
        if self.asked == "palla":
            return answer >= self._last_stroke if self.piece.rule == LandingRule.WITHIN else answer > 0
        return self.asked in ("start", "miss") or answer >= 0

    def is_right(self, answer: Fraction) -> bool:
        """Whether an answer is right."""
        if self.asked == "miss":
            return (answer - self.answer) % self.tala.matras == 0
        return self.is_possible(answer) and self.gap_with(answer) == 0

    def gap_with(self, answer: Fraction, rule: LandingRule | None = None) -> Fraction:
        """Return how far the tihai of a possible answer falls short of the target, in matras, by a landing rule."""
        piece = self.with_answer(answer)
        return shortfall(piece.tala, piece.start, piece.tihai, rule or piece.rule, piece.target)

    def with_answer(self, answer: Fraction) -> Piece:
        """Return the tihai as a possible answer makes it; of ``miss`` it is the tihai as it stands."""
        piece = self.piece
        match self.asked:
            case "start":
                return replace(piece, start=self.tala.wrap(answer - 1))
            case "dam":
                return replace(piece, dam=answer)
            case "palla":
                return replace(piece, palla=self._palla_of(answer))
            case "round_dam":
                return replace(piece, round_dam=answer)
            case "bol":
                return replace(piece, bol=_bol(answer, piece) if answer else None)
            case "miss":
                return piece

    def _palla_of(self, length: Fraction) -> Passage:
        """Return a palla of another length with the same last stroke."""
        palla, change = self.piece.palla, length - self.piece.palla.length
        if palla.last_onset + change > 0:
            return resize(palla, change) if change else palla  # type: ignore[return-value] # a passage stays one
        return sketch(length, min(length, self._last_stroke))

    @property
    def _last_stroke(self) -> Fraction:
        return self.piece.palla.length - self.piece.palla.last_onset


def _bol(length: Fraction, piece: Piece) -> Passage:
    system = piece.palla.system
    return Passage(system, (Note("S" if system == "sargam" else "Ti", Fraction(0), length),), length)


def no_answer_words(question: Question) -> str:
    """Say how an answer is written."""
    if question.asked == "miss":
        return "Write it as: lands, 1/2 short, 1 over."
    return "Write a count of matras: 5, 5 1/2, 11/2 or 5.5."


def answer_words(question: Question, answer: Fraction) -> str:
    """Write an answer in words."""
    if question.asked == "start":
        matra = question.tala.wrap(answer - 1)
        return "sam (matra 1)" if matra == 1 else f"matra {spoken(matra)}"
    if question.asked == "miss":
        if answer == 0:
            return "it lands"
        return f"{matras(abs(answer))} {'short' if answer > 0 else 'over'}"
    return matras(answer) if answer else "none (0 matras)"
