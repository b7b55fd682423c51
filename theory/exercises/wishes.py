"""What a set of exercises is to be like: small enough to be kept as text and handed on.

Conventions: the same wishes give the same questions. As plain values (:meth:`ExerciseWishes.to_dict`) whatever is as
usual is left out, matras are text ("17/2"), and everything is a text, a number or a list of texts.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from fractions import Fraction
from typing import Any

from theory.errors import BadExercise, LayakoshError
from theory.numbers import parse_matras, spoken
from theory.paper import require_matra
from theory.talas import Tala, get_tala
from theory.tihai import LandingRule

KINDS: Mapping[str, str] = {
    "start": "find the start",
    "dam": "find the dam",
    "palla": "find the length of the palla",
    "lands": "does it land?",
    "chakradar": "chakradars",
}
"""The kinds of questions, in words."""
PLAIN = ("start", "dam", "palla", "lands")
LEVELS = (1, 2, 3, 4, 5)
MOST_QUESTIONS = 200
_NAMES = {"level": "difficulty", "number": "number of questions", "per_minute": "laya in matras a minute"}
SLOWEST, FASTEST = 10, 480
"""Matras a minute."""


@dataclass(frozen=True)
class ExerciseWishes:
    """What is asked for.

    Attributes
    ----------
    tala : str
        The tala's key or name.
    kinds : tuple of str
        Keys of :data:`KINDS`; they take turns.
    rule : LandingRule
        How the landing is counted. Chakradars are counted within, as their sources do.
    target : Fraction
        The matra to land on; sam is 1.
    level : int or None
        How hard, 1 to 5 (:mod:`theory.exercises.difficulty`); None for all together, easiest first.
    per_minute : int or None
        The laya in matras a minute; None to let it be drawn, or, of what was played, as it was played.
    number : int
        How many questions.
    seed : int
        The same seed gives the same questions in the same order.

    Raises
    ------
    BadExercise
        When one of them makes no sense.
    """

    tala: str = "teental"
    kinds: tuple[str, ...] = PLAIN
    rule: LandingRule = LandingRule.WITHIN
    target: Fraction = Fraction(1)
    level: int | None = None
    per_minute: int | None = None
    number: int = 10
    seed: int = 1

    def __post_init__(self) -> None:
        unknown = [kind for kind in self.kinds if kind not in KINDS]
        if unknown or not self.kinds:
            came = f"'{unknown[0]}'" if unknown else "none"
            raise BadExercise(f"Expected kinds of questions out of {', '.join(KINDS)}; came {came}.")
        _require("level", self.level, LEVELS[0], LEVELS[-1])
        _require("number", self.number, 1, MOST_QUESTIONS)
        _require("per_minute", self.per_minute, SLOWEST, FASTEST)
        _require("seed", self.seed, 0, 10**9)

    @property
    def in_tala(self) -> Tala:
        """The tala.

        Raises
        ------
        UnknownName
            There is none of that name.
        BadTihai
            The target lies outside it.
        """
        tala = get_tala(self.tala)
        require_matra("target", tala, self.target)
        return tala

    def to_dict(self) -> dict[str, Any]:
        """Return it as plain values, what is as usual left out."""
        told = {
            each.name: getattr(self, each.name) for each in fields(self) if getattr(self, each.name) != each.default
        }
        plain = {"kinds": list, "rule": str, "target": str}
        return {name: plain[name](value) if name in plain else value for name, value in told.items()}

    @staticmethod
    def from_dict(told: Mapping[str, Any]) -> ExerciseWishes:
        """Read it from plain values; numbers may be text, kinds a text with commas.

        Raises
        ------
        BadExercise
            A name that it does not have, or a value that makes no sense.
        """
        readers: dict[str, Callable[[str, Any], Any]] = {
            "tala": _text,
            "kinds": _kinds,
            "rule": _rule,
            "target": _target,
            "level": _whole,
            "per_minute": _whole,
            "number": _whole,
            "seed": _whole,
        }
        strange = [name for name in told if name not in readers]
        if strange:
            raise BadExercise(f"Exercises have no '{strange[0]}'; they have {', '.join(readers)}.")
        return ExerciseWishes(**{name: readers[name](name, value) for name, value in told.items()})


def _same(value: Any) -> Any:
    return value


def _require(name: str, count: int | None, least: int, most: int) -> None:
    if count is not None and not least <= count <= most:
        raise BadExercise(f"The {_NAMES.get(name, name)} is {count}: expected {least} to {most}.")


def _text(name: str, value: Any) -> str:
    if not isinstance(value, str) or not value:
        raise BadExercise(f"Expected a text as {name}, but {value!r} came.")
    return value


def _kinds(name: str, value: Any) -> tuple[str, ...]:
    kinds = [each.strip() for each in value.split(",")] if isinstance(value, str) else value
    if not isinstance(kinds, (list, tuple)) or not all(isinstance(each, str) for each in kinds):
        raise BadExercise(f"Expected {name} as a list such as start,dam, but {value!r} came.")
    return tuple(dict.fromkeys(kinds))


def _rule(name: str, value: Any) -> LandingRule:
    try:
        return LandingRule(value)
    except ValueError:
        raise BadExercise(f"Expected within or after as {name}, but {value!r} came.") from None


def _target(name: str, value: Any) -> Fraction:
    try:
        matra = Fraction(1) if value == "sam" else parse_matras(str(value))
    except LayakoshError:
        raise BadExercise(f"Expected a matra such as 1 or 8 1/2 as {name}, but {value!r} came.") from None
    if matra < 1:
        raise BadExercise(f"The {name} is matra {spoken(matra)}: matras are counted from 1, which is sam.")
    return matra


def _whole(name: str, value: Any) -> int:
    text = str(value)
    if isinstance(value, bool) or not text.isascii() or not text.isdigit() or len(text) > 10:
        raise BadExercise(f"Expected a whole number as {_NAMES.get(name, name)}, but {value!r} came.")
    return int(text)
