"""What the page shows, as plain values for its templates: the choices, a question, an answer that is marked.

Conventions: whatever is said of music comes from ``theory``; a set of questions is kept by its wishes and by the state
of the archive, since a run asks for it again and again.
"""

from __future__ import annotations

import json
import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from annotate.practice.exercises.drawn import ExerciseSet, exercises
from annotate.practice.exercises.shown import counted_words, shown
from dashboard import words
from dashboard.composing.asked import address as compose_address
from dashboard.composing.asked import piece_fields
from dashboard.composing.run import drawing_data
from dashboard.composing.shown import Choice, tala_choices
from dashboard.library import Library
from dashboard.practice.asked import ARCHIVE, MADE_UP, Asked, kinds_words
from dashboard.practice.cycle import cycle_of
from theory.composing import Piece
from theory.exercises.marking import Marked, mark, mark_count, solution, sum_lines
from theory.exercises.question import Question
from theory.exercises.wishes import LEVELS, ExerciseWishes
from theory.numbers import parse_matras

SETS_KEPT = 24
_LEVELS = {1: "1, the easiest", 5: "5, the hardest"}


@dataclass
class Sets:
    """Sets of questions, those asked for last kept ready."""

    library: Library
    _kept: OrderedDict[tuple[Any, ...], ExerciseSet] = field(default_factory=OrderedDict)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def get(self, asked: Asked, wishes: ExerciseWishes) -> ExerciseSet:
        """Return the set of an address.

        Raises
        ------
        theory.errors.LayakoshError
            It cannot be had.
        """
        if not asked.of_the_archive:
            return self._keep((wishes,), lambda: exercises(None, wishes))
        archive, raga = self.library.archive, asked.fields["raga"]
        with self.library.reading_tables:
            seen = tuple((slug, each.revision) for slug, each in archive.seen().items())
            make = lambda: exercises(archive, wishes, tala=wishes.tala, raga=raga)  # noqa: E731 - made only if not kept
            return self._keep((wishes, raga, seen), make)

    def _keep(self, key: tuple[Any, ...], make: Callable[[], ExerciseSet]) -> ExerciseSet:
        with self._lock:
            if key not in self._kept:
                self._kept[key] = make()
            self._kept.move_to_end(key)
            while len(self._kept) > SETS_KEPT:
                self._kept.popitem(last=False)
            return self._kept[key]


def form_of(asked: Asked) -> dict[str, Any]:
    """Return what the form of the sums offers and holds."""
    fields = asked.fields
    chosen = fields["kinds"].split(",")
    return {
        "fields": fields,
        "talas": tala_choices(fields["tala"]),
        "kinds": [Choice(kind, told, kind in chosen) for kind, told in kinds_words()],
        "levels": [
            Choice("", "mixed, easiest first", not fields["level"]),
            *(Choice(str(each), _LEVELS.get(each, str(each)), fields["level"] == str(each)) for each in LEVELS),
        ],
        "rules": [Choice(str(rule), text, str(rule) == fields["by"]) for rule, text in words.RULES.items()],
        "whose": whose_of(fields["whose"]),
    }


def whose_of(chosen: str) -> list[Choice]:
    """Return whose tihais can be asked about."""
    offered = ((MADE_UP, "made up"), (ARCHIVE, "of the archive"))
    return [Choice(value, told, value == chosen) for value, told in offered]


def question_of(made: ExerciseSet, at: int) -> dict[str, Any]:
    """Return a question of a set, its number counted from 1."""
    question = made.questions[at - 1]
    return {
        "shown": shown(question, at),
        "count": len(made.questions),
        "cycle": cycle_of(question),
        "counted": counted_words(made),
        "notes": made.notes if at == 1 else (),
        "tihai_page": f"/tihais/{question.address}" if question.address else "",
    }


def marked_by(question: Question, answer: str, place: str) -> Marked:
    """Mark an answer as typed, or, where nothing is typed, as chosen on the cycle.

    Raises
    ------
    theory.errors.LayakoshError
        It is no answer.
    """
    if answer or not place:
        return mark(question, answer)
    return mark_count(question, question.answer_at(question.tala.wrap(parse_matras(place) - 1)))


def marked_of(question: Question, marked: Marked) -> dict[str, Any]:
    """Return what is shown of an answer: right or wrong in words, hints, where it leads, the sum, the run drawn."""
    piece = question.piece
    return {
        "right": marked.right,
        "said": words.unbroken(marked.said),
        "hints": [words.unbroken(hint) for hint in marked.hints],
        "led_to": words.unbroken(marked.led_to),
        "solution": words.unbroken(solution(question)),
        "sum": words.unbroken(piece.paper.sum),
        "lines": sum_lines(question),
        "drawing": json.dumps(drawing_data(piece), separators=(",", ":")),
        "score": score_address(piece, question.per_minute),
        "open": open_address(piece, question.per_minute),
        "per_minute": question.per_minute,
    }


def open_address(piece: Piece, per_minute: int) -> str:
    """Return the address that opens a tihai on the Compose page."""
    told = {"tala": piece.tala.key, "from": str(piece.start), "to": str(piece.target), "by": str(piece.rule)}
    laya = str(min(max(per_minute, 20), 480))
    kind = {"kind": "chakradar"} if piece.round_dam is not None else {}
    return compose_address({**told, **kind, **piece_fields(piece), "laya": laya})


def score_address(piece: Piece, per_minute: int) -> str:
    """Return where a tihai is heard from."""
    return open_address(piece, per_minute).replace("/compose?", "/compose/score?", 1)
