"""Onset strength as needles: the moments and strengths of the strokes that a row shows.

Aim
    A curve of an hour's onset strength is 100,000 numbers and reads as fog; its peaks are what a listener hears as
    strokes. The drawing gets the peaks only, in nine strengths.

Conventions
    Frame i of an onset strength lies at i * hop_s seconds. Strengths go up to 9, where 9 is the strength that one
    stroke in fifty reaches (so a single loud stroke does not make all others small). x counts columns, as in
    :mod:`dashboard.figures.fold`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from dashboard.figures.fold import Row, along

STRENGTHS = 9
LEAST = 2
_LOUD = 98.0  # percentile of the peaks that counts as the full strength
_APART_S = 0.035  # two strokes nearer than this look like one at any zoom of the page


def needles(onset_strength: NDArray[np.floating], hop_s: float) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Find the strokes of one band.

    Parameters
    ----------
    onset_strength : (n,) float
        Onset strength by frame, any unit, not negative.
    hop_s : float
        Seconds from frame to frame.

    Returns
    -------
    stroke_s : (k,) float64
        Times of the strokes in seconds, ascending.
    strength : (k,) int64
        :data:`LEAST` to :data:`STRENGTHS`; weaker ones are the ringing on of strings and drums, and are left out.
    """
    curve: NDArray[np.float64] = np.asarray(onset_strength, dtype=np.float64)
    if curve.size < 3:
        return np.empty(0), np.empty(0, dtype=np.int64)
    reach = max(1, round(_APART_S / hop_s))
    padded = np.pad(curve, reach, constant_values=-np.inf)
    before = _highest([padded[step : step + curve.size] for step in range(reach)])
    after = _highest([padded[reach + step : reach + step + curve.size] for step in range(1, reach + 1)])
    # greater than all before, at least as great as all after: of a plateau only the first frame is a peak
    is_peak = (curve > before) & (curve >= after) & (curve > 0)
    at = np.flatnonzero(is_peak)
    if at.size == 0:
        return np.empty(0), np.empty(0, dtype=np.int64)
    full = np.percentile(curve[at], _LOUD)
    strength = np.minimum(np.round(STRENGTHS * curve[at] / full), STRENGTHS).astype(np.int64)
    kept = strength >= LEAST
    return (at[kept] * hop_s).astype(np.float64), strength[kept]


def _highest(curves: list[NDArray[np.float64]]) -> NDArray[np.float64]:
    """The highest of several curves, frame by frame."""
    highest = curves[0].copy()
    for curve in curves[1:]:
        np.maximum(highest, curve, out=highest)
    return highest


def strokes_of_row(
    row: Row, span_s: tuple[float, float], stroke_s: NDArray[np.float64], strength: NDArray[np.int64], cells: int
) -> list[int]:
    """Return the strokes of a row as they travel: thousandths of a column, strength, thousandths, strength ...

    Parameters
    ----------
    row : Row
    span_s : (float, float)
        What of its time is its own.
    stroke_s, strength : ndarray, shape (k,)
        Of the whole recording.
    cells : int
        A column is drawn in so many steps: of the strokes that fall into one of them the strongest is kept.
    """
    first, last = np.searchsorted(stroke_s, span_s)
    if first == last:
        return []
    x = along(row, stroke_s[first:last])
    begins = np.flatnonzero(np.diff(np.floor(x * cells), prepend=-1.0))
    strongest = np.maximum.reduceat(strength[first:last], begins)
    flat: list[int] = np.column_stack([np.rint(1000 * x[begins]).astype(np.int64), strongest]).ravel().tolist()
    return flat
