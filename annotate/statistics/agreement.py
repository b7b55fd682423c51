"""How far two people agree on one recording: on the times of what they mark, and on its labels.

Conventions
-----------
* Neither is right: the measures are the same whichever is named first, but for the sign of a difference, which is the
  second minus the first.
* Two marks are of one thing when their starts lie within the tolerance (see :mod:`annotate.statistics.matching`).
* Labels are compared twice: of the things that both marked; and at every moment of the recording, where what nobody
  marked is a label too. The second says also how far they agree that something is there at all.
* Where a person's marks overlap, the one that began last counts.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from annotate.errors import BadAnnotation
from annotate.statistics.bootstrap import CONFIDENCE, RESAMPLES, SEED
from annotate.statistics.kappa import confusion, kappa, kappa_interval
from annotate.statistics.matching import pairs_within

TOLERANCE_S = 0.5
"""By default two starts within half a second are of one thing: the narrower of the two windows in use for boundaries
of sections (mir_eval's documentation of ``segment.detection``; the other is 3 s)."""
NOTHING = "(nothing)"
FEW_PAIRS = 20

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Marks:
    """What one person marked: ``rows`` with start_s, end_s (the same as the start for a moment) and label."""

    who: str
    rows: pd.DataFrame


@dataclass(frozen=True)
class Agreement:
    """How far two people agree.

    Attributes
    ----------
    a, b : str
        Who they are.
    marks_a, marks_b, pairs : int
        How many marks each made, and how many things both marked.
    tolerance_s : float
    found_by_both : float
        2 x pairs / (marks of both): the F-measure of the starts.
    boundaries_by_both : float
        The same of all limits, starts and ends alike.
    start_off_ms, end_off_ms : float
        Median of the second's time minus the first's, over the pairs.
    start_apart_ms, end_apart_ms : float
        Median distance of the two.
    start_apart_95_ms, end_apart_95_ms : float
        What 95 % of the distances do not exceed.
    labels_alike : float
        Share of the pairs with the same label.
    kappa, kappa_low, kappa_high : float
        Of the pairs' labels, with its 95 % interval.
    kappa_of_moments : float
        Of the labels at every moment.
    labels : DataFrame
        How many pairs have each two labels: label_a, label_b, pairs.
    note : str
        What must be said of small numbers; '' if nothing.
    """

    a: str
    b: str
    marks_a: int
    marks_b: int
    pairs: int
    tolerance_s: float
    found_by_both: float
    boundaries_by_both: float
    start_off_ms: float
    start_apart_ms: float
    start_apart_95_ms: float
    end_off_ms: float
    end_apart_ms: float
    end_apart_95_ms: float
    labels_alike: float
    kappa: float
    kappa_low: float
    kappa_high: float
    kappa_of_moments: float
    labels: pd.DataFrame
    seed: int
    note: str

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values; what cannot be told is None."""
        plain: dict[str, Any] = {}
        for name in self.__dataclass_fields__:
            value = getattr(self, name)
            if isinstance(value, float):
                value = None if np.isnan(value) else round(value, 6)
            plain[name] = value.to_dict("records") if isinstance(value, pd.DataFrame) else value
        return plain


def agreement(
    first: Marks,
    second: Marks,
    tolerance_s: float = TOLERANCE_S,
    end_s: float | None = None,
    seed: int = SEED,
) -> Agreement:
    """Compare what two people marked.

    Parameters
    ----------
    first, second : Marks
    tolerance_s : float
    end_s : float, optional
        End of the recording; by default of the last mark. From 0 to it labels are compared at every moment.
    seed : int
        Of the bootstrap of kappa.

    Raises
    ------
    BadAnnotation
        One of them marked nothing, or the tolerance is not above 0.
    """
    if not tolerance_s > 0:
        raise BadAnnotation(f"The tolerance is {tolerance_s} s: it must be above 0.")
    for marks in (first, second):
        if marks.rows.empty:
            raise BadAnnotation(f"'{marks.who}' marked nothing, so there is nothing to agree on.")
    one, other = (marks.rows.sort_values("start_s", kind="stable", ignore_index=True) for marks in (first, second))
    here, there = pairs_within(_times(one["start_s"]), _times(other["start_s"]), tolerance_s)
    paired_a, paired_b = one.take(here), other.take(there)
    table = confusion(paired_a["label"], paired_b["label"])
    counts = table.to_numpy(float)
    low, high = kappa_interval(counts, seed, RESAMPLES, CONFIDENCE)
    start_ms = 1000 * (_times(paired_b["start_s"]) - _times(paired_a["start_s"]))
    end_ms = 1000 * (_times(paired_b["end_s"]) - _times(paired_a["end_s"]))
    moments = labels_at_every_moment(one, other, end_s)
    by_moment = confusion(moments["label_a"], moments["label_b"], moments["length_s"].to_numpy(float))
    return Agreement(
        a=first.who,
        b=second.who,
        marks_a=len(one),
        marks_b=len(other),
        pairs=len(here),
        tolerance_s=tolerance_s,
        found_by_both=2 * len(here) / (len(one) + len(other)),
        boundaries_by_both=_boundaries_by_both(one, other, tolerance_s),
        start_off_ms=_median(start_ms),
        start_apart_ms=_median(np.abs(start_ms)),
        start_apart_95_ms=_quantile_95(np.abs(start_ms)),
        end_off_ms=_median(end_ms),
        end_apart_ms=_median(np.abs(end_ms)),
        end_apart_95_ms=_quantile_95(np.abs(end_ms)),
        labels_alike=float(np.trace(counts) / counts.sum()) if len(here) else float("nan"),
        kappa=float(kappa(counts)) if len(here) else float("nan"),
        kappa_low=low,
        kappa_high=high,
        kappa_of_moments=float(kappa(by_moment.to_numpy(float))),
        labels=_listed(table),
        seed=seed,
        note=f"only {len(here)} things marked by both: take every figure with care" if len(here) < FEW_PAIRS else "",
    )


def labels_at_every_moment(first: pd.DataFrame, second: pd.DataFrame, end_s: float | None = None) -> pd.DataFrame:
    """Return the stretches in which neither person's label changes: start_s, length_s, label_a, label_b.

    From 0 to ``end_s``, by default the end of the last mark.
    """
    limits = [_times(rows[name]) for rows in (first, second) for name in ("start_s", "end_s")]
    last_s = max(float(np.max(each)) for each in limits) if end_s is None else end_s
    edges = np.unique(np.clip(np.concatenate([*limits, [0.0, last_s]]), 0.0, last_s))
    middles = (edges[:-1] + edges[1:]) / 2
    return pd.DataFrame(
        {
            "start_s": edges[:-1],
            "length_s": np.diff(edges),
            "label_a": _labels_at(first, middles),
            "label_b": _labels_at(second, middles),
        }
    )


def _labels_at(rows: pd.DataFrame, times_s: Floats) -> list[str]:
    labels = np.full(len(times_s), NOTHING, dtype=object)
    in_order = rows.sort_values("start_s", kind="stable")
    first = np.searchsorted(times_s, _times(in_order["start_s"])).tolist()
    behind = np.searchsorted(times_s, _times(in_order["end_s"])).tolist()
    for start, end, label in zip(first, behind, in_order["label"], strict=True):
        labels[start:end] = label
    return labels.tolist()


def _boundaries_by_both(first: pd.DataFrame, second: pd.DataFrame, tolerance_s: float) -> float:
    limits = [np.unique(np.concatenate([_times(rows["start_s"]), _times(rows["end_s"])])) for rows in (first, second)]
    pairs = len(pairs_within(limits[0], limits[1], tolerance_s)[0])
    return 2 * pairs / (len(limits[0]) + len(limits[1]))


def _listed(table: pd.DataFrame) -> pd.DataFrame:
    cells = [
        (str(here), str(there), int(count))
        for here, row in table.iterrows()
        for there, count in row.items()
        if count > 0
    ]
    listed = pd.DataFrame(cells, columns=["label_a", "label_b", "pairs"])
    return listed.sort_values("pairs", ascending=False, kind="stable", ignore_index=True)


def _times(column: pd.Series) -> Floats:
    return column.to_numpy(dtype=float)


def _median(values: Floats) -> float:
    return float(np.median(values)) if len(values) else float("nan")


def _quantile_95(values: Floats) -> float:
    return float(np.quantile(values, 0.95)) if len(values) else float("nan")
