"""Tempo names and the schools they belong to: what vilambit, madhya and drut are in matras a minute.

Conventions: tempi are matras a minute. There is no standard: every school has its own figures, so a name is always
given with its school. Table: ``data/laya.toml``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import pairwise
from typing import Any

from theory.errors import BadData, TheoryError
from theory.numbers import parse_matras
from theory.tables import field, load, notes_of, source_of


@dataclass(frozen=True, slots=True)
class Tempo:
    """A name in a school: the one figure that the school gives it, or a range.

    Attributes
    ----------
    name : str
        "vilambit", "madhya", ...
    centre_mpm : Fraction or None
        The one figure, in matras a minute.
    from_mpm, to_mpm : Fraction or None
        The range, in matras a minute: from it on, up to and without it; None is without limit.
    """

    name: str
    centre_mpm: Fraction | None
    from_mpm: Fraction | None
    to_mpm: Fraction | None


@dataclass(frozen=True, slots=True)
class TempoSchool:
    """The tempo names of a school, slowest first, with their source."""

    key: str
    name: str
    tempi: tuple[Tempo, ...]
    source: str
    notes: str

    def name_of(self, tempo_mpm: float | Fraction) -> str:
        """Name a tempo; where the school gives single figures, by the one that is nearest by ratio.

        Raises
        ------
        TheoryError
            When the tempo is not above 0.
        """
        if not 0 < tempo_mpm < math.inf:
            raise TheoryError(f"A tempo of {tempo_mpm} matras a minute is none: give one above 0.")
        for slower, faster in pairwise(self.tempi):
            if slower.to_mpm is not None:
                slow_enough = tempo_mpm < slower.to_mpm
            else:  # below the geometric mean, squared so that it stays a fraction
                slow_enough = Fraction(tempo_mpm) ** 2 < (slower.centre_mpm or 0) * (faster.centre_mpm or 0)
            if slow_enough:
                return slower.name
        return self.tempi[-1].name


@cache
def tempo_schools() -> tuple[TempoSchool, ...]:
    """Return the schools of the table.

    Raises
    ------
    BadData
        When a row is wrong.
    """
    return tuple(_school(row) for row in load("laya")["tempo_school"])


def _school(row: Mapping[str, Any]) -> TempoSchool:
    where = f"laya.toml, tempo_school '{field(row, 'key', str, 'laya.toml')}'"
    tempi = tuple(
        Tempo(
            field(each, "name", str, where),
            _mpm(each, "centre", where),
            _mpm(each, "from", where),
            _mpm(each, "to", where),
        )
        for each in field(row, "tempo", list, where)
    )
    for slower, faster in pairwise(tempi):
        if slower.to_mpm != faster.from_mpm or (slower.to_mpm is None) != (slower.centre_mpm is not None):
            raise BadData(f"{where}: '{slower.name}' and '{faster.name}' need a centre each, or ranges that meet.")
    return TempoSchool(row["key"], field(row, "name", str, where), tempi, source_of(row, where), notes_of(row, where))


def _mpm(row: Mapping[str, Any], name: str, where: str) -> Fraction | None:
    text = field(row, name, str, where, "")
    return parse_matras(text) if text else None
