"""An address of the page, read and written.

Conventions: every choice has a name (:data:`CHOICES`); one that is as usual does not stand in the address. What cannot
be read is told by the name of its field, and then nothing is asked.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any
from urllib.parse import urlencode

from theory.errors import LayakoshError
from theory.exercises.wishes import KINDS, PLAIN, ExerciseWishes
from theory.paper import require_matra
from theory.talas import get_tala
from theory.tihai import LandingRule

PATH = "/practice"
CLAP = "/practice/clap"
MADE_UP, ARCHIVE = "made-up", "archive"
CHOICES: Mapping[str, str] = {
    "tala": "teental",
    "whose": MADE_UP,
    "raga": "",
    "kinds": ",".join(PLAIN),
    "by": "within",
    "to": "1",
    "level": "",
    "laya": "",
    "number": "10",
    "seed": "1",
}
"""What can be asked for on the page of sums, and what is usual."""
CLAPPED: Mapping[str, str] = {
    "tala": "teental",
    "whose": MADE_UP,
    "piece": "",
    "level": "2",
    "seed": "1",
    "by": "within",
    "laya": "80",
    "sound": "notation",
    "speed": "100",
    "under": "theka",
    "taps": "strokes",
}
"""The same of the page for clapping along."""
SOUNDS = {"notation": "played from the notation", "recording": "the recording itself"}
UNDERS = {"theka": "the theka", "clicks": "clicks on the matras", "both": "both", "nothing": "nothing"}
TAPS = {
    "strokes": "every stroke",
    "pallas": "where each palla begins, and the landing",
    "landing": "the landing only",
}
SPEEDS = ("50", "65", "80", "100")
LONGEST_TEXT = 200
_NAMES = {"level": "level", "laya": "per_minute", "number": "number", "seed": "seed"}


@dataclass(frozen=True)
class Asked:
    """What an address of the page of sums asks for.

    Attributes
    ----------
    fields : dict
        The choices as they stand in the address, those that are as usual too.
    wrong : dict
        What cannot be read, by the name of its field.
    wishes : ExerciseWishes or None
        None where something cannot be read.
    """

    fields: Mapping[str, str]
    wrong: Mapping[str, str] = field(default_factory=dict)
    wishes: ExerciseWishes | None = None

    @property
    def of_the_archive(self) -> bool:
        """Whether tihais of the archive are asked about."""
        return self.fields["whose"] == ARCHIVE

    def address(self, **changes: str) -> str:
        """Return the address of this with some choices changed."""
        return address(PATH, CHOICES, {**self.fields, **changes})


def address(path: str, usual: Mapping[str, str], fields: Mapping[str, str]) -> str:
    """Write an address; what is as usual is left out."""
    told = {name: fields[name] for name in usual if fields.get(name) is not None and fields[name] != usual[name]}
    return f"{path}?{urlencode(told)}" if told else path


def fields_of(told: Mapping[str, str], usual: Mapping[str, str]) -> dict[str, str]:
    """Return the choices of an address that was taken apart, with what is usual where nothing stands."""
    return {name: told.get(name, otherwise).strip()[:LONGEST_TEXT] for name, otherwise in usual.items()}


def exercises_address(wishes: ExerciseWishes) -> str:
    """Return the address of the page of sums that asks what is wished for, all of it made up."""
    fields = {
        "tala": wishes.tala,
        "kinds": ",".join(wishes.kinds),
        "by": str(wishes.rule),
        "to": str(wishes.target),
        **{name: "" if getattr(wishes, key) is None else str(getattr(wishes, key)) for name, key in _NAMES.items()},
    }
    return address(PATH, CHOICES, fields)


def read(told: Mapping[str, str]) -> Asked:
    """Read what follows the ``?`` of an address of the page of sums, taken apart."""
    fields, wrong = fields_of(told, CHOICES), dict[str, str]()
    values: dict[str, Any] = {}

    def take(name: str, key: str, text: Any) -> None:
        try:
            values[key] = getattr(ExerciseWishes.from_dict({key: text}), key)
        except LayakoshError as error:
            wrong[name] = str(error)

    tala = _tala(fields, wrong)
    if fields["whose"] not in (MADE_UP, ARCHIVE):
        wrong["whose"] = f"Expected {MADE_UP} or {ARCHIVE}, not '{fields['whose']}'."
    take("kinds", "kinds", [each for each in fields["kinds"].split(",") if each])
    take("by", "rule", fields["by"])
    take("to", "target", fields["to"])
    for name, key in _NAMES.items():
        if fields[name]:
            take(name, key, fields[name])
    if tala and "to" not in wrong:
        try:
            require_matra("target", get_tala(tala), values["target"])
        except LayakoshError as error:
            wrong["to"] = str(error)
    return Asked(fields, wrong, None if wrong else ExerciseWishes(tala=tala, **values))


def _tala(fields: dict[str, str], wrong: dict[str, str]) -> str:
    try:
        return get_tala(fields["tala"]).key
    except LayakoshError as error:
        wrong["tala"] = str(error)
        return ""


@dataclass(frozen=True)
class Clapped:
    """What an address of the page for clapping along asks for.

    Attributes
    ----------
    fields, wrong
        As of :class:`Asked`.
    wishes : ExerciseWishes or None
        Of the tihai that is made up; None where something cannot be read.
    """

    fields: Mapping[str, str]
    wrong: Mapping[str, str] = field(default_factory=dict)
    wishes: ExerciseWishes | None = None

    def address(self, **changes: str) -> str:
        """Return the address of this with some choices changed."""
        return address(CLAP, CLAPPED, {**self.fields, **changes})


def read_clapped(told: Mapping[str, str]) -> Clapped:
    """Read what follows the ``?`` of an address of the page for clapping along, taken apart."""
    fields, wrong = fields_of(told, CLAPPED), dict[str, str]()
    tala = _tala(fields, wrong)
    offered = {
        "whose": (MADE_UP, ARCHIVE),
        "by": tuple(map(str, LandingRule)),
        "sound": tuple(SOUNDS),
        "speed": SPEEDS,
        "under": tuple(UNDERS),
        "taps": tuple(TAPS),
    }
    for name, choices in offered.items():
        if fields[name] not in choices:
            wrong[name] = f"'{fields[name]}' is none of {', '.join(choices)}."
    values: dict[str, Any] = {"kinds": ("start",), "number": 1}
    for name in ("level", "laya", "seed"):
        try:
            values[_NAMES[name]] = getattr(ExerciseWishes.from_dict({_NAMES[name]: fields[name]}), _NAMES[name])
        except LayakoshError as error:
            wrong[name] = str(error)
    if wrong:
        return Clapped(fields, wrong)
    rule = LandingRule(fields["by"])
    return Clapped(fields, wrong, ExerciseWishes(tala=tala, rule=rule, target=Fraction(1), **values))


def clap_address(piece: str, tala: str, *, recorded: bool) -> str:
    """Return the address for clapping along to a tihai of the archive, ``RECORDING/ROW``."""
    told = {"tala": tala or CLAPPED["tala"], "whose": ARCHIVE, "piece": piece}
    return address(CLAP, CLAPPED, {**told, "sound": "recording" if recorded else "notation"})


def kinds_words() -> list[tuple[str, str]]:
    """Return the kinds of questions with their words, in order."""
    return list(KINDS.items())
