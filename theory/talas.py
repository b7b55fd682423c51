"""The talas: matras, vibhags, claps and khalis, theka, with the source of each.

Conventions: matras are numbered from 1, and matra 1 is sam in every tala, also where (rupak) sam is marked as khali.
Where sources differ in division or theka, the tala has variants: ``ektal/bengali``. Table: ``data/talas.toml``, and the
user's own talas (see :mod:`theory.catalogue`); every row is checked when it is read.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate
from typing import Any, Literal

from theory.catalogue import Catalogue, catalogue
from theory.errors import BadData, LayakoshError
from theory.notation import parse
from theory.numbers import parse_matras, spoken, stored
from theory.passage import Passage, silence
from theory.tables import counts, field, key_of, notes_of, only_fields, source_of, words

MOST_MATRAS = 128  # far above any tala in use: a longer one is a slip of the pen

_FIELDS = (
    "key", "name", "aliases", "matras", "vibhags", "marks", "theka", "laya", "source", "notes", "mukhra", "variant",
)  # fmt: skip
_LABEL = re.compile(r"X|0|[1-9]\d?")


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
        Claps and khalis in order; the first is always on matra 1. Fewer than vibhags where not all are known.
    theka_text : str
        The theka as notation; empty where it is not transcribed.
    theka : Passage
        The theka; its length is the number of matras. Silence where it is not transcribed.
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
    def theka_known(self) -> bool:
        """Whether the theka is transcribed."""
        return bool(self.theka_text)

    @property
    def marks_known(self) -> bool:
        """Whether every vibhag's clap or khali is known."""
        return len(self.marks) == len(self.vibhags)

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

    def to_json(self) -> dict[str, Any]:
        """Return all of it as plain values; the theka is null where it is not transcribed."""
        return {
            "tala": self.key,
            "name": self.name,
            "aliases": list(self.aliases),
            "matras": self.matras,
            "vibhags": list(self.vibhags),
            "vibhag_starts": list(self.vibhag_starts),
            "marks": [{"matra": mark.matra, "kind": mark.kind, "label": mark.label} for mark in self.marks],
            "marks_known": self.marks_known,
            "theka": self.theka_text or None,
            "laya": self.laya,
            "mukhra_starts": [{"gat": gat, "matra": stored(matra)} for gat, matra in self.mukhra_starts],
            "source": self.source,
            "notes": self.notes,
        }


@dataclass(frozen=True, slots=True)
class _Frame:
    matras: int
    vibhag_starts: tuple[int, ...]


def _starts(vibhags: tuple[int, ...]) -> tuple[int, ...]:
    return tuple(accumulate((1, *vibhags[:-1])))


def all_talas() -> tuple[Tala, ...]:
    """Return every tala of the table, in its order, without variants; the user's own come last.

    Raises
    ------
    BadData
        When a row contradicts itself.
    """
    return _catalogue().entries


def get_tala(name: str) -> Tala:
    """Look up a tala by key, name, alias or usual spelling ("Teentaal", "jhap taal"), or a variant ("ektal/bengali").

    Raises
    ------
    UnknownName
        When there is no such tala or variant; offers the nearest names.
    BadData
        When the user's own file of talas is wrong.
    """
    return _catalogue().get(name, suffix="tal")


def tala_variants(tala: Tala) -> tuple[Tala, ...]:
    """Return the variants of a tala, each with its own source; none for a tala that is itself a variant."""
    return _catalogue().variants.get(tala.key, ())


def _catalogue() -> Catalogue[Tala]:
    return catalogue("tala", read_tala)


def read_tala(row: Mapping[str, Any], where: str = "talas.toml", own: bool = False) -> Tala:
    """Make a tala from one row of a table, checking that it agrees with itself.

    Parameters
    ----------
    row : mapping
        Fields as in ``talas.toml``. Its variants are not read here.
    where : str
        The file, for messages.
    own : bool
        Whether the row is a user's own: then its source is any text.

    Raises
    ------
    BadData
        When the vibhags do not add up to the matras, the theka has another length or another division, a mark does not
        begin a vibhag, or the first mark is not on matra 1.
    """
    key = key_of(row, where)
    where = f"{where}, tala '{key}'"
    only_fields(row, _FIELDS, where)
    matras, vibhags = field(row, "matras", int, where), counts(row, "vibhags", where)
    if not 1 <= matras <= MOST_MATRAS:
        raise BadData(f"{where}: a tala has 1 to {MOST_MATRAS} matras, not {matras}.")
    if sum(vibhags) != matras or min(vibhags, default=0) < 1:
        raise BadData(
            f"{where}: vibhags {'+'.join(map(str, vibhags))} = {sum(vibhags)}, but the tala has {matras} matras."
        )
    frame = _Frame(matras, _starts(vibhags))
    theka_text = field(row, "theka", str, where, "").strip()
    return Tala(
        key=key,
        name=field(row, "name", str, where),
        aliases=words(row, "aliases", where),
        matras=matras,
        vibhags=vibhags,
        marks=_read_marks(field(row, "marks", str, where), frame, where),
        theka_text=theka_text,
        theka=_read_theka(theka_text, frame, where) if theka_text else silence(Fraction(matras)),
        laya=field(row, "laya", str, where, ""),
        source=source_of(row, where, own),
        notes=notes_of(row, where),
        mukhra_starts=_read_mukhras(row, matras, where),
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


def _read_marks(text: str, frame: _Frame, where: str) -> tuple[Mark, ...]:
    marks: list[Mark] = []
    for word in text.split():
        label, _, number = word.partition("@")
        last = marks[-1].matra if marks else 0
        numbered = re.fullmatch(r"[1-9]\d{0,2}", number) is not None
        if not _LABEL.fullmatch(label) or not numbered or not last < int(number) <= frame.matras:
            raise BadData(
                f"{where}: mark '{word}' should be label@matra, in order, within {frame.matras} matras;\n"
                "labels are X for sam, 0 for khali, 2, 3, ... for the later claps."
            )
        if int(number) not in frame.vibhag_starts:
            starts = ", ".join(map(str, frame.vibhag_starts))
            raise BadData(f"{where}: mark '{word}' should stand where a vibhag begins: on {starts}.")
        marks.append(Mark(int(number), "khali" if label == "0" else "tali", label))
    if not marks or marks[0].matra != 1:
        raise BadData(f"{where}: the first mark belongs on matra 1, which is sam.")
    return tuple(marks)


def _read_mukhras(row: Mapping[str, Any], matras: int, where: str) -> tuple[tuple[str, Fraction], ...]:
    starts = []
    for each in field(row, "mukhra", list, where, []):
        if not isinstance(each, dict) or not all(isinstance(each.get(name), str) for name in ("gat", "matra")):
            raise BadData(f'{where}: a mukhra is written {{ gat = "masitkhani", matra = "12" }}, but {each!r} came.')
        try:
            matra = parse_matras(each["matra"])
        except LayakoshError as error:
            raise BadData(f"{where}: mukhra: {error}") from None
        if not 1 <= matra < matras + 1:
            raise BadData(f"{where}: a mukhra on matra {spoken(matra)} lies outside the tala's {matras} matras.")
        starts.append((each["gat"], matra))
    return tuple(starts)
