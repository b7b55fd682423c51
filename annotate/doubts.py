"""The sams that a person should listen to, most useful first.

Conventions: times are seconds from the start of the recording. A *run* is a row of doubtful sams of one section with no
sure or marked one between. Of each run only the middle one is named: once it is marked, the sams on both sides of it
are held, so that it settles most; whatever is still in doubt then shows up as shorter runs. Runs are in order of the
doubt they hold: the sum of 1 - confidence over their sams.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from annotate.grid import Grid, RecordingGrid
from theory.clock import format_clock

DOUBTFUL = 0.8
"""A tracked sam below this confidence is in doubt: on rendered concerts about one in three of them is not sam, and of
the others one in fifty."""

LAYA_CHANGE = 0.15
"""Neighbouring avartans whose lengths differ by more than this share are worth a word."""

MOST_AHEAD_S = 10.0
"""A sam is listened to from the last vibhag before it on, but from no earlier than this."""


@dataclass(frozen=True)
class Doubt:
    """A doubtful sam: where it is, where to start listening, and why.

    ``run`` counts the doubtful sams that it stands for, from ``run_start_s`` to ``run_end_s``; ``weight`` is the doubt
    they hold together, in sams.
    """

    section: str
    cycle: int
    sam_s: float
    listen_s: float
    confidence: float
    run: int
    run_start_s: float
    run_end_s: float
    weight: float
    why: str

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return asdict(self)


def doubts(grid: RecordingGrid, below: float = DOUBTFUL) -> list[Doubt]:
    """Return one doubtful sam per run, most useful first.

    Parameters
    ----------
    grid : RecordingGrid
    below : float
        The confidence, 0 to 1, below which a tracked sam is in doubt.
    """
    found = [_doubt(each, first, last) for each in grid.sections for first, last in _runs(each, below)]
    return sorted(found, key=lambda doubt: (-doubt.weight, doubt.sam_s))


def _runs(grid: Grid, below: float) -> Iterator[tuple[int, int]]:
    """Yield the first sam of each run and the one after its last."""
    tracked = np.array([source != "marked" for source in grid.sam_source], dtype=bool)
    doubtful = tracked & (grid.sam_confidence < below)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], doubtful.astype(np.int8), [0]])))
    yield from zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)


def _doubt(grid: Grid, first: int, last: int) -> Doubt:
    middle = (first + last - 1) // 2
    sam_s, cycle = float(grid.sam_s[middle]), int(grid.sam_cycle[middle])
    ahead_s = grid.time_of(cycle - 1, grid.tala.vibhag_starts[-1])
    return Doubt(
        section=grid.section,
        cycle=cycle,
        sam_s=sam_s,
        listen_s=max(0.0, ahead_s, sam_s - MOST_AHEAD_S),
        confidence=float(grid.sam_confidence[middle]),
        run=last - first,
        run_start_s=float(grid.sam_s[first]),
        run_end_s=float(grid.sam_s[last - 1]),
        weight=float((1.0 - grid.sam_confidence[first:last].astype(np.float64)).sum()),
        why=_why(grid, middle) + _stands_for(grid, first, last),
    )


def _why(grid: Grid, sam: int) -> str:
    if not grid.confidence.any():
        return "laid out evenly from the marks, no stroke bears it out"
    lengths_s = np.diff(grid.sam_s)[max(0, sam - 1) : sam + 1]
    if len(lengths_s) == 2 and abs(np.log(lengths_s[1] / lengths_s[0])) > np.log1p(LAYA_CHANGE):
        return f"the avartan before it lasts {lengths_s[0]:.1f} s, the one after {lengths_s[1]:.1f} s"
    return f"the theka of {grid.tala.name} fits about as well with sam on another matra"


def _stands_for(grid: Grid, first: int, last: int) -> str:
    if last - first == 1:
        return ""
    span = f"{format_clock(grid.sam_s[first], 1)} to {format_clock(grid.sam_s[last - 1], 1)}"
    return f"; the middle one of {last - first} in a row, {span}"
