"""The performances that statistics are taken over: raga, year, instrument, musicians, length."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

import pandas as pd

from annotate.archive import Archive
from annotate.search.named import ragas_named

By = Literal["", "year", "instrument", "musician", "performance"]
"""What statistics of a raga are split by; '' for all performances together."""

COLUMN_OF: dict[str, str] = {"year": "year", "instrument": "instrument", "musician": "musician"} | {
    "performance": "recording"
}
"""The column that a statistic split by it has."""


_READ = ("recording", "title", "raga", "performed_on", "lead", "musicians", "duration_s")


def performances_of(archive: Archive, raga: str | None = None) -> pd.DataFrame:
    """Return the performances of a raga, those that name none (''), or all (None).

    Returns
    -------
    DataFrame
        One row per recording: recording, title, raga, performed_on, year (missing where the day is), instrument (the
        lead; where none is named, that of the musician named first), length_s (of the sound; without sound, from the
        first section's start to the last one's end).

    Raises
    ------
    theory.errors.UnknownName
        Neither the table of ragas nor the archive has that raga; offers the nearest.
    """
    rows = archive.index("recordings", _READ)
    if raga is not None:
        meant = ragas_named(rows["raga"].dropna().unique(), raga) if raga else [""]
        rows = rows[rows["raga"].isin(meant)]
    length_s = rows["duration_s"].astype(float)
    if length_s.isna().any():
        sections = archive.index("sections", ["recording", "start_s", "end_s"], rows["recording"][length_s.isna()])
        limits = sections.groupby("recording").agg(first_s=("start_s", "min"), last_s=("end_s", "max"))
        length_s = length_s.fillna(rows["recording"].map((limits["last_s"] - limits["first_s"]).to_dict()))
    days = pd.to_datetime(rows["performed_on"])
    return pd.DataFrame(
        {
            "recording": rows["recording"],
            "title": rows["title"],
            "raga": rows["raga"].fillna(""),
            "performed_on": days,
            "year": days.dt.year.astype("Int64"),
            "instrument": rows["lead"].replace("", None).fillna(rows["musicians"].map(_first_part)).fillna(""),
            "length_s": length_s,
        }
    ).reset_index(drop=True)


def _first_part(musicians: Sequence[Mapping[str, str]] | None) -> str:
    return musicians[0]["role"] if musicians is not None and len(musicians) else ""


def musicians_of(archive: Archive) -> pd.DataFrame:
    """Return who played in which performance, one row per recording and musician: recording, musician, part."""
    rows = archive.index("recordings", ["recording", "musicians"])
    listed = [
        (slug, each["name"], each["role"])
        for slug, musicians in zip(rows["recording"], rows["musicians"], strict=True)
        if musicians is not None
        for each in musicians
    ]
    return pd.DataFrame(listed, columns=["recording", "musician", "part"]).drop_duplicates(["recording", "musician"])


def split_by(archive: Archive, performances: pd.DataFrame, by: By) -> tuple[pd.DataFrame, list[str]]:
    """Return the performances with the column they are split by, and its name in a list (empty for no split).

    A performance by several musicians counts for each of them; one whose year or instrument is not known counts in
    neither.
    """
    if not by:
        return performances, []
    column = COLUMN_OF[by]
    if by == "musician":
        performances = performances.merge(musicians_of(archive), on="recording")
    known = performances[column].notna() & (performances[column] != "").fillna(False)
    return performances[known.astype(bool)], [column]
