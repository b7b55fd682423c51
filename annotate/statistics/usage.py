"""Which phrases a raga is played with: how often, for how much of the time, where in the avartan.

Conventions
-----------
* A phrase is counted by its swaras one by one, whatever their rhythm: ``R m P`` and ``RmP`` are the same phrase.
* ``share_of_phrases`` is of all phrases of that raga (and year, instrument ...); ``share_of_time`` is the phrase's
  sounding time over the length of those performances (see :mod:`annotate.statistics.performances`).
* The position is where a phrase starts. Matras go round, so their mean is taken on the circle: the mean of matra 16
  and matra 2 of teental is sam. It is given for the tala in which the phrase is played most.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from annotate.archive import Archive
from annotate.search.phrases import AHEAD_MATRAS
from annotate.statistics.performances import By, performances_of, split_by
from theory.errors import UnknownName
from theory.talas import get_tala

_READ = ("recording", "phrase", "role", "tala", "matra", "symbols", "start_s", "end_s")
_PHRASE = ["swaras", "role"]
_FOUND = ["count", "performances", "share_of_time", "tala", "mean_matra", "histogram", "share_of_phrases"]


def ragas_played(archive: Archive) -> pd.Series:
    """Return how many phrases each raga has, the most first: a Series of counts by the raga's key or text."""
    counts = archive.index("phrases", ["raga"])["raga"].value_counts()
    return counts.sort_index().sort_values(ascending=False, kind="stable")


def phrase_usage(archive: Archive, raga: str | None = None, by: By = "") -> pd.DataFrame:
    """Return the usage of every phrase over all performances of its raga.

    Parameters
    ----------
    archive : Archive
    raga : str, optional
        Only this raga (name, key or the free text it was stored under).
    by : "", "year", "instrument", "musician" or "performance"
        Split by it; see :func:`annotate.statistics.performances.split_by`.

    Returns
    -------
    DataFrame
        One row per raga, what it is split by, swaras and role: count, performances (in how many it occurs),
        share_of_time and share_of_phrases (0 to 1), tala (in which it occurs most), mean_matra (from 1; NaN outside
        any tala), histogram (list: starts per matra of that tala). Most used first within a raga.

    Raises
    ------
    theory.errors.UnknownName
        Neither the table of ragas nor the archive has that raga.
    """
    with archive.one_look():
        performances, column = split_by(archive, performances_of(archive, raga), by)
        return _summed(_played(archive, performances, column), ["raga", *column], performances)


def usage_by_performance(archive: Archive, raga: str | None = None) -> pd.DataFrame:
    """Return the same as :func:`phrase_usage` for every performance alone; ``share_of_time`` is of that performance."""
    usage = phrase_usage(archive, raga, "performance")
    first = ["recording", "raga"]
    return usage[[*first, *(name for name in usage if name not in (*first, "performances"))]]


def positions(archive: Archive, raga: str | None = None, by: By = "") -> pd.DataFrame:
    """Return where in the avartan phrases start, by role.

    Returns
    -------
    DataFrame
        One row per raga, what it is split by, tala, role and matra on which any start: count, share (of the phrases
        of that role in that tala, 0 to 1), performances.
    """
    performances, column = split_by(archive, performances_of(archive, raga), by)
    played = placed(_played(archive, performances, column))
    keys = ["raga", *column, "tala", "role"]
    if played.empty:
        return pd.DataFrame(columns=[*keys, "matra", "count", "share", "performances"])
    groups = played.assign(matra=played["place"] + 1).groupby([*keys, "matra"])
    found = groups.agg(count=("phrase", "size"), performances=("recording", "nunique")).reset_index()
    found["share"] = found["count"] / found.groupby(keys)["count"].transform("sum")
    return found[[*keys, "matra", "count", "share", "performances"]]


