"""Naming the kind of a tihai as musicians do, with the definition used and whose it is.

Conventions: one tihai may bear several names, and sources differ. tablalegacy.com draws the line between bedam and
damdar at half a matra of pause and counts the stroke that closes the palla as part of the pause; Courtney counts it to
the palla and calls any gap a dam. Both are given. Table: ``data/kinds.toml``.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from theory.chakradar import chakradar_kind, dhas_of
from theory.tables import field, load, source_title
from theory.talas import Tala
from theory.tihai import LandingRule, Tihai, kind_of, landing_offset

HALF, QUARTER = Fraction(1, 2), Fraction(1, 4)


@dataclass(frozen=True, slots=True)
class Kind:
    """One name for a tihai: its key, the name itself, what it means, by whom in short, and the source in full."""

    key: str
    name: str
    meaning: str
    by: str
    source: str

    @property
    def sentence(self) -> str:
        """The name, by whom, and the definition, one line."""
        return f"{self.name[0].upper()}{self.name[1:]} ({self.by}): {self.meaning}."

    def to_json(self) -> dict[str, str]:
        """Return it as a row for JSON."""
        return {"kind": self.key, "name": self.name, "meaning": self.meaning, "by": self.by, "source": self.source}


@cache
def all_kinds() -> dict[str, Kind]:
    """Return every kind of the table, by key.

    Raises
    ------
    BadData
        When a row is wrong.
    """
    rows = (
        {name: field(row, name, str, "kinds.toml") for name in ("key", "name", "meaning", "by", "source")}
        for row in load("kinds")["kind"]
    )
    return {row["key"]: Kind(**{**row, "source": source_title(row["source"])}) for row in rows}


def kinds_of(
    tala: Tala, start: Fraction, tihai: Tihai, rule: LandingRule, target: Fraction = Fraction(1)
) -> tuple[Kind, ...]:
    """Name a tihai by all the definitions that fit it.

    Parameters
    ----------
    tala, start, tihai, rule, target
        As for :func:`theory.paper.check`. Names that tell where it ends are given only when it lands.

    Returns
    -------
    tuple of Kind
        What it is built like first, then its dam, then its landing.
    """
    lands = (start + landing_offset(tihai, rule) - target) % tala.matras == 0
    keys = [*_build(tala, start, tihai, rule, target), *_dam(tihai, rule), *(_landing(tala, target) if lands else ())]
    return tuple(all_kinds()[key] for key in keys)


def _build(tala: Tala, start: Fraction, tihai: Tihai, rule: LandingRule, target: Fraction) -> list[str]:
    kind = kind_of(tihai)
    if kind not in ("nauhakka", "chakradar"):
        return []
    by_hits = chakradar_kind(tala, dhas_of(tihai, rule, start), target)
    if kind == "chakradar":
        return ["chakradar", by_hits] if by_hits else ["chakradar"]
    nine = isinstance(tihai.palla, Tihai) and tihai.times == tihai.palla.times == 3
    return [*(["nauhakka"] if nine else []), *([by_hits] if by_hits in ("farmaishi", "kamali") else [])]


def _dam(tihai: Tihai, rule: LandingRule) -> list[str]:
    """Name the dam as counted, then, of plain pallas, by the pause from the closing stroke to the next palla."""
    closing = tihai.palla.length - tihai.palla.last_onset if rule == LandingRule.WITHIN else Fraction(0)
    pause = tihai.dam + closing
    by_half = "ati_bedam" if 0 < pause <= QUARTER else "bedam_half" if pause <= HALF else "damdar_half"
    filled = tihai.filler is not None and bool(tihai.filler.notes)
    plain = kind_of(tihai) not in ("nauhakka", "chakradar")
    return [
        "damdar" if tihai.dam else "bedam",
        *([by_half] if plain else []),
        *(["filled"] if filled else []),
    ]


def _landing(tala: Tala, target: Fraction) -> list[str]:
    """Name a landing elsewhere than on sam: on the mukhra, or within the vibhag before or behind sam."""
    if target == 1:
        return []
    if any(matra == target for _, matra in tala.mukhra_starts):
        return ["mukhra"]
    if target >= tala.vibhag_starts[-1]:
        return ["anagat"]
    return ["atit"] if target < 1 + tala.vibhags[0] else []
