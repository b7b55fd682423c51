"""Which phrases a raga is played with: how often, for how much of the time, where in the avartan.

Conventions
-----------
* A phrase is counted by its swaras one by one, whatever their rhythm: ``R m P`` and ``RmP`` are the same phrase.
* ``share_of_time`` is the phrase's sounding time over the length of that raga's performances (their recordings'
  durations; for a recording without sound, from its first section's start to its last one's end).
* The position is where a phrase starts. Matras go round, so their mean is taken on the circle: the mean of matra 16
  and matra 2 of teental is sam. It is given for the tala in which the phrase is played most.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from annotate.archive import Archive
from annotate.labels import raga_key
from theory.talas import get_tala

AHEAD_MATRAS = 1 / 8
"""A phrase that starts this little before a matra is counted on it: nobody plays exactly on the grid."""

_PHRASE = ["raga", "swaras", "role"]


def phrase_usage(archive: Archive, raga: str | None = None) -> pd.DataFrame:
    """Return the usage of every phrase over all performances of its raga.

    Parameters
    ----------
    archive : Archive
    raga : str, optional
        Only this raga (name, key or the free text it was stored under).

    Returns
    -------
    DataFrame
        One row per raga, swaras and role: count, performances (in how many it occurs), share_of_time (0 to 1),
        tala (in which it occurs most), mean_matra (from 1; NaN outside any tala), histogram (list: starts per
        matra of that tala). Most used first within a raga.
    """
    played, lengths = _played(archive, raga)
    return _summed(played, _PHRASE, lengths, ["raga"])


def usage_by_performance(archive: Archive, raga: str | None = None) -> pd.DataFrame:
    """Return the same as :func:`phrase_usage` for every performance alone; ``share_of_time`` is of that performance."""
    played, lengths = _played(archive, raga)
    usage = _summed(played, ["recording", *_PHRASE], lengths, ["raga", "recording"])
    return usage.drop(columns="performances")


def _played(archive: Archive, raga: str | None) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return all phrases with their raga, and the lengths of the performances."""
    recordings = archive.index("recordings")[["recording", "raga", "duration_s"]]
    if recordings.empty:  # pandas cannot join empty columns of Arrow strings
        return pd.DataFrame(), recordings
    sections = archive.index("sections").groupby("recording").agg(first_s=("start_s", "min"), last_s=("end_s", "max"))
    lengths = recordings.join(sections, on="recording")
    lengths["length_s"] = lengths["duration_s"].fillna(lengths["last_s"] - lengths["first_s"])
    if raga is not None:
        wanted = raga_key(raga)
        lengths = lengths[lengths["raga"].str.casefold() == wanted.casefold()]
    phrases = archive.index("phrases").drop(columns=["swaras", "raga"]).rename(columns={"symbols": "swaras"})
    phrases["sounding_s"] = phrases["end_s"] - phrases["start_s"]
    return phrases.merge(lengths[["recording", "raga"]], on="recording"), lengths


def _summed(played: pd.DataFrame, by: list[str], lengths: pd.DataFrame, per: list[str]) -> pd.DataFrame:
    columns = [*by, "count", "performances", "share_of_time", "tala", "mean_matra", "histogram"]
    if played.empty:
        return pd.DataFrame(columns=columns)
    groups = played.groupby(by, sort=True)
    usage = groups.agg(
        count=("phrase", "size"), performances=("recording", "nunique"), sounding_s=("sounding_s", "sum")
    ).reset_index()
    length_s = lengths.groupby(per)["length_s"].sum()
    whole_s = usage.set_index(per).index.map(length_s.to_dict())
    usage["share_of_time"] = usage["sounding_s"] / np.asarray(whole_s, dtype=float)
    usage = usage.merge(_positions(played, by), on=by, how="left")
    usage["tala"] = usage["tala"].fillna("")
    order = [*per, "count", "swaras"]
    usage = usage.sort_values(order, ascending=[*[True] * len(per), False, True], ignore_index=True)
    return usage[columns]


def _positions(played: pd.DataFrame, by: list[str]) -> pd.DataFrame:
    """Return tala, mean matra and histogram of every group that has a phrase inside a tala."""
    counted = played[played["matra"].notna()]
    rows = []
    for key, group in counted.groupby([*by, "tala"], sort=True):
        matras = get_tala(str(key[-1])).matras
        rows.append([*key, len(group), *_on_the_circle(group["matra"].to_numpy(float), matras)])
    found = pd.DataFrame(rows, columns=[*by, "tala", "times", "mean_matra", "histogram"])
    return found.sort_values("times", ascending=False, kind="stable").drop_duplicates(by).drop(columns="times")


def _on_the_circle(matra: np.ndarray, matras: int) -> tuple[float, list[int]]:
    turned = np.exp(2j * np.pi * (matra - 1) / matras).mean()
    mean = float(np.angle(turned) / (2 * np.pi) * matras % matras + 1) if abs(turned) > 1e-6 else float("nan")
    counted = np.floor(matra - 1 + AHEAD_MATRAS).astype(int) % matras
    return mean, np.bincount(counted, minlength=matras).tolist()
