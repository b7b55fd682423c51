"""Two performances or two ragas side by side: the share of each item here and there, and how sure the difference is.

Two ragas (or a raga and a performance) are compared by drawing performances again, so the interval tells of other
performances like these. Where a side is a single performance, its phrases (or minutes of sound) are drawn again, and
the interval tells of these performances only: how they differ, not whether the two ragas or players do. See
:mod:`annotate.statistics.bootstrap`.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from annotate.archive import Archive
from annotate.errors import BadAnnotation
from annotate.labels import raga_name
from annotate.search.named import ragas_named
from annotate.statistics.bootstrap import CONFIDENCE, RESAMPLES, SEED, difference_of_shares
from annotate.statistics.counted import Of, amount_name, counted
from annotate.statistics.performances import performances_of
from annotate.statistics.shares import FEW_PERFORMANCES
from theory.errors import UnknownName

MOST_ITEMS = 300
"""Items that are told apart, those with the largest amounts; the others count together as "all else"."""
FEW_PHRASES = 30
"""With fewer phrases in a performance an interval promises more than it keeps (common practice, no source)."""
REST = "all else"


@dataclass(frozen=True)
class SideBySide:
    """Two sides compared.

    Attributes
    ----------
    rows : DataFrame
        One row per item: count_a and count_b (or sounding_s_a, sounding_s_b), share_a, share_b (0 to 1), difference
        (a minus b), low, high (of its 95 % interval; NaN where none can be given); the largest difference first.
    a, b : str
        The sides as people call them.
    drawn : str
        What was drawn again: performances, phrases or minutes.
    units_a, units_b : int
        How many of them.
    seed, resamples : int
    note : str
        What must be said of the intervals; '' if nothing.
    """

    rows: pd.DataFrame
    a: str
    b: str
    drawn: str
    units_a: int
    units_b: int
    seed: int
    resamples: int
    note: str

    def to_json(self) -> dict[str, Any]:
        """Return all but the rows as plain values."""
        names = ("a", "b", "drawn", "units_a", "units_b", "seed", "resamples", "note")
        return {**{name: getattr(self, name) for name in names}, "confidence": CONFIDENCE}


def side_by_side(
    archive: Archive,
    a: str,
    b: str,
    of: Of,
    length: int = 3,
    seed: int = SEED,
    resamples: int = RESAMPLES,
    tell: Callable[[float], None] | None = None,
) -> SideBySide:
    """Compare two performances, two ragas, or one with the other.

    Parameters
    ----------
    archive : Archive
    a, b : str
        Each the short name of a recording, or a raga.
    of, length, tell
        See :func:`annotate.statistics.counted.counted`.
    seed, resamples : int
        Of the bootstrap.

    Raises
    ------
    theory.errors.UnknownName
        A side is neither a recording nor a raga.
    BadAnnotation
        A side has nothing to count, or both are the same.
    """
    sides = []
    for side in (a, b):
        name, performances = _side(archive, side)
        rows = counted(archive, performances, of, length, tell)
        if rows["amount"].sum() <= 0:
            raise BadAnnotation(f"There is nothing to compare: '{side}' has no {_WANTED[of]}.")
        sides.append((name, rows))
    (name_a, rows_a), (name_b, rows_b) = sides
    if name_a == name_b:
        raise BadAnnotation(f"Both sides are {name_a}: name two different ones.")
    single = min(rows["recording"].nunique() for _, rows in sides) < 2
    tables = _tables(rows_a, rows_b, ["recording", "unit"] if single else ["recording"])
    difference, low, high = difference_of_shares(tables[0].to_numpy(float), tables[1].to_numpy(float), seed, resamples)
    amount = amount_name(of)
    columns: dict[str, Any] = {"item": tables[0].columns}
    for letter, table in zip("ab", tables, strict=True):
        sums = table.sum(axis=0).to_numpy(float)
        columns[f"{amount}_{letter}"] = sums.astype(int) if amount == "count" else sums
        columns[f"share_{letter}"] = sums / sums.sum()
    found = pd.DataFrame(columns | {"difference": difference, "low": low, "high": high})
    order = found["difference"].abs().sort_values(ascending=False, kind="stable").index
    drawn = ("minutes" if of == "heard" else "phrases") if single else "performances"
    units_a, units_b = len(tables[0]), len(tables[1])
    rows = found.loc[order].reset_index(drop=True)
    note = _note(drawn, min(units_a, units_b))
    return SideBySide(rows, name_a, name_b, drawn, units_a, units_b, seed, resamples, note)


_WANTED = {
    "swaras": "phrases in swaras",
    "heard": "melody that was followed, or no Sa",
    "places": "phrases in a tala",
} | dict.fromkeys(("phrases", "roles", "ngrams", "endings"), "phrases written down")


def _side(archive: Archive, side: str) -> tuple[str, pd.DataFrame]:
    every = performances_of(archive)
    if side in archive:
        return side, every[every["recording"] == side]
    held = every["raga"].unique()
    try:
        meant = ragas_named(held, side)
    except UnknownName as unknown:
        close = difflib.get_close_matches(side, every["recording"].tolist(), n=2, cutoff=0.5)
        raise UnknownName("recording or raga", side, [*close, *unknown.nearest][:4]) from None
    return raga_name(side), every[every["raga"].isin(meant)]


def _tables(rows_a: pd.DataFrame, rows_b: pd.DataFrame, unit: list[str]) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return amounts by unit and item for both sides, with the same items in the same order."""
    sums = pd.concat([rows_a, rows_b]).groupby("item")["amount"].sum().sort_values(ascending=False, kind="stable")
    items = [*sums.index[:MOST_ITEMS], *([REST] if len(sums) > MOST_ITEMS else [])]
    tables = []
    for rows in (rows_a, rows_b):
        rows = rows.assign(item=rows["item"].where(rows["item"].isin(items), REST))
        units, which = pd.factorize(pd.MultiIndex.from_frame(rows[unit]))
        table = np.zeros((len(which), len(items)))
        np.add.at(table, (units, pd.Index(items).get_indexer(rows["item"])), rows["amount"].to_numpy(float))
        tables.append(pd.DataFrame(table, columns=items))
    return tables[0], tables[1]


def _note(drawn: str, least: int) -> str:
    few = FEW_PERFORMANCES if drawn == "performances" else FEW_PHRASES
    parts = []
    if drawn != "performances":
        parts.append(f"the intervals tell of these performances only ({drawn} were drawn again)")
    if least < 2:
        parts.append("a side has a single one, so there is no interval")
    elif least < few:
        parts.append(f"a side has only {least} {drawn}: too few to trust the intervals, which are too narrow")
    return "; ".join(parts)
