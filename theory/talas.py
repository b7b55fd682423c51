"""The talas: matras, vibhags, claps and khalis, theka, with the source of each.

Conventions: matras are numbered from 1, and matra 1 is sam in every tala, also where (rupak) sam is marked as khali.
Table: ``data/talas.toml``; every row is checked when it is read.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import accumulate
from typing import Any, Literal

from theory.errors import BadData, LayakoshError
from theory.names import find, fold, table_of_names
from theory.notation import parse
from theory.numbers import parse_matras, spoken
from theory.passage import Passage
from theory.tables import field, load, source_title


@dataclass(frozen=True, slots=True)
class Mark:
    """A clap or a wave: on which matra, which of the two, and its sign ("X" sam, "0" khali, "2", "3" ...)."""

    matra: int
    kind: Literal["tali", "khali"]
    label: str


@dataclass(frozen=True, slots=True)
class Tala:
    """A tala.

    Attributes
    ----------
    key : str
        Its name for tables and commands: "teental".
    name : str
        As shown to people.
    aliases : tuple of str
        Other names and spellings.
    matras : int
        How many matras an avartan has.
    vibhags : tuple of int
        How many matras each vibhag has.
    marks : tuple of Mark
        Claps and khalis in order; the first is always on matra 1.
    theka_text : str
        The theka as notation.
    theka : Passage
        The theka; its length is the number of matras.
    laya : str
        The laya it is usually played in.
    source : str
        Full titles of the sources, with ``"; "`` between.
    notes : str
        Where sources and schools differ.
    mukhra_starts : tuple of (str, Fraction)
        On which matra a gat's mukhra usually begins, with the kind of gat. Common practice, no source.
    """

    key: str
    name: str
    aliases: tuple[str, ...]
    matras: int
    vibhags: tuple[int, ...]
    marks: tuple[Mark, ...]
    theka_text: str
    theka: Passage
    laya: str
    source: str
    notes: str
    mukhra_starts: tuple[tuple[str, Fraction], ...] = ()

    @property
    def vibhag_starts(self) -> tuple[int, ...]:
        """The matra numbers on which vibhags begin, from 1."""
        return _starts(self.vibhags)

    def wrap(self, position: Fraction) -> Fraction:
        """Return the matra number (1 up to, not with, matras + 1) of a position counted in matras from a sam at 0."""
        return position % self.matras + 1

    def name_of(self, matra: Fraction) -> str:
        """Name a matra as a musician would: "sam", or "matra 16 1/2"."""
        return "sam" if matra == 1 else f"matra {spoken(matra)}"


@dataclass(frozen=True, slots=True)
class _Frame:
    matras: int
    vibhag_starts: tuple[int, ...]


def _starts(vibhags: tuple[int, ...]) -> tuple[int, ...]:
    return tuple(accumulate((1, *vibhags[:-1])))


@cache
def all_talas() -> tuple[Tala, ...]:
    """Return every tala of the table, in its order.

    Raises
    ------
    BadData
        When a row contradicts itself.
    """
    return tuple(read_tala(row) for row in load("talas")["tala"])


@cache
def _table() -> dict[str, Tala]:
    return table_of_names("tala", ((tala, (tala.key, tala.name, *tala.aliases)) for tala in all_talas()))


@cache
def _shown() -> dict[str, str]:
    return {fold(name): tala.name for tala in all_talas() for name in (tala.key, tala.name, *tala.aliases)}


def get_tala(name: str) -> Tala:
    """Look up a tala by key, name, alias or any usual spelling ("Teentaal", "jhap taal", "rupak").

    Raises
    ------
    UnknownName
        When there is no such tala; offers the nearest names.
    """
    return find("tala", name, _table(), _shown(), suffix="tal")


def read_tala(row: Mapping[str, Any], where: str = "talas.toml") -> Tala:
    """Make a tala from one row of a table, checking that it agrees with itself.

    Raises
    ------
    BadData
        When the vibhags do not add up to the matras, the theka has another length or another division, a mark lies
        outside, or the first mark is not on matra 1.
    """
    key = field(row, "key", str, where)
    where = f"{where}, tala '{key}'"
    matras = field(row, "matras", int, where)
    vibhags = tuple(field(row, "vibhags", list, where))
    if sum(vibhags) != matras or min(vibhags, default=0) < 1:
        raise BadData(
            f"{where}: vibhags {'+'.join(map(str, vibhags))} = {sum(vibhags)}, but the tala has {matras} matras."
        )
    theka_text = field(row, "theka", str, where)
    return Tala(
        key=key,
        name=field(row, "name", str, where),
        aliases=tuple(field(row, "aliases", list, where, [])),
        matras=matras,
        vibhags=vibhags,
        marks=_read_marks(field(row, "marks", str, where), matras, where),
        theka_text=theka_text,
        theka=_read_theka(theka_text, _Frame(matras, _starts(vibhags)), where),
        laya=field(row, "laya", str, where, ""),
        source=source_title(field(row, "source", str, where)),
        notes=field(row, "notes", str, where, ""),
        mukhra_starts=tuple((each["gat"], parse_matras(each["matra"])) for each in row.get("mukhra", ())),
    )


def _read_theka(text: str, frame: _Frame, where: str) -> Passage:
    try:
        theka = parse(text, frame)
    except LayakoshError as error:
        raise BadData(f"{where}: theka: {error}") from None
    if theka.length != frame.matras or text.count("|") != len(frame.vibhag_starts) - 1:
        raise BadData(
            f"{where}: the theka has {spoken(theka.length)} matras in {text.count('|') + 1} vibhags, "
            f"the tala {frame.matras} in {len(frame.vibhag_starts)}."
        )
    return theka


def _read_marks(text: str, matras: int, where: str) -> tuple[Mark, ...]:
    marks: list[Mark] = []
    for word in text.split():
        label, _, number = word.partition("@")
        last = marks[-1].matra if marks else 0
        if not label or not number.isdecimal() or not last < int(number) <= matras:
            raise BadData(f"{where}: mark '{word}' should be label@matra, in order, within {matras} matras.")
        marks.append(Mark(int(number), "khali" if label == "0" else "tali", label))
    if not marks or marks[0].matra != 1:
        raise BadData(f"{where}: the first mark belongs on matra 1, which is sam.")
    return tuple(marks)
