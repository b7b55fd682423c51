"""An address of the page, read and written.

Conventions: every choice has a name (:data:`CHOICES`); one that is left out, or is as usual, does not stand in the
address. Counts of matras are read as people type them; "sam" is matra 1. What cannot be read is told by the name of its
field, and then nothing is asked for. A piece that is opened stands in the address by what it is made of.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any, TypeVar, cast
from urllib.parse import urlencode

from annotate.compositions.composition import Composition, require_playable
from annotate.shelves.errors import BadThing
from theory.composing import PLAIN_KINDS, ROUND_KINDS, SUBDIVISIONS, Piece, Wanted
from theory.errors import LayakoshError, TheoryError
from theory.filler import Syllables
from theory.laya import all_layas
from theory.notation import parse
from theory.notation_print import to_text
from theory.numbers import parse_matras, spoken
from theory.paper import PaperCheck, require_matra
from theory.passage import Passage
from theory.talas import Tala, get_tala
from theory.tihai import LandingRule

PATH = "/compose"
CHOICES: Mapping[str, str] = {
    "tala": "teental",
    "from": "1",
    "to": "1",
    "by": "within",
    "kind": "",
    "parts": "1",
    "palla": "",
    "shortest": "",
    "longest": "",
    "dam_from": "",
    "dam_to": "",
    "cycles": "",
    "in": "bols",
    "most": "40",
}
"""What can be asked for, and what is usual."""
PIECE = ("at", "plays", "gap", "lead", "between")
"""A piece that is opened: its start, palla, dam, bol, and gap between rounds."""
HEARD: Mapping[str, str] = {"laya": "120", "sa": "4", "theka": "on"}
"""How it is heard: matras a minute, Sa in semitones above A, the theka under it."""
CARRIED = {"into": "", "ratio": "1"}
"""Into which tala the opened piece is carried, how many times as fast."""
LONGEST_TEXT = 4000
LONGEST_LIMIT = 128
"""Matras of a palla, dam or bol, far above any in use."""
MOST_SHOWN = 1000
SLOWEST, FASTEST = 20, 480
SA_NAMES = ("A", "A sharp", "B", "C", "C sharp", "D", "D sharp", "E", "F", "F sharp", "G", "G sharp")
_LOWEST_SA_HZ = 220.0
USUAL = {**CHOICES, **HEARD, **CARRIED, "kept": "", **dict.fromkeys(PIECE, "")}

Value = TypeVar("Value")
Other = TypeVar("Other")


@dataclass(frozen=True)
class Asked:
    """What an address asks for.

    Attributes
    ----------
    fields : dict
        The choices as they stand in the address, those that are as usual too.
    wrong : dict
        What cannot be read, by the name of its field.
    wanted : Wanted or None
        None where something of it cannot be read.
    piece : Piece or None
        The one that is opened.
    """

    fields: Mapping[str, str]
    wrong: Mapping[str, str] = field(default_factory=dict)
    wanted: Wanted | None = None
    piece: Piece | None = None

    @property
    def per_minute(self) -> int:
        """The laya in matras a minute."""
        return int(self.fields["laya"])

    @property
    def sa_hz(self) -> float:
        """Sa in Hz."""
        return sa_hz(int(self.fields["sa"]))

    @property
    def syllables(self) -> Syllables:
        """What is written in, where nothing says so."""
        return cast("Syllables", self.fields["in"])

    def address(self, **changes: str | None) -> str:
        """Return the address of this with some choices changed; None leaves one out."""
        return address({**self.fields, **{name: value or "" for name, value in changes.items()}})


def sa_hz(step: int) -> float:
    """Return a Sa in Hz: A at 220 Hz and semitones above it."""
    return float(round(_LOWEST_SA_HZ * 2 ** (step / 12), 2))


def nearest_sa(hz: float) -> int:
    """Return the semitone above A whose Sa is nearest to a frequency, whatever its octave."""
    return round(12 * math.log2(hz / _LOWEST_SA_HZ)) % 12


def read(told: Mapping[str, str]) -> Asked:
    """Read what follows the ``?`` of an address, taken apart."""
    fields = {name: (told.get(name) or usual).strip()[: LONGEST_TEXT + 1] for name, usual in USUAL.items()}
    reader = _Reader(fields)
    heard = {
        "laya": str(reader.take("laya", lambda text: _whole(text, SLOWEST, FASTEST, "matras a minute"), 120)),
        "sa": str(reader.take("sa", lambda text: _whole(text, 0, len(SA_NAMES) - 1, "semitones above A"), 4)),
        "most": str(reader.take("most", lambda text: _whole(text, 1, MOST_SHOWN, "solutions"), 40)),
    }
    reader.fields.update(heard)
    wanted = _wanted(reader)
    framed = not {"tala", "to", "by", "kind"} & set(reader.wrong)
    readable = not set(CHOICES) & set(reader.wrong)
    piece = _piece(reader, wanted) if framed and fields["plays"] else None
    return Asked(reader.fields, reader.wrong, wanted if readable else None, piece)


def address(fields: Mapping[str, str]) -> str:
    """Write an address; what is as usual is left out."""
    told = {name: fields[name] for name in USUAL if fields.get(name) and fields[name] != USUAL[name]}
    return f"{PATH}?{urlencode(told)}" if told else PATH


def piece_fields(piece: Piece) -> dict[str, str]:
    """Return the fields of an address that open a piece."""
    return {
        "at": str(piece.start),
        "plays": to_text(piece.palla),
        "gap": str(piece.dam),
        "lead": to_text(piece.bol) if piece.bol is not None else "",
        "between": "" if piece.round_dam is None else str(piece.round_dam),
    }


def wanted_fields(wanted: Wanted) -> dict[str, str]:
    """Return the fields of an address that ask for what is wanted."""
    limits = {
        "shortest": wanted.palla_least,
        "longest": wanted.palla_most,
        "dam_from": wanted.dam_least,
        "dam_to": wanted.dam_most,
    }
    return {
        "tala": wanted.tala.key,
        "from": "any" if wanted.start is None else str(wanted.start),
        "to": str(wanted.target),
        "by": str(wanted.rule),
        "kind": wanted.kind,
        "parts": str(wanted.subdivision),
        "palla": to_text(wanted.palla) if wanted.palla is not None else "",
        **{name: "" if limit is None else str(limit) for name, limit in limits.items()},
        "cycles": "" if wanted.cycles_most is None else str(wanted.cycles_most),
        "in": wanted.syllables,
    }


def composition_fields(key: str, composition: Composition) -> dict[str, str]:
    """Return the fields of an address that open a composition that is kept."""
    return {
        "tala": composition.tala,
        "from": str(composition.start),
        "to": str(composition.target),
        "by": str(composition.rule),
        **piece_fields(composition.piece),
        "laya": str(min(max(composition.per_minute, SLOWEST), FASTEST)),
        "sa": str(nearest_sa(composition.sa_hz)),
        "kept": key,
    }


def paper_address(paper: PaperCheck) -> str:
    """Return the address that opens a tihai which was checked on paper; empty where it is not of one palla."""
    palla = paper.tihai.palla
    if not isinstance(palla, Passage):
        return ""
    piece = Piece(paper.tala, paper.start, paper.target, paper.rule, palla, paper.tihai.dam)
    told = {"tala": paper.tala.key, "from": str(paper.start), "to": str(paper.target), "by": str(paper.rule)}
    return address({**told, **piece_fields(piece)})


def composition_of(asked: Asked, name: str, notes: str) -> Composition:
    """Make a composition of the piece that is opened.

    Raises
    ------
    annotate.shelves.errors.BadThing
        It cannot be kept, or no piece is opened.
    """
    piece = asked.piece
    if piece is None:
        raise BadThing("No tihai is open that could be kept: choose one of the solutions first.")
    return Composition(
        name=name.strip(),
        notes=notes.strip(),
        tala=piece.tala.key,
        palla=asked.fields["plays"],
        start=piece.start,
        target=piece.target,
        rule=piece.rule,
        dam=piece.dam,
        bol=asked.fields["lead"],
        round_dam=piece.round_dam,
        per_minute=asked.per_minute,
        sa_hz=asked.sa_hz,
    )


def carried_into(asked: Asked) -> tuple[Tala, Fraction]:
    """Return the tala that the opened piece is carried into, and how many times as fast.

    Raises
    ------
    LayakoshError
        One of them cannot be read.
    """
    ratio = _matras(asked.fields["ratio"])
    if not Fraction(1, 8) <= ratio <= 16:
        raise TheoryError(f"{spoken(ratio)} times as fast is not played: write a ratio from 1/8 to 16.")
    return get_tala(asked.fields["into"]), ratio


@dataclass
class _Reader:
    fields: dict[str, str]
    wrong: dict[str, str] = field(default_factory=dict)

    def take(self, name: str, how: Callable[[str], Value], otherwise: Other) -> Value | Other:
        """Read a field; what cannot be read is told, and is then ``otherwise``."""
        text = self.fields[name]
        if len(text) > LONGEST_TEXT:
            self.wrong[name] = f"At most {LONGEST_TEXT} characters are read."
            return otherwise
        try:
            return how(text)
        except LayakoshError as error:
            self.wrong[name] = str(error)
            return otherwise


def _wanted(reader: _Reader) -> Wanted:
    """Read what is wanted; in place of what cannot be read stands what is usual."""
    tala = reader.take("tala", get_tala, get_tala("teental"))
    palla = reader.take("palla", _passage, None)
    return Wanted(
        tala,
        start=reader.take("from", lambda text: None if text == "any" else _matra("start", text, tala), Fraction(1)),
        target=reader.take("to", lambda text: _matra("target", text, tala), Fraction(1)),
        rule=reader.take("by", lambda text: LandingRule(_one_of(text, tuple(LandingRule))), LandingRule.WITHIN),
        kind=reader.take("kind", lambda text: _one_of(text, ("", *PLAIN_KINDS, *ROUND_KINDS)), ""),
        subdivision=reader.take("parts", lambda text: int(_one_of(text, tuple(map(str, SUBDIVISIONS)))), 1),
        palla=palla,
        palla_least=reader.take("shortest", _limit, None),
        palla_most=reader.take("longest", _limit, None),
        dam_least=reader.take("dam_from", _limit, None),
        dam_most=reader.take("dam_to", _limit, None),
        cycles_most=reader.take("cycles", lambda text: _whole(text, 0, 99, "avartans") if text else None, None),
        syllables=cast("Syllables", reader.take("in", lambda text: _one_of(text, ("bols", "sargam")), "bols")),
    )


def _piece(reader: _Reader, wanted: Wanted) -> Piece | None:
    palla = reader.take("plays", _passage, None)
    start = reader.take("at", lambda text: _matra("start", text or "1", wanted.tala), Fraction(1))
    dam = reader.take("gap", lambda text: _matras(text or "0"), Fraction(0))
    bol = reader.take("lead", _passage, None)
    between = reader.take("between", lambda text: _matras(text) if text else None, None)
    if palla is None or set(PIECE) & set(reader.wrong):
        return None
    if bol is not None and between is None:
        between = Fraction(0)
    piece = Piece(wanted.tala, start, wanted.target, wanted.rule, palla, dam, bol, between)
    if wanted.in_rounds:
        piece = replace(piece, rule=wanted.counted)
    try:
        require_playable(piece)
    except LayakoshError as error:
        reader.wrong["plays"] = str(error)
        return None
    return piece


def _passage(text: str) -> Passage | None:
    passage = parse(text) if text else None
    if passage is not None and not passage.notes:
        raise TheoryError("It holds no stroke, only silence: write at least one swara or bol.")
    if passage is not None and passage.length > LONGEST_LIMIT:
        raise TheoryError(f"It lasts {spoken(passage.length)} matras: at most {LONGEST_LIMIT} are read.")
    return passage


def _matra(what: str, text: str, tala: Tala) -> Fraction:
    """Read a matra of a tala."""
    return require_matra(what, tala, Fraction(1) if text.casefold() == "sam" else parse_matras(text))


def _matras(text: str) -> Fraction:
    count = parse_matras(text)
    if not 0 <= count <= LONGEST_LIMIT:
        raise TheoryError(f"{spoken(count)} matras: write a count from 0 to {LONGEST_LIMIT}.")
    return count


def _limit(text: str) -> Fraction | None:
    return _matras(text) if text else None


def _whole(text: str, least: int, most: int, what: str) -> int:
    if not text.isascii() or not text.isdigit() or len(text) > 6 or not least <= int(text) <= most:
        raise TheoryError(f"Write a whole number of {what}, from {least} to {most}, instead of '{text[:40]}'.")
    return int(text)


def _one_of(text: str, choices: tuple[Any, ...]) -> str:
    if text not in choices:
        raise TheoryError(f"'{text[:40]}' is not one of {', '.join(filter(None, choices))}.")
    return text


def laya_ratios() -> list[tuple[str, str]]:
    """Return the ratios in use, as (count, words), each once: "2" is "dugun"."""
    named: dict[Fraction, list[str]] = {}
    for laya in all_layas():
        named.setdefault(laya.ratio, []).append(laya.name)
    return [(str(ratio), ", ".join(dict.fromkeys(names))) for ratio, names in sorted(named.items())]
