"""From a number of a statistic to the places it counts: where each instance is played, to be heard there."""

from __future__ import annotations

import pandas as pd

from annotate.archive import Archive
from annotate.statistics.counted import Of, amount_name, counted
from annotate.statistics.heard import STRETCH_S
from annotate.statistics.performances import By, performances_of, split_by

COLUMNS = ("recording", "title", "performed_on", "unit", "start_s", "end_s", "swaras", "role", "tala", "matra")


def instances(
    archive: Archive,
    raga: str,
    of: Of,
    item: str,
    *,
    length: int = 3,
    role: str | None = None,
    by: By = "",
    value: str = "",
) -> pd.DataFrame:
    """Return where an item of :func:`annotate.statistics.shares.shares` is played.

    Parameters
    ----------
    archive : Archive
    raga, of, length
        As there.
    item : str
        The item counted: a phrase, a run of swaras, a swara, a place ...
    role : str, optional
        Only phrases of this role ('' for those without).
    by, value : str
        Only the part of the split that has this value: a year, an instrument, a musician, a recording.

    Returns
    -------
    DataFrame
        One row per phrase (for ``heard``: per minute of sound, which has no swaras and no role) that holds it, in order
        of recording and time: columns :data:`COLUMNS`, and ``times`` or, for swaras, ``sounding_s``.

    Raises
    ------
    theory.errors.UnknownName
        Neither the table of ragas nor the archive has that raga.
    """
    amount = "times" if amount_name(of) == "count" else "sounding_s"
    with archive.one_look():
        performances, column = split_by(archive, performances_of(archive, raga), by)
        if column and value:
            performances = performances[performances[column[0]].astype(str) == value]
        performances = performances.drop_duplicates("recording")
        rows = counted(archive, performances, of, length)
        rows = rows[rows["item"] == item]
        sums = rows.groupby(["recording", "unit"])["amount"].sum()
        found = sums.rename(amount).reset_index()
        if found.empty:
            return pd.DataFrame(columns=[*COLUMNS, amount])
        if of == "heard":
            begins_s = found["unit"].astype(float) * STRETCH_S
            found = found.assign(start_s=begins_s, end_s=begins_s + STRETCH_S, swaras="", role="", tala="", matra=None)
        else:
            found = found.merge(_phrases(archive, found["recording"].unique().tolist()), on=["recording", "unit"])
        found = found.merge(performances[["recording", "title", "performed_on"]], on="recording")
    if role is not None and of != "heard":
        found = found[found["role"] == role]
    return found.sort_values(["recording", "start_s"], ignore_index=True)[[*COLUMNS, amount]]


def _phrases(archive: Archive, recordings: list[str]) -> pd.DataFrame:
    columns = ["recording", "phrase", "start_s", "end_s", "swaras", "role", "tala", "matra"]
    return archive.index("phrases", columns, recordings).rename(columns={"phrase": "unit"})
