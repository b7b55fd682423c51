"""Marking an answer: right or wrong, what it leads to, what may have been counted otherwise, and the sum.

Conventions: every correct way of writing is right (:mod:`theory.exercises.reading`), and every answer that lands. A
hint names one slip that would give exactly the answer that came.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from theory.errors import BadTihai
from theory.exercises.question import COUNTED, Question, answer_words
from theory.exercises.reading import read_answer
from theory.numbers import matras, spoken
from theory.tihai import LandingRule

_OF_TWO, _OF_THREE = "both dams together", "all three pallas together"
_TOGETHER = {
    "dam": _OF_TWO,
    "palla": _OF_THREE,
    "round_dam": "both gaps together",
    "bol": "all three bols together",
}
OTHER = {LandingRule.WITHIN: LandingRule.AFTER, LandingRule.AFTER: LandingRule.WITHIN}
RULE_WORDS = {
    LandingRule.WITHIN: "within, where the palla's last stroke lands",
    LandingRule.AFTER: "after, where the stroke that follows the third palla lands",
}


@dataclass(frozen=True)
class Marked:
    """An answer, marked.

    Attributes
    ----------
    right : bool
    answer : Fraction
        As read.
    said : str
        Right or wrong, in a sentence.
    hints : tuple of str
        What may have been counted otherwise; of a right answer, that it is another way of saying it.
    led_to : str
        The sum that a wrong answer leads to; empty where it is right or nobody could play it.
    """

    right: bool
    answer: Fraction
    said: str
    hints: tuple[str, ...]
    led_to: str = ""


def mark(question: Question, text: str) -> Marked:
    """Mark an answer as it was written.

    Raises
    ------
    BadExercise
        It is no answer.
    """
    return mark_count(question, read_answer(text, question.asked))


def mark_count(question: Question, answer: Fraction) -> Marked:
    """Mark an answer that is a count: matras, or a matra number."""
    told = answer_words(question, answer)
    if question.is_right(answer):
        return Marked(True, answer, f"Right: {told}.", tuple(_of_right(question, answer)))
    led_to = ""
    if question.asked != "miss" and question.is_possible(answer):
        paper = question.with_answer(answer).paper
        led_to = f"{paper.sum}. {paper.sentence}"
    return Marked(False, answer, f"Not right: {told}.", tuple(_of_wrong(question, answer)), led_to)


def solution(question: Question) -> str:
    """Return the right answer in words, with the others that are as right."""
    others = " or ".join(spoken(each) for each in question.others)
    return answer_words(question, question.answer) + (f"; as right: {others}" if others else "")


def sum_lines(question: Question) -> tuple[str, ...]:
    """Return the worked sum line by line, the sum as taught last, and the result in words."""
    paper = question.piece.paper
    return (*paper.lines, paper.sentence)


def _of_right(question: Question, answer: Fraction) -> Iterator[str]:
    tala = question.tala
    if question.asked == "start" and not 1 <= answer < tala.matras + 1:
        yield f"Matra {spoken(answer)} is {tala.name_of(tala.wrap(answer - 1))} of another avartan."
    if question.asked == "miss" and answer != question.answer:
        yield f"From the nearest {tala.name_of(question.piece.target)} it is {answer_words(question, question.answer)}."
    if question.asked not in ("start", "miss") and answer != question.answer:
        yield f"{matras(question.answer)} would land as well: landing comes again with every avartan."


def _of_wrong(question: Question, answer: Fraction) -> Iterator[str]:
    if not question.is_possible(answer):
        yield _impossible(question, answer)
        return
    yield from _other_rule(question, answer)
    match question.asked:
        case "start":
            yield from _of_start(question, answer)
        case "miss":
            yield from _of_miss(question, answer)
        case asked:
            if question.is_right(answer / COUNTED[asked]):
                yield f"That is {_TOGETHER[asked]}: each is {matras(answer / COUNTED[asked])}."
            yield from _nearly(question, answer)


def _impossible(question: Question, answer: Fraction) -> str:
    if question.asked == "palla" and answer > 0:
        return f"A palla of {matras(answer)} has no room for its last stroke."
    return f"{matras(answer)} cannot be played: a length is not below 0, and a palla is above it."


def _other_rule(question: Question, answer: Fraction) -> Iterator[str]:
    rule = question.piece.rule
    try:
        gap = question.gap_with(answer, OTHER[rule])
    except BadTihai:
        return
    by_other = gap == answer if question.asked == "miss" else gap == 0
    if by_other:
        yield (
            f"You counted by the other rule ({RULE_WORDS[OTHER[rule]]}). Here it is counted {RULE_WORDS[rule]}; "
            "your teacher's way counts: choose it above the questions."
        )


def _of_start(question: Question, answer: Fraction) -> Iterator[str]:
    if question.is_right(answer + 1):
        yield "One matra early: sam is matra 1, not 0."
        return
    yield from _nearly(question, answer)


def _of_miss(question: Question, answer: Fraction) -> Iterator[str]:
    if answer and question.is_right(-answer):
        yield "The count is right, the way is not: short of the target is too early, over it is too late."
    elif answer == 0:
        yield "It does not land."
    elif question.answer == 0:
        yield "It lands."
    elif abs(answer - question.answer) <= 1:
        yield f"Off by {matras(abs(answer - question.answer))}."


def _nearly(question: Question, answer: Fraction) -> Iterator[str]:
    """Tell an answer that is nearly right how near it is; that of a start, which way."""
    step = question.step
    off = (answer - question.answer) % step
    off = off if 2 * off <= step else off - step
    if not 0 < abs(off) <= 1:
        return
    if question.asked == "start":
        yield f"{_amount(abs(off))} too {'late' if off > 0 else 'early'}."
    else:
        yield f"{_amount(abs(off))} too {'long' if off > 0 else 'short'}."


def _amount(off: Fraction) -> str:
    return {Fraction(1): "One matra", Fraction(1, 2): "Half a matra"}.get(off, matras(off))
