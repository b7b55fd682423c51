"""What each bol does on the two drums of the tabla.

Conventions: *bass* is the bayan (on the pakhawaj its left side), *treble* the dayan. Each side rings, is struck
dead, or is not struck. A bol is looked up in any spelling; a word of several bols is cut at its capital letters, and
where it has none ("tirakita"), into the fewest bols that make it up. A bol that its neighbours change
(the Ta that closes TiRaKiTa, the Ti of Ti Na) is told by :func:`strokes`, which sees them. Table: ``data/bols.toml``.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from typing import Any, Literal

from theory.names import find, fold, table_of_names
from theory.passage import Note, Passage
from theory.tables import field, load, one_of, source_of, words

Side = Literal["rings", "dead", "none"]

# Rohit, Bhattacharjee, Rao, Four-way tabla stroke transcription, TISMIR 2023: what rings, of bass and treble
_CATEGORIES = {
    (True, True): "both ring",
    (False, True): "treble rings",
    (True, False): "bass rings",
    (False, False): "damped",
}


@dataclass(frozen=True, slots=True)
class Bol:
    """One bol: what it does on the bass and on the treble drum, the source of that, and its Devanagari ('' if none)."""

    name: str
    bass: Side
    treble: Side
    source: str
    devanagari: str = ""

    @property
    def category(self) -> str:
        """Which of the four sounds it makes: "both ring", "treble rings", "bass rings" or "damped"."""
        return _CATEGORIES[self.bass == "rings", self.treble == "rings"]


@dataclass(frozen=True, slots=True)
class Stroke:
    """One bol as it is struck in a passage; onset and length in matras from the passage's start."""

    bol: Bol
    onset: Fraction
    length: Fraction


@dataclass(frozen=True, slots=True)
class _Beside:
    """What a bol becomes beside certain neighbours."""

    bol: str
    after: frozenset[str]
    before: frozenset[str]
    shorter_than_matras: Fraction | None
    treble: Side
    devanagari: str
    source: str


@cache
def all_bols() -> tuple[Bol, ...]:
    """Return every bol of the lexicon.

    Raises
    ------
    BadData
        When a row of ``bols.toml`` is wrong.
    """
    bols = []
    spellings = load("bols")["devanagari"]
    for row in load("bols")["bol"]:
        names = field(row, "names", list, "bols.toml")
        where = f"bols.toml, {', '.join(names)}"
        source = source_of(row, where)
        bass, treble = _side(row, "bass", where), _side(row, "treble", where)
        bols += [Bol(name, bass, treble, source, spellings.get(name, "")) for name in names]
    return tuple(bols)


def _side(row: Mapping[str, Any], name: str, where: str) -> Side:
    sides: tuple[Side, ...] = ("rings", "dead", "none")
    return one_of(field(row, name, str, where), sides, where)


@cache
def _rules() -> tuple[_Beside, ...]:
    rules = []
    for row in load("bols")["beside"]:
        where = f"bols.toml, beside, {row['bol']}"
        limit = row.get("shorter_than_matras")
        rules.append(
            _Beside(
                bol=field(row, "bol", str, where),
                after=frozenset(words(row, "after", where)),
                before=frozenset(words(row, "before", where)),
                shorter_than_matras=None if limit is None else Fraction(limit),
                treble=_side(row, "treble", where),
                devanagari=field(row, "devanagari", str, where),
                source=source_of(row, where),
            )
        )
    return tuple(rules)


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
        In order. A bol is as its neighbours make it: the Ta that closes TiRaKiTa is dead, unlike the open Ta; the Ti of
        Ti Na rings, being Tin, unlike the Ti of TiRaKiTa.

    Raises
    ------
    UnknownName
        When a bol is not in the lexicon.
    """
    struck = [stroke for note in passage.notes for stroke in _written(note)]
    for place, stroke in enumerate(struck):
        before = struck[place - 1] if place else None
        for rule in _rules():
            if before and before.bol.name in rule.after and _applies(rule, stroke) and _touch(before, stroke):
                struck[place] = _changed(stroke, rule)
    for place in reversed(range(len(struck) - 1)):  # from the end, so that a Ti before a Ti that rings is seen to ring
        stroke, follower = struck[place], struck[place + 1]
        for rule in _rules():
            if rule.before and _applies(rule, stroke) and _touch(stroke, follower):
                same = follower.bol.name == rule.bol and follower.bol.treble == rule.treble
                if follower.bol.name in rule.before or same:
                    struck[place] = _changed(stroke, rule)
    return tuple(struck)


def _written(note: Note) -> Iterator[Stroke]:
    names = split_bols(note.symbol)
    length = note.length / len(names)
    for place, name in enumerate(names):
        yield Stroke(get_bol(name), note.onset + place * length, length)


def _applies(rule: _Beside, stroke: Stroke) -> bool:
    short = rule.shorter_than_matras is None or stroke.length < rule.shorter_than_matras
    return stroke.bol.name == rule.bol and short


def _touch(stroke: Stroke, follower: Stroke) -> bool:
    """Tell whether a stroke comes right after another, with no silence between."""
    return stroke.onset + stroke.length == follower.onset


def _changed(stroke: Stroke, rule: _Beside) -> Stroke:
    bol = replace(stroke.bol, treble=rule.treble, devanagari=rule.devanagari, source=rule.source)
    return replace(stroke, bol=bol)
