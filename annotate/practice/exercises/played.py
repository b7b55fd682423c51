"""Tihais of an archive as the arithmetic of exercises takes them: whole on paper, in a tala, in the laya as played.

Conventions: what is asked about is what is written, not what was played. A tihai is left out where nothing of it can be
asked: without a start, a palla or a dam on paper, or outside any tala.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from annotate.archive import Archive
from annotate.practice.pieces import Piece as Played
from annotate.search.tihais import TihaiSearch, find_tihais
from theory.composing import Piece
from theory.conversion import convert
from theory.errors import LayakoshError
from theory.exercises.wishes import FASTEST, SLOWEST
from theory.notation import parse
from theory.numbers import parse_matras
from theory.passage import Passage
from theory.recognise import recognise
from theory.talas import Tala, get_tala
from theory.tihai import LandingRule, Tihai

UNKNOWN_MPM = 60
"""The laya of what was played where no grid tells it."""


@dataclass(frozen=True)
class Written:
    """A tihai that was played, as it is written.

    Attributes
    ----------
    address : str
        ``RECORDING/ROW``.
    name : str
        Whose it is, in words: "t02 of Desh, gat in teental".
    piece : Piece
        On paper; a palla that ends with a tihai of its own is a chakradar.
    per_minute : int
        The laya in which it was played, matras a minute.
    """

    address: str
    name: str
    piece: Piece
    per_minute: int

    def counted(self, rule: LandingRule) -> Written | None:
        """Return it counted by a landing rule; None where that one cannot count it."""
        piece = self.piece
        if piece.rule == rule or piece.round_dam is not None:
            return self
        other = convert(piece.tihai, piece.rule).tihai
        if other is None or not isinstance(other.palla, Passage):
            return None
        return Written(
            self.address,
            self.name,
            Piece(piece.tala, piece.start, piece.target, rule, other.palla, other.dam),
            self.per_minute,
        )


def written_in(archive: Archive, *, tala: str = "", raga: str = "") -> list[Written]:
    """Return the tihais of the whole archive that are whole on paper, in order of recording and time.

    Raises
    ------
    theory.errors.UnknownName
        There is no such tala or raga.
    """
    with archive.one_look():
        rows = find_tihais(archive, TihaiSearch(tala=tala, raga=raga))
        about = archive.index("recordings", ["recording", "title"])
    titles = dict(zip(about["recording"], about["title"], strict=True))
    return list(_all_of(rows.to_dict("records"), titles))


def written_of(pieces: Iterable[Played]) -> list[Written]:
    """Return the tihais among pieces that are whole on paper."""
    found = (_of_piece(each) for each in pieces)
    return [each for each in found if each is not None]


def _all_of(rows: Iterable[Mapping[Any, Any]], titles: Mapping[str, str]) -> Iterator[Written]:
    for row in rows:
        piece = _of_row(row)
        if piece is not None:
            slug, key = row["recording"], row["tihai"]
            laya = row["laya_matras_per_min"]
            yield Written(f"{slug}/{key}", f"{key} of {titles.get(slug) or slug}", piece, _per_minute(laya))


def _of_row(row: Mapping[Any, Any]) -> Piece | None:
    told = [row[name] for name in ("tala", "palla", "start", "dam", "target")]
    if not all(isinstance(each, str) and each for each in told):
        return None
    tala, palla, start, dam, target = told
    try:
        begin, gap, aim = (parse_matras(each) for each in (start, dam, target))
        return piece_of(get_tala(tala), parse(palla), begin, gap, aim, LandingRule(row["rule"]))
    except LayakoshError:
        return None  # a tala that is no longer known, or notation that a table from elsewhere brought


def _of_piece(played: Played) -> Written | None:
    record = played.tihai
    if record is None or record.dam is None or played.tala is None:
        return None
    piece = piece_of(played.tala, parse(record.palla), played.start, record.dam, record.target, record.rule)
    name = f"{played.key} of {played.recording.title or played.slug}"
    return Written(played.address, name, piece, _per_minute(played.per_minute))


def piece_of(tala: Tala, palla: Passage, start: Fraction, dam: Fraction, target: Fraction, rule: LandingRule) -> Piece:
    """Put a tihai together; one whose palla ends with a tihai of its own is told apart into rounds.

    Raises
    ------
    theory.errors.BadTihai
        Nobody could play it.
    """
    piece = Piece(tala, start, target, rule, palla, dam)
    piece.tihai  # noqa: B018 - it is checked when it is made
    found = recognise(palla) if rule == LandingRule.WITHIN else None
    whole = found is not None and not found.held and not found.after.length and found.passage == palla
    if found is None or not whole or found.tihai.times != piece.tihai.times:
        return piece
    inner: Tihai = found.tihai
    if not isinstance(inner.palla, Passage):
        return piece
    bol = found.before if found.before.length else None
    return Piece(tala, start, target, rule, inner.palla, inner.dam, bol, dam)


def _per_minute(laya: float | None) -> int:
    if laya is None or not math.isfinite(laya):
        return UNKNOWN_MPM
    return min(max(round(laya), SLOWEST), FASTEST)