def _played(archive: Archive, performances: pd.DataFrame, column: list[str]) -> pd.DataFrame:
    """Return the phrases of the performances, with what they are split by."""
    phrases = archive.index("phrases", _READ, performances["recording"].unique())
    kept = phrases[["recording", "phrase", "role", "tala", "matra"]].assign(
        swaras=phrases["symbols"], sounding_s=phrases["end_s"] - phrases["start_s"]
    )
    if kept.empty:  # pandas cannot join empty columns of Arrow strings
        return kept.assign(**{name: pd.Series(dtype=object) for name in ("raga", *column)})
    extra = [name for name in ("raga", *column) if name != "recording"]
    return kept.merge(performances[["recording", *extra]], on="recording")


def _summed(played: pd.DataFrame, per: list[str], performances: pd.DataFrame) -> pd.DataFrame:
    by = [*per, *_PHRASE]
    if played.empty:
        return pd.DataFrame(columns=[*by, *_FOUND])
    groups = played.groupby(by, sort=True)
    usage = groups.agg(
        count=("phrase", "size"), performances=("recording", "nunique"), sounding_s=("sounding_s", "sum")
    ).reset_index()
    lengths = performances.groupby(per)["length_s"].sum().rename("whole_s").reset_index()
    usage = usage.merge(lengths, on=per, how="left")
    usage["share_of_time"] = usage["sounding_s"] / usage["whole_s"].astype(float)
    usage["share_of_phrases"] = usage["count"] / usage.groupby(per)["count"].transform("sum")
    usage = usage.merge(_positions(placed(played), by), on=by, how="left")
    usage["tala"] = usage["tala"].fillna("")
    order = [*per, "count", "swaras"]
    usage = usage.sort_values(order, ascending=[*[True] * len(per), False, True], ignore_index=True)
    return usage[[*by, *_FOUND]]


def placed(played: pd.DataFrame) -> pd.DataFrame:
    """Return the phrases that start in a tala known here, with its ``matras`` and the ``place`` counted on (from 0)."""
    inside = played[played["matra"].notna()]
    matras = inside["tala"].map({tala: _matras(tala) for tala in inside["tala"].unique()})
    inside = inside[matras.notna()].assign(matras=matras.dropna().astype(int))
    place = np.floor(inside["matra"] - 1 + AHEAD_MATRAS).astype(int) % inside["matras"]
    return inside.assign(place=place)


def _matras(tala: str) -> int | None:
    try:
        return get_tala(tala).matras
    except UnknownName:  # a tala of one's own whose file is gone
        return None


def _positions(placed: pd.DataFrame, by: list[str]) -> pd.DataFrame:
    """Return tala, mean matra and histogram of every group that has a phrase inside a tala."""
    turned = 2 * np.pi * (placed["matra"] - 1) / placed["matras"]
    turns = placed.assign(cosine=np.cos(turned), sine=np.sin(turned)).groupby([*by, "tala", "matras"], sort=True)
    found = turns.agg(times=("phrase", "size"), cosine=("cosine", "mean"), sine=("sine", "mean")).reset_index()
    found = found.sort_values("times", ascending=False, kind="stable").drop_duplicates(by).reset_index(drop=True)
    around = np.arctan2(found["sine"], found["cosine"]) / (2 * np.pi) * found["matras"] % found["matras"] + 1
    found["mean_matra"] = around.where(np.hypot(found["cosine"], found["sine"]) > 1e-6)
    ends = np.cumsum(found["matras"].to_numpy(int)) if len(found) else np.zeros(0, int)
    starts = ends - found["matras"].to_numpy(int)
    inside = placed.merge(found[[*by, "tala"]].assign(first=starts), on=[*by, "tala"]) if len(found) else placed
    cells = inside["first"] + inside["place"] if len(found) else pd.Series(dtype=int)
    counted = np.bincount(cells.to_numpy(int), minlength=int(ends[-1]) if len(ends) else 0)
    found["histogram"] = [counted[first:last].tolist() for first, last in zip(starts, ends, strict=True)]
    return found[[*by, "tala", "mean_matra", "histogram"]]
