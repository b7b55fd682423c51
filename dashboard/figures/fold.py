"""The page folded at sam, as plain data: which time lies in which row.

Aim
    One row per avartan, matra 1 at the left: from the times of the matras to rows. What runs over the rows is laid on
    them by :mod:`dashboard.figures.runs`. Drawn by ``assets/rows.mjs``; the running cursor
    folds in the same way in ``assets/fold.mjs``.

Conventions
    Times in seconds. A row is ``{stretch, label, first, t, ...}``: ``t`` holds the time of each of its columns and,
    last, the time where it ends; ``first`` is its first column, counted from 1. A column is a matra where there is a
    tala and :data:`FREE_COLUMN_S` seconds where there is none. x counts columns from the left edge, so sam is x = 0.
    Between columns the fold is linear, as the grid is between matras.
    Everything is built of dicts, lists, strings and numbers, since it travels to the browser as JSON.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from theory.talas import Tala

FREE_COLUMN_S = 5.0
FREE_COLUMNS = 4
TICKS_IN_S = 10_000
_SHORTEST_FREE_S = 1.0  # a gap shorter than this between two stretches gets no row of its own

Row = dict[str, Any]


@dataclass(frozen=True)
class Stretch:
    """A stretch of the recording with the times of its matras.

    Parameters
    ----------
    title : str
        What the page calls it ("gat, Teental").
    start_s, end_s : float
        Where it begins and ends.
    tala : Tala or None
        None for alap, talk, tuning.
    cycle, matra : (k,) int
        Avartan and matra (from 1) of each grid point; empty without a tala.
    matra_s : (k,) float
        Their times, ascending.
    """

    title: str
    start_s: float
    end_s: float
    tala: Tala | None = None
    cycle: NDArray[np.integer] = field(default_factory=lambda: np.empty(0, dtype=np.int64))
    matra: NDArray[np.integer] = field(default_factory=lambda: np.empty(0, dtype=np.int64))
    matra_s: NDArray[np.floating] = field(default_factory=lambda: np.empty(0))


def fold_rows(stretches: Sequence[Stretch], duration_s: float) -> list[Row]:
    """Cut a recording into rows, in order of time.

    Parameters
    ----------
    stretches : sequence of Stretch
        In order of time, not overlapping.
    duration_s : float
        Length of the recording; time that no avartan covers gets rows of 20 s.
    """
    rows: list[Row] = []
    now_s = 0.0
    for number, stretch in enumerate(stretches):
        avartans = _avartans(stretch, number)
        if avartans:
            # what lies in the section before its first avartan is not counted in matras
            rows += _free_rows(now_s, avartans[0]["t"][0], -1) + avartans
            now_s = avartans[-1]["t"][-1]
        else:
            rows += _free_rows(now_s, stretch.start_s, -1) + _free_rows(stretch.start_s, stretch.end_s, number)
            now_s = stretch.end_s
    return rows + _free_rows(now_s, duration_s, -1)


def place(rows: Sequence[Row], time_s: float) -> tuple[int, float] | None:
    """Fold a time: the row's index and x, or None where there is no row."""
    index = bisect_right(rows, time_s, key=lambda row: row["t"][0]) - 1
    if index < 0 or time_s > rows[index]["t"][-1]:
        return None
    t = rows[index]["t"]
    column = min(bisect_right(t, time_s), len(t) - 1) - 1
    return index, rows[index]["first"] - 1 + column + (time_s - t[column]) / (t[column + 1] - t[column])


def own_span_s(rows: Sequence[Row], index: int) -> tuple[float, float]:
    """Return from when to when a row is the one that a time folds into: its last column may reach past the next's."""
    start_s, end_s = rows[index]["t"][0], rows[index]["t"][-1]
    return start_s, end_s if index + 1 == len(rows) else min(end_s, rows[index + 1]["t"][0])


def ticks(row: Row) -> list[int]:
    """Return a row's times as they travel: tenths of a millisecond, the first one and then from one to the next."""
    counted = np.rint(np.asarray(row["t"]) * TICKS_IN_S).astype(np.int64)
    return [int(counted[0]), *np.diff(counted).tolist()]


def tala_data(tala: Tala) -> dict[str, Any]:
    """What the head of a stretch shows of its tala: vibhags, signs, theka; and a sentence for those who listen."""
    ends = [*tala.vibhag_starts[1:], tala.matras + 1]
    khali = {mark.matra for mark in tala.marks if mark.kind == "khali"}
    words = ["" for _ in range(tala.matras)]
    for note in tala.theka.notes:
        words[int(note.onset)] += note.symbol
    signs = ", ".join(f"{mark.label} ({mark.kind}) on {mark.matra}" for mark in tala.marks)
    return {
        "name": tala.name,
        "matras": tala.matras,
        "vibhags": list(tala.vibhag_starts),
        "khali": [[a, b] for a, b in zip(tala.vibhag_starts, ends, strict=True) if a in khali],
        "marks": [{"matra": mark.matra, "label": mark.label, "kind": mark.kind} for mark in tala.marks],
        "theka": [word or "–" for word in words],
        "said": f"{tala.name}, {tala.matras} matras: {signs}. Theka: {' '.join(word or '-' for word in words)}",
    }


def _avartans(stretch: Stretch, number: int) -> list[Row]:
    if stretch.tala is None or len(stretch.matra_s) < 2:
        return []
    times = np.asarray(stretch.matra_s, dtype=np.float64)
    cuts = np.flatnonzero(np.diff(stretch.cycle)) + 1
    begins, ends = [0, *cuts.tolist()], [*cuts.tolist(), len(times)]
    last_s = max(min(float(2 * times[-1] - times[-2]), stretch.end_s), float(times[-1]) + 0.01)
    rows = []
    for begin, end in zip(begins, ends, strict=True):
        close_s = float(times[end]) if end < len(times) else last_s
        cycle = int(stretch.cycle[begin])
        row = _row(number, str(cycle) if cycle > 0 else "", [*times[begin:end].tolist(), close_s])
        rows.append(row | {"first": int(stretch.matra[begin])})
    return rows


def _free_rows(start_s: float, end_s: float, number: int) -> list[Row]:
    if end_s - start_s < _SHORTEST_FREE_S:
        return []
    rows = []
    width_s = FREE_COLUMN_S * FREE_COLUMNS
    for begin_s in np.arange(start_s, end_s, width_s).tolist():
        steps = [begin_s + FREE_COLUMN_S * i for i in range(FREE_COLUMNS + 1)]
        # whole columns only, so that 5 s are equally wide everywhere: the last may reach past the stretch, where the
        # next row begins and, beginning later, is the one that the fold finds
        rows.append(
            _row(
                number,
                "",
                [steps[0], *(step for before, step in pairwise(steps) if before < end_s)],
            )
        )
    return rows


def _row(stretch: int, label: str, times: Sequence[float]) -> Row:
    runs: Row = {name: [] for name in ("pallas", "links", "landings", "aims", "phrases")}
    shown = [round(time, 4) for time in times]
    row = {"stretch": stretch, "label": label, "first": 1, "t": shown, "marked": False}
    return row | runs


def along(row: Row, times_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return how far along a row times lie, in columns (clamped to the row)."""
    t = row["t"]
    x: NDArray[np.float64] = np.interp(times_s, t, np.arange(len(t))) + row["first"] - 1
    return x


def end_of(row: Row) -> int:
    """Return the x at which a row ends."""
    return int(row["first"]) - 1 + len(row["t"]) - 1
