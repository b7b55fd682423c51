"""What each bol does on the two drums of the tabla.

Conventions: *bass* is the bayan (on the pakhawaj its left side), *treble* the dayan. Each side rings, is struck
dead, or is not struck. A bol is looked up in any spelling; a word of several bols is cut at its capital letters, and
where it has none ("tirakita"), into the fewest bols that make it up. Table: ``data/bols.toml``.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from typing import Any, Literal

from theory.names import find, fold, table_of_names
from theory.passage import Note, Passage
from theory.tables import field, load, one_of, source_title

Side = Literal["rings", "dead", "none"]


@dataclass(frozen=True, slots=True)
class Bol:
    """One bol: what it does on the bass and on the treble drum, and the source of that."""

    name: str
    bass: Side
    treble: Side
    source: str


@dataclass(frozen=True, slots=True)
class Stroke:
    """One bol as it is struck in a passage; onset and length in matras from the passage's start."""

    bol: Bol
    onset: Fraction
    length: Fraction


@cache
def all_bols() -> tuple[Bol, ...]:
    """Return every bol of the lexicon.

    Raises
    ------
    BadData
        When a row of ``bols.toml`` is wrong.
    """
    bols = []
    for row in load("bols")["bol"]:
        names = field(row, "names", list, "bols.toml")
        where = f"bols.toml, {', '.join(names)}"
        source = source_title(field(row, "source", str, where))
        bass, treble = _side(row, "bass", where), _side(row, "treble", where)
        bols += [Bol(name, bass, treble, source) for name in names]
    return tuple(bols)


def _side(row: Mapping[str, Any], name: str, where: str) -> Side:
    sides: tuple[Side, ...] = ("rings", "dead", "none")
    return one_of(field(row, name, str, where), sides, where)


@cache
def _table() -> dict[str, Bol]:
    return table_of_names("bol", ((bol, [bol.name]) for bol in all_bols()))


def get_bol(name: str) -> Bol:
    """Look up one bol in any usual spelling.

    Raises
    ------
    UnknownName
        When the lexicon has no such bol; offers the nearest.
    """
    return find("bol", name, _table(), {key: bol.name for key, bol in _table().items()})


def split_bols(word: str) -> tuple[str, ...]:
    """Cut a word into its bols: ``"TiRaKiTa"`` and ``"Tirakita"`` into Ti, Ra, Ki, Ta.

    Raises
    ------
    UnknownName
        When a part of the word is in no way made up of bols of the lexicon.
    """
    pieces = re.findall(r"[A-Z]?[^A-Z]+|[A-Z]", word)
    return tuple(bol.name for piece in pieces for bol in _cut(piece))


@cache
def _cut(piece: str) -> tuple[Bol, ...]:
    table = _table()
    best: list[tuple[Bol, ...] | None] = [()] + [None] * len(piece)  # the fewest bols that spell the first n letters
    for end in range(1, len(piece) + 1):
        for begin in range(end):
            before, bol = best[begin], table.get(fold(piece[begin:end]))
            if before is not None and bol is not None and (best[end] is None or len(before) + 1 < len(best[end] or ())):
                best[end] = (*before, bol)
    return best[-1] or (get_bol(piece),)


def strokes(passage: Passage) -> tuple[Stroke, ...]:
    """Return what a passage of bols does on the drums.

    Parameters
    ----------
    passage : Passage
        In bols. A note written as one word of several bols ("Gadi") shares its length among them equally.

    Returns
    -------
    tuple of Stroke
        In order. The Ta that closes a fast run (the last of TiRaKiTa) is struck dead, unlike the open Ta.

    Raises
    ------
    UnknownName
        When a bol is not in the lexicon.
    """
    closed = load("bols")["closed"]
    struck: list[Stroke] = []
    for note in passage.notes:
        names = split_bols(note.symbol)
        length = note.length / len(names)
        for place, name in enumerate(names):
            bol = get_bol(name)
            closes = name == closed["bol"] and length < closed["shorter_than_matras"] and _follows(struck, note, place)
            if closes and struck[-1].bol.name in closed["after"]:
                bol = replace(bol, treble="dead", source=source_title(closed["source"]))
            struck.append(Stroke(bol, note.onset + place * length, length))
    return tuple(struck)


def _follows(struck: list[Stroke], note: Note, place: int) -> bool:
    """Tell whether a stroke comes right after the one before it, with no silence between."""
    return bool(struck) and (place > 0 or struck[-1].onset + struck[-1].length == note.onset)
