"""Made-up questions: tihais that land, drawn by a seed, of which one thing is left out.

Conventions: what lands is found by :mod:`theory.solve` and :mod:`theory.solve_chakradar`; pallas carry plain syllables
(:mod:`theory.filler`). A question depends on the wishes, the seed and its place in the set alone, so that asking for
more leaves the first ones as they are. Where no question of the wanted difficulty is found, the nearest stands in its
place: its own level says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from typing import TypeVar

from theory.composing import Piece
from theory.exercises.difficulty import measure
from theory.exercises.draw import Draw
from theory.exercises.question import Asked, Question
from theory.exercises.wishes import ExerciseWishes
from theory.filler import filler
from theory.passage import Note, Passage
from theory.solve import Solution, solve
from theory.solve_chakradar import ChakradarSolution, solve_chakradars
from theory.talas import Tala
from theory.tihai import LandingRule

Item = TypeVar("Item")
LAYAS = (40, 60, 80, 100, 120, 160, 200, 240, 320)
"""Matras a minute that are drawn from."""
EASIER = 3
"""Up to this level matras are divided into no more than four."""
_PARTS, _FINER = (1, 1, 2, 2, 3, 4), (2, 3, 4, 6, 8)
_TRIES = 80
_WIDEST_DAM, _MOST_CYCLES = Fraction(4), 4
_LONGEST_BOL = 12
_PLAIN: dict[str, Asked] = {"start": "start", "dam": "dam", "palla": "palla", "lands": "miss"}
_OF_ROUNDS: tuple[Asked, ...] = ("start", "round_dam", "bol", "miss")


def made_up(wishes: ExerciseWishes) -> tuple[Question, ...]:
    """Make a set of questions up.

    Returns
    -------
    tuple of Question
        As many as are wished for, no two alike unless there are no more; the easiest first where no level is wished.

    Raises
    ------
    UnknownName, BadTihai
        There is no such tala, or the target lies outside it.
    """
    return in_order(made_in_turn(wishes), wishes)


def made_in_turn(wishes: ExerciseWishes) -> tuple[Question, ...]:
    """Make a set of questions up, in the order in which their kinds take turns; otherwise as :func:`made_up`."""
    tala = wishes.in_tala
    made: list[Question] = []
    for number, kind in enumerate(kinds_in_turn(wishes)):
        made.append(_one(wishes, tala, kind, Draw(f"{wishes.seed} question {number}"), made))
    return tuple(made)


def in_order(questions: Iterable[Question], wishes: ExerciseWishes) -> tuple[Question, ...]:
    """Return questions in the order in which they are asked: as they came, or the easiest first."""
    if wishes.level is not None:
        return tuple(questions)
    return tuple(sorted(questions, key=lambda question: measure(question).level))


def kinds_in_turn(wishes: ExerciseWishes) -> Iterator[str]:
    """Yield the kind of each question: all that are wished for in an order by chance, then all of them again."""
    left: list[str] = []
    for number in range(wishes.number):
        if not left:
            left = list(Draw(f"{wishes.seed} kinds {number}").shuffled(wishes.kinds))
        yield left.pop()


def _one(wishes: ExerciseWishes, tala: Tala, kind: str, draw: Draw, before: list[Question]) -> Question:
    """Draw until a question is as hard as wished and new; else the nearest, new ones before others."""
    best: tuple[tuple[bool, int], Question] | None = None
    for _ in range(_TRIES):
        question = _drawn(wishes, tala, kind, draw)
        if question is None:
            continue
        off = 0 if wishes.level is None else abs(measure(question).level - wishes.level)
        rank = any(_same(question, each) for each in before), off
        if best is None or rank < best[0]:
            best = rank, question
        if rank == (False, 0):
            break
    if best is None:  # no palla on a coarse subdivision lands in this tala from where was drawn: this one always does
        return Question(kind, "start", _surely(tala, wishes), wishes.per_minute or LAYAS[1])
    return best[1]


def _same(one: Question, other: Question) -> bool:
    return (one.asked, one.piece) == (other.asked, other.piece)


def _drawn(wishes: ExerciseWishes, tala: Tala, kind: str, draw: Draw) -> Question | None:
    level = wishes.level or 1 + draw.below(EASIER)
    per_minute = wishes.per_minute or draw.one(LAYAS)
    parts = draw.one(_PARTS if level <= EASIER else (*_PARTS, *_FINER))
    if kind == "chakradar":
        parts = 1 if level <= EASIER else min(parts, 2)
        asked = draw.one(_OF_ROUNDS)
        piece = _rounds(tala, _start(tala, parts, draw), wishes.target, parts, draw)
    else:
        asked = _PLAIN[kind]
        piece = _plain(tala, _start(tala, parts, draw), wishes, parts, draw)
    if piece is None:
        return None
    if asked == "miss":
        piece = _perhaps_off(piece, parts, draw)
    if asked == "bol" and piece.bol is None:
        asked = "start"
    return Question(kind, asked, piece, per_minute)


def _rather_simple(found: Sequence[Item], draw: Draw) -> Item:
    """Draw one of what stands simplest first, the simpler ones more often."""
    return found[min(draw.below(len(found)), draw.below(len(found)))]


def _start(tala: Tala, parts: int, draw: Draw) -> Fraction:
    """Draw where to begin: on sam, where a vibhag begins, or anywhere, each as likely."""
    match draw.below(3):
        case 0:
            return Fraction(1)
        case 1:
            return Fraction(draw.one(tala.vibhag_starts))
        case _:
            return 1 + Fraction(draw.below(tala.matras * parts), parts)


def _plain(tala: Tala, start: Fraction, wishes: ExerciseWishes, parts: int, draw: Draw) -> Piece | None:
    found = _solutions(tala, start, wishes.target, parts, wishes.rule)
    if not found:
        return None
    one = _rather_simple(found, draw)
    stroke = one.last_stroke if wishes.rule == LandingRule.WITHIN else min(one.palla, Fraction(1, parts))
    return Piece(tala, start, wishes.target, wishes.rule, filler(one.palla, stroke), one.dam)


@lru_cache(maxsize=512)
def _solutions(tala: Tala, start: Fraction, target: Fraction, parts: int, rule: LandingRule) -> tuple[Solution, ...]:
    """Return what lands and is worth counting: a palla of two strokes at least, a dam that is seldom longer."""
    found = solve(tala, start, target, parts, rule, dam_most=_WIDEST_DAM, cycles_most=_MOST_CYCLES)
    return tuple(each for each in found if each.palla > (each.last_stroke if rule == LandingRule.WITHIN else 1))


def _rounds(tala: Tala, start: Fraction, target: Fraction, parts: int, draw: Draw) -> Piece | None:
    found = _chakradars(tala, start, target, parts)
    if not found:
        return None
    one = _rather_simple(found, draw)
    lead = Passage("bols", (Note("Ti", Fraction(0), one.bol),), one.bol) if one.bol else None
    palla = filler(one.palla.length, Fraction(1))
    return Piece(tala, start, target, LandingRule.WITHIN, palla, one.dam, lead, one.round_dam)


@lru_cache(maxsize=128)
def _chakradars(tala: Tala, start: Fraction, target: Fraction, parts: int) -> tuple[ChakradarSolution, ...]:
    found = solve_chakradars(tala, start, target, parts, bol_most=min(tala.matras, _LONGEST_BOL))
    return tuple(each for each in found if each.palla.length > 1)


def _perhaps_off(piece: Piece, parts: int, draw: Draw) -> Piece:
    """Let a tihai land, or miss by what a wrong start or a wrong dam makes; as likely."""
    step = Fraction(1 + draw.below(2), parts)
    match draw.below(4):
        case 0 | 1:
            return piece
        case 2:
            off = step if draw.below(2) else -step
            return replace(piece, start=piece.tala.wrap(piece.start - 1 + off))
        case _:
            return replace(piece, dam=piece.dam + step)


def _surely(tala: Tala, wishes: ExerciseWishes) -> Piece:
    """Return a tihai of pallas of two matras without a dam, begun where it lands."""
    palla = filler(Fraction(2), Fraction(1))
    offset = 6 - (1 if wishes.rule == LandingRule.WITHIN else 0)
    return Piece(tala, tala.wrap(wishes.target - 1 - offset), wishes.target, wishes.rule, palla, Fraction(0))
