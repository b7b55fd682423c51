"""Shares of what is counted, over the performances of a raga, by year, instrument, musician or performance; how they
change over the years."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd

from annotate.archive import Archive
from annotate.errors import BadAnnotation
from annotate.statistics.counted import Of, amount_name, counted
from annotate.statistics.performances import By, performances_of, split_by
from theory.errors import UnknownName
from theory.ragas import get_raga

FEW_PERFORMANCES = 8
"""With fewer performances an interval promises more than it keeps; the row's ``note`` then says how many there are."""


def shares(
    archive: Archive,
    raga: str,
    of: Of,
    by: By = "",
    length: int = 3,
    tell: Callable[[float], None] | None = None,
) -> pd.DataFrame:
    """Return the share of each item in all that was counted.

    Parameters
    ----------
    archive : Archive
    raga : str
    of, length, tell
        See :func:`annotate.statistics.counted.counted`.
    by : str
        See :data:`annotate.statistics.performances.By`.

    Returns
    -------
    DataFrame
        One row per what it is split by, and item: count or sounding_s, share (0 to 1), performances (in how many it
        occurs), of_performances (that have anything counted), largest first. For swaras also ``leading``: vadi,
        samvadi or ''.

    Raises
    ------
    theory.errors.UnknownName
    """
    performances, column = split_by(archive, performances_of(archive, raga), by)
    rows = counted(archive, performances.drop_duplicates("recording"), of, length, tell)
    name = amount_name(of)
    columns = [*column, "item", name, "share", "performances", "of_performances"]
    if rows.empty:
        return _with_leading(pd.DataFrame(columns=columns), of, raga)
    extra = [each for each in column if each != "recording"]
    if extra:
        rows = rows.merge(performances[["recording", *extra]], on="recording")
    found = rows.groupby([*column, "item"]).agg(**{name: ("amount", "sum"), "performances": ("recording", "nunique")})
    found = found.reset_index()
    if column:
        found["share"] = found[name] / found.groupby(column)[name].transform("sum")
        of_performances = rows.groupby(column)["recording"].nunique().rename("of_performances").reset_index()
        found = found.merge(of_performances, on=column)
    else:
        found["share"] = found[name] / found[name].sum()
        found["of_performances"] = rows["recording"].nunique()
    if name == "count":
        found[name] = found[name].astype(int)
    found = found.sort_values([*column, name, "item"], ascending=[*[True] * len(column), False, True])
    return _with_leading(found[columns].reset_index(drop=True), of, raga)


def trends(
    archive: Archive, raga: str, of: Of, length: int = 3, tell: Callable[[float], None] | None = None
) -> pd.DataFrame:
    """Return how the share of each item changes over the years.

    The slope is the median of the slopes between all pairs of performances (Theil and Sen), which one unusual
    performance does not move, with its 95 % interval.

    Returns
    -------
    DataFrame
        One row per item: performances (with a date and anything counted), first_year, last_year, share (mean of the
        performances' shares), change_per_year (of the share), low_per_year, high_per_year, note; the largest share
        first.

    Raises
    ------
    BadAnnotation
        Fewer than three dated performances, or all in one year.

    References
    ----------
    P. K. Sen, Estimates of the regression coefficient based on Kendall's tau, J. Am. Stat. Assoc. 63, 1968
    (as in ``scipy.stats.theilslopes``).
    """
    from scipy.stats import theilslopes

    performances = performances_of(archive, raga)
    dated = performances[performances["performed_on"].notna()]
    rows = counted(archive, dated, of, length, tell)
    table = rows.pivot_table(index="recording", columns="item", values="amount", aggfunc="sum", fill_value=0.0)
    years = dated.set_index("recording")["year"].reindex(table.index).astype(float)
    if len(table) < 3 or years.nunique() < 2:
        raise BadAnnotation(
            f"A change over the years needs three dated performances of {raga} at least, in two years or more; the "
            f"archive has {len(table)} with anything to count, in {years.nunique()}."
        )
    each = table.div(table.sum(axis=1), axis=0)
    note = f"only {len(table)} performances" if len(table) < FEW_PERFORMANCES else ""
    found = []
    for item, share in each.items():
        slope = theilslopes(share.to_numpy(), years.to_numpy(), 0.95)
        found.append((item, share.mean(), slope.slope, slope.low_slope, slope.high_slope))
    trend = pd.DataFrame(found, columns=["item", "share", "change_per_year", "low_per_year", "high_per_year"])
    trend = trend.assign(
        performances=len(table), first_year=int(years.min()), last_year=int(years.max()), note=note
    ).sort_values("share", ascending=False, ignore_index=True)
    order = ["item", "performances", "first_year", "last_year", "share", *trend.columns[2:5], "note"]
    return trend[order]


def _with_leading(found: pd.DataFrame, of: Of, raga: str) -> pd.DataFrame:
    if of not in ("swaras", "heard", "endings"):
        return found
    try:
        known = get_raga(raga)
    except UnknownName:
        return found.assign(leading="")
    names = {known.samvadi: "samvadi", known.vadi: "vadi"}
    return found.assign(leading=np.array([names.get(item, "") for item in found["item"]], dtype=object))
