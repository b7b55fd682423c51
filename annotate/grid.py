"""The grid: the one thing that turns played time into tala time and back.

Conventions
-----------
* A :class:`Grid` covers one section: its tala and the time of every matra found in it, sams exact.
* A position is a pair (cycle, matra): cycles count from 1 at the first sam of the section (a part of an avartan
  before it is cycle 0), matras from 1 at sam. Between matras time is linear; before the first and after the last
  matra it goes on at the mean pace of the nearest avartan.
* The *absolute* position counts matras from the sam of cycle 1 = 0.0, so that cycle and matra follow from it by
  division.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from theory.talas import Tala


@dataclass(frozen=True, eq=False)
class Grid:
    """Tala and time in one section.

    Parameters
    ----------
    section : str
        Name of the section.
    start_s, end_s : float
        Its limits.
    tala : Tala
    cycle, matra : ndarray of int, shape (k,)
        Position of every matra, ascending.
    matra_s : ndarray of float, shape (k,)
        Its time.
    confidence : ndarray of float, shape (k,)
        0 to 1.
    sam_source : tuple of str, length c
        ``"marked"`` or ``"tracked"``, for each matra numbered 1.
    sam_confidence : ndarray of float, shape (c,)
    solo : ndarray of bool, shape (k,)
        Where the tabla has left the theka.
    """

    section: str
    start_s: float
    end_s: float
    tala: Tala
    cycle: NDArray[np.int32]
    matra: NDArray[np.int32]
    matra_s: NDArray[np.float64]
    confidence: NDArray[np.float32]
    sam_source: tuple[str, ...]
    sam_confidence: NDArray[np.float32]
    solo: NDArray[np.bool_]

    @cached_property
    def sam_s(self) -> NDArray[np.float64]:
        """Times of the sams, shape (c,)."""
        return self.matra_s[self.matra == 1]

    @cached_property
    def sam_cycle(self) -> NDArray[np.int32]:
        """The cycle that each sam opens, shape (c,)."""
        return self.cycle[self.matra == 1]

    @cached_property
    def absolute_matras(self) -> NDArray[np.float64]:
        """Absolute position of every matra."""
        return (self.cycle.astype(np.float64) - 1.0) * self.tala.matras + self.matra - 1.0

    def absolute(self, times_s: ArrayLike) -> NDArray[np.float64]:
        """Return the absolute positions of times, in matras from the sam of cycle 1 (see the module's conventions)."""
        wanted = np.asarray(times_s, dtype=np.float64)
        times, positions = self.matra_s, self.absolute_matras
        found = np.interp(wanted, times, positions)
        found = np.where(wanted < times[0], positions[0] - (times[0] - wanted) / self._first_length_s, found)
        return np.where(wanted > times[-1], positions[-1] + (wanted - times[-1]) / self._last_length_s, found)

    def split(self, absolute: float) -> tuple[int, float]:
        """Return cycle and matra of an absolute position."""
        cycle = int(np.floor(absolute / self.tala.matras))
        return cycle + 1, absolute - cycle * self.tala.matras + 1.0

    def position(self, time_s: float) -> tuple[int, float]:
        """Return the cycle and the matra (1 <= matra < matras + 1) that a time falls on."""
        return self.split(float(self.absolute(time_s)))

    def time_of(self, cycle: int, matra: Fraction | float) -> float:
        """Return the time of a position, in seconds. The matra may lie outside 1 ... matras: it is counted on."""
        wanted = (cycle - 1) * self.tala.matras + float(matra) - 1.0
        times, positions = self.matra_s, self.absolute_matras
        if wanted < positions[0]:
            return float(times[0] - (positions[0] - wanted) * self._first_length_s)
        if wanted > positions[-1]:
            return float(times[-1] + (wanted - positions[-1]) * self._last_length_s)
        return float(np.interp(wanted, positions, times))

    def matra_length_s(self, time_s: float) -> float:
        """Return the length of the matra that a time falls in, in seconds."""
        after = int(np.searchsorted(self.matra_s, time_s, side="right"))
        if after == 0:
            return self._first_length_s
        if after == len(self.matra_s):
            return self._last_length_s
        gap_s = self.matra_s[after] - self.matra_s[after - 1]
        return float(gap_s / (self.absolute_matras[after] - self.absolute_matras[after - 1]))

    def nearest_occurrence(self, time_s: float, target: Fraction) -> tuple[int, float]:
        """Return the cycle and the time at which the matra ``target`` comes nearest to a time."""
        absolute = float(self.absolute(time_s))
        middle = round((absolute - float(target) + 1.0) / self.tala.matras) + 1
        candidates = [(cycle, self.time_of(cycle, target)) for cycle in (middle - 1, middle, middle + 1)]
        return min(candidates, key=lambda each: abs(each[1] - time_s))

    @cached_property
    def _first_length_s(self) -> float:
        last = min(self.tala.matras, len(self.matra_s) - 1)
        return self._pace_s(0, last)

    @cached_property
    def _last_length_s(self) -> float:
        last = len(self.matra_s) - 1
        return self._pace_s(max(0, last - self.tala.matras), last)

    def _pace_s(self, first: int, last: int) -> float:
        span_s = self.matra_s[last] - self.matra_s[first]
        return float(span_s / (self.absolute_matras[last] - self.absolute_matras[first]))


@dataclass(frozen=True, eq=False)
class RecordingGrid:
    """The grids of all sections with a tala in which one was found, in order of time."""

    sections: tuple[Grid, ...]
    digests: Mapping[str, str] = field(default_factory=dict, repr=False)
    """What each section's grid follows from (see :mod:`annotate.grid_store`); sections without a grid included."""

    def at(self, time_s: float, slack_s: float = 0.0) -> Grid | None:
        """Return the grid of the section that a time falls in (the later one where two touch), or None.

        ``slack_s`` lets a time fall that much outside, for a landing on the last sam.
        """
        inside = [each for each in self.sections if each.start_s <= time_s <= each.end_s]
        if inside:
            return inside[-1]
        near = [(max(each.start_s - time_s, time_s - each.end_s), index) for index, each in enumerate(self.sections)]
        distance_s, index = min(near, default=(np.inf, 0))
        return self.sections[index] if distance_s <= slack_s else None

    def rows(self) -> pd.DataFrame:
        """Return one row per matra: section, cycle, matra, matra_s, confidence."""
        parts = [
            pd.DataFrame(
                {
                    "section": each.section,
                    "cycle": each.cycle,
                    "matra": each.matra,
                    "matra_s": each.matra_s,
                    "confidence": each.confidence,
                }
            )
            for each in self.sections
        ]
        columns = ["section", "cycle", "matra", "matra_s", "confidence"]
        return pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=columns)

    def sams(self) -> pd.DataFrame:
        """Return one row per sam: section, cycle, sam_s, source (marked or tracked), confidence."""
        parts = [
            pd.DataFrame(
                {
                    "section": each.section,
                    "cycle": each.sam_cycle,
                    "sam_s": each.sam_s,
                    "source": list(each.sam_source),
                    "confidence": each.sam_confidence,
                }
            )
            for each in self.sections
        ]
        columns = ["section", "cycle", "sam_s", "source", "confidence"]
        return pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=columns)
