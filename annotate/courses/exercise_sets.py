"""Sets of exercises in a course, written in a line: ``tala=jhaptal,level=3,kinds=start+dam``.

Conventions: the names are those of :class:`theory.exercises.wishes.ExerciseWishes`; what is left out is as usual there.
A set has one way in which it is kept: the tala first, then what is not as usual, in their order.
"""

from __future__ import annotations

from annotate.shelves.errors import BadThing
from theory.errors import LayakoshError
from theory.exercises.wishes import KINDS, ExerciseWishes
from theory.numbers import spoken
from theory.tihai import LandingRule


def read_exercises(text: str) -> ExerciseWishes:
    """Read a set of exercises.

    Raises
    ------
    BadThing
        It is none; says what was expected.
    """
    told: dict[str, str] = {}
    for part in filter(None, (each.strip() for each in text.split(","))):
        name, equals, value = part.partition("=")
        if not equals or name in told:
            raise BadThing(f"'{text[:80]}' is no set of exercises: write tala=jhaptal,level=3,kinds=start+dam.")
        told[name] = value.replace("+", ",") if name == "kinds" else value
    try:
        return ExerciseWishes.from_dict(told)
    except LayakoshError as error:
        raise BadThing(f"The exercises '{text[:80]}' cannot be set. {error}") from None


def written(wishes: ExerciseWishes) -> str:
    """Return a set of exercises as it is kept."""
    told = {"tala": wishes.tala, **wishes.to_dict()}
    return ",".join(f"{name}={'+'.join(v) if isinstance(v, list) else v}" for name, v in told.items())


def words_of(wishes: ExerciseWishes) -> str:
    """Say what is asked: "10 questions: find the start, find the dam; difficulty 3"."""
    questions = f"{wishes.number} question{'' if wishes.number == 1 else 's'}"
    told = [f"{questions}: {', '.join(KINDS[kind] for kind in wishes.kinds)}"]
    told += [f"difficulty {wishes.level}"] if wishes.level else []
    told += [f"{wishes.per_minute} matras a minute"] if wishes.per_minute else []
    told += [f"landing on matra {spoken(wishes.target)}"] if wishes.target != 1 else []
    told += ["the landing counted after the third palla"] if wishes.rule is LandingRule.AFTER else []
    return "; ".join(told)
