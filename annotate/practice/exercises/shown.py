"""A question and its answer in words, as plain values for whatever shows them: paper, terminal, browser."""

from __future__ import annotations

from dataclasses import dataclass

from annotate.practice.exercises.drawn import ExerciseSet
from theory.exercises.difficulty import measure
from theory.exercises.marking import RULE_WORDS, solution
from theory.exercises.question import Question, no_answer_words
from theory.exercises.wishes import KINDS
from theory.talas import Tala
from theory.tihai import LandingRule


@dataclass(frozen=True)
class Shown:
    """A question as it is shown, and what stands in the answers."""

    number: int
    kind: str
    level: int
    given: tuple[tuple[str, str], ...]
    sentence: str
    how: str
    origin: str
    answer: str
    sum: str
    lines: tuple[str, ...]
    result: str


def shown(question: Question, number: int) -> Shown:
    """Return a question as it is shown; its number is counted from 1."""
    paper = question.piece.paper
    return Shown(
        number=number,
        kind=KINDS.get(question.kind, question.kind),
        level=measure(question).level,
        given=question.given,
        sentence=question.sentence,
        how=no_answer_words(question),
        origin=question.origin,
        answer=solution(question),
        sum=paper.sum,
        lines=tuple(line for line in paper.lines if line != paper.sum),
        result=paper.sentence,
    )


def shown_all(made: ExerciseSet) -> list[Shown]:
    """Return all questions of a set as they are shown."""
    return [shown(question, number) for number, question in enumerate(made.questions, 1)]


def talas_of(made: ExerciseSet) -> list[Tala]:
    """Return the talas of a set, each once."""
    return list({question.tala.key: question.tala for question in made.questions}.values())


def counted_words(made: ExerciseSet) -> tuple[str, ...]:
    """Say how the landing is counted, and that schools differ."""
    rule = made.wishes.rule
    told = [f"Counted {RULE_WORDS[rule]}."]
    rounds = any(question.piece.round_dam is not None for question in made.questions)
    if rounds and rule == LandingRule.AFTER:
        told.append("Chakradars are counted within, as their sources do.")
    return (*told, "Schools differ: your teacher's way counts.")


def heading(made: ExerciseSet) -> str:
    """Name a set: "Exercises in Teental and Jhaptal"."""
    names = [tala.name for tala in talas_of(made)]
    return f"Exercises in {names[0]}" if len(names) == 1 else f"Exercises in {', '.join(names[:-1])} and {names[-1]}"
