"""Layakari: a passage played faster or slower than the tala, and where it must begin to end on sam.

Conventions: a ratio says how many matras of the passage go into one matra of the tala (dugun is 2), as a Fraction.
Names depend on the school: the ratio decides, and one name may stand for several. Table: ``data/laya.toml``; the
names of tempi are in :mod:`theory.tempo`.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from theory.errors import TheoryError, UnknownName
from theory.names import fold
from theory.numbers import parse_matras, spoken
from theory.passage import Note, Passage
from theory.tables import field, load, source_title
from theory.talas import Tala


@dataclass(frozen=True, slots=True)
class Laya:
    """One named ratio: its name, other names, the school it belongs to ('' where it is general), and its source."""

    name: str
    aliases: tuple[str, ...]
    ratio: Fraction
    school: str
    source: str


@cache
def all_layas() -> tuple[Laya, ...]:
    """Return every named ratio of the table.

    Raises
    ------
    BadData
        When a row is wrong.
    """
    return tuple(
        Laya(
            name=field(row, "name", str, "laya.toml"),
            aliases=tuple(field(row, "aliases", list, "laya.toml", [])),
            ratio=parse_matras(field(row, "ratio", str, "laya.toml")),
            school=field(row, "school", str, "laya.toml", ""),
            source=source_title(field(row, "source", str, "laya.toml")),
        )
        for row in load("laya")["laya"]
    )


def layas_named(name: str) -> tuple[Laya, ...]:
    """Return every ratio that goes by a name: several where schools differ, the general one first.

    Raises
    ------
    UnknownName
        When no ratio has the name.
    """
    found = tuple(laya for laya in all_layas() if fold(name) in map(fold, (laya.name, *laya.aliases)))
    if not found:
        raise UnknownName("laya", name, (), known=list(dict.fromkeys(laya.name for laya in all_layas())))
    return found


def layas_of(ratio: Fraction) -> tuple[Laya, ...]:
    """Return every name of a ratio, the general one first; none where the table has no name for it."""
    return tuple(laya for laya in all_layas() if laya.ratio == ratio)


def start_to_end_on_sam(tala: Tala, ratio: Fraction, length: Fraction | None = None) -> Fraction:
    """Return the matra to begin on so that a passage played at a ratio is over when sam comes.

    Parameters
    ----------
    tala : Tala
        The tala.
    ratio : Fraction
        Matras of the passage in one matra of the tala.
    length : Fraction, optional
        Length of the passage in its own matras; left out, one avartan of the tala.

    Returns
    -------
    Fraction
        The matra, from 1 up to, not with, M + 1. Jhaptal in tigun begins on 7 2/3.

    Raises
    ------
    TheoryError
        When the ratio is not above 0, or the length below 0.
    """
    played = Fraction(tala.matras) if length is None else length
    if ratio <= 0 or played < 0:
        raise TheoryError(
            f"A ratio of {spoken(ratio)} over {spoken(played)} matras cannot be played: give a ratio above 0."
        )
    return tala.wrap(-played / ratio)


def in_laya(passage: Passage, ratio: Fraction) -> Passage:
    """Return a passage as it lies in the matras of the tala when it is played at a ratio.

    Raises
    ------
    TheoryError
        When the ratio is not above 0.
    """
    if ratio <= 0:
        raise TheoryError(f"A ratio of {spoken(ratio)} cannot be played: give one above 0, such as 2 for dugun.")
    notes = tuple(Note(note.symbol, note.onset / ratio, note.length / ratio) for note in passage.notes)
    return Passage(passage.system, notes, passage.length / ratio)
