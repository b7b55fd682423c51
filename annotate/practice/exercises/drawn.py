"""A set of exercises, drawn by a seed: about tihais of the archive as far as there are any, the rest made up.

Conventions: the same wishes, seed and archive give the same set. What could not be had as wished is said in words
(:attr:`ExerciseSet.notes`). What is to be sung or played stands in an order by chance, of the same seed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from annotate.archive import Archive
from annotate.practice.exercises.played import Written, written_in, written_of
from annotate.practice.pieces import Piece as Played
from theory.exercises.difficulty import measure
from theory.exercises.draw import Draw
from theory.exercises.making import in_order, kinds_in_turn, made_in_turn
from theory.exercises.question import Asked, Question
from theory.exercises.wishes import ExerciseWishes
from theory.notation_print import to_text
from theory.numbers import matras
from theory.wording import shape

_ASKED: dict[str, Asked] = {"start": "start", "dam": "dam", "palla": "palla", "lands": "miss"}
_OF_ROUNDS: tuple[Asked, ...] = ("start", "round_dam", "bol")
MOST_TO_PLAY = 40


@dataclass(frozen=True)
class ToPlay:
    """Something to sing or play: its address, its name, and how it goes, in words."""

    address: str
    name: str
    notation: str
    facts: str


@dataclass(frozen=True)
class ExerciseSet:
    """Questions, and what to sing or play in the order in which it stands.

    Attributes
    ----------
    wishes : ExerciseWishes
        As they were asked for; the tala is that of what is made up.
    questions : tuple of Question
    to_play : tuple of ToPlay
    notes : tuple of str
        What could not be had as wished.
    """

    wishes: ExerciseWishes
    questions: tuple[Question, ...]
    to_play: tuple[ToPlay, ...]
    notes: tuple[str, ...]


def exercises(
    archive: Archive | None,
    wishes: ExerciseWishes,
    *,
    pieces: Sequence[Played] = (),
    tala: str = "",
    raga: str = "",
) -> ExerciseSet:
    """Draw a set of exercises.

    Parameters
    ----------
    archive : Archive or None
        Whose tihais are asked about; None makes all of it up.
    wishes : ExerciseWishes
        Of what is drawn from the archive the target is as written, and the laya as played unless one is wished.
    pieces : sequence of Piece
        Only these are asked about, whatever the level; phrases are only to be played.
    tala, raga : str
        Of the tihais that are drawn; empty for any. Nothing else is asked of ``pieces``.

    Raises
    ------
    theory.errors.UnknownName, theory.errors.BadTihai
        There is no such tala or raga, or the target lies outside the tala.
    """
    wishes.in_tala  # noqa: B018 - a tala that there is not is told before anything is drawn
    written = written_of(pieces) if pieces else written_in(archive, tala=tala, raga=raga) if archive is not None else []
    counted = [each for each in (one.counted(wishes.rule) for one in written) if each is not None]
    slots = list(_drawn(counted, wishes, any_level=bool(pieces)))
    drawn = [each for each in slots if each is not None]
    if not tala and drawn:
        wishes = replace(wishes, tala=drawn[0].tala.key)
    made = made_in_turn(wishes) if len(drawn) < wishes.number else ()
    questions = [each if each is not None else made[number] for number, each in enumerate(slots)]
    notes = _notes(len(written), len(counted), len(drawn), wishes) if archive is not None else ()
    order = Draw(f"{wishes.seed} order")
    to_play = _named(pieces) if pieces else _of_questions(drawn)
    return ExerciseSet(wishes, in_order(questions, wishes), order.shuffled(to_play), notes)


def _drawn(written: Sequence[Written], wishes: ExerciseWishes, *, any_level: bool) -> Iterator[Question | None]:
    """Yield questions about tihais, every kind in turn, one about each: what a second one tells would answer the first.

    None stands where there is none of a kind: :func:`theory.exercises.making.made_in_turn` has one of that kind there.
    """
    left = list(Draw(f"{wishes.seed} tihais").shuffled(written))
    rounds = Draw(f"{wishes.seed} rounds")
    for kind in kinds_in_turn(wishes):
        found = None
        for each in left:
            question = _about(each, kind, wishes, rounds)
            if question is None:
                continue
            if wishes.level is None or any_level or measure(question).level == wishes.level:
                found = question
                left.remove(each)
                break
        yield found


def _about(written: Written, kind: str, wishes: ExerciseWishes, draw: Draw) -> Question | None:
    piece = written.piece
    in_rounds = piece.round_dam is not None
    if (kind == "chakradar") != in_rounds:
        return None
    asked = (
        draw.one([each for each in _OF_ROUNDS if each != "bol" or piece.bol is not None]) if in_rounds else _ASKED[kind]
    )
    if asked != "miss" and not piece.paper.lands:
        return None  # a tihai whose sum misses can only be asked whether it lands
    return Question(kind, asked, piece, wishes.per_minute or written.per_minute, written.name, written.address)


def _notes(written: int, counted: int, drawn: int, wishes: ExerciseWishes) -> tuple[str, ...]:
    notes = []
    if counted < written:
        left = written - counted
        notes.append(f"{left} of {written} tihais cannot be counted {wishes.rule} and are left out.")
    filled = wishes.number - drawn
    if filled:
        level = f" of difficulty {wishes.level}" if wishes.level is not None else ""
        asked = f"{drawn} of these questions {'is' if drawn == 1 else 'are'}" if drawn else "None of these questions is"
        made = "1 is" if filled == 1 else f"{filled} are"
        notes.append(
            f"{asked} about tihais of the archive, one about each; it has no more that fit{level}, so {made} made up."
        )
    return tuple(notes)


def _named(pieces: Sequence[Played]) -> list[ToPlay]:
    return [ToPlay(each.address, each.name, _notation(each), _facts(each)) for each in pieces]


def _notation(played: Played) -> str:
    if played.tihai is not None:
        return played.tihai.palla
    return played.phrase.swaras if played.phrase is not None else ""


def _facts(played: Played) -> str:
    record, tala = played.tihai, played.tala
    times = _times(record.dam) if record is not None and record.dam is not None else ""
    begins = "" if tala is None else f"{tala.name} from {tala.name_of(played.start)}"
    laya = f"{round(played.per_minute)} matras a minute" if played.per_minute else ""
    return ", ".join(filter(None, (times, begins, laya)))


def _of_questions(questions: Sequence[Question]) -> list[ToPlay]:
    """Return each tihai that is asked about once."""
    told: dict[str, ToPlay] = {}
    for each in questions:
        piece = each.piece
        begins = f"{piece.tala.name} from {piece.tala.name_of(piece.start)}"
        laya = f"{each.per_minute} matras a minute"
        if piece.round_dam is None:
            goes = ToPlay(each.address, each.origin, to_text(piece.palla), f"{_times(piece.dam)}, {begins}, {laya}")
        else:
            goes = ToPlay(each.address, each.origin, shape(piece.tihai), f"{begins}, {laya}")
        told.setdefault(each.address, goes)
    return list(told.values())[:MOST_TO_PLAY]


def _times(dam: Fraction) -> str:
    return f"three times with a dam of {matras(dam)}" if dam else "three times without a dam"
