"""Stretches of a recording with and without tabla.

What tells them apart is the bayan: the sharp rises in the bass, squared so that strong strokes count and a drone's
plucks hardly do. Over windows of some seconds this has two levels in a recording with both kinds; a two-state Viterbi
with a price on every change finds them, and each boundary is then put where the contrast before and after is largest.

Recordings of one kind only are judged by the level itself, which depends on the music's balance and may be wrong:
sections are there to be edited.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ingest.evidence import Evidence

STEP_S = 0.5
BLUR_S = 2.5  # standard deviation of the Gaussian window
LOUDNESS_PER_DB = 0.02  # loudness is energy to the power 0.2, as in `onsets`
CHANGE_PRICE = 9.0
INDEPENDENT_STEPS = 4  # steps of half a second per independent observation, as the windows overlap
LEAST_CONTRAST = 0.3  # difference of the two levels' logarithms; less is one level
ONE_LEVEL_WITH_TABLA = 1.8e-3  # measured on mixes of recorded strokes, plucked strings and drone
SHORTEST_S = 4.0  # what is shorter joins its neighbours
BOUNDARY_REACH_S, BOUNDARY_SIDE_S, BOUNDARY_STEP_S = 3.0, 4.0, 0.1
ROUNDS = 12


@dataclass(frozen=True)
class Stretch:
    """A stretch of the recording, seconds from its start."""

    start_s: float
    end_s: float
    with_tabla: bool


def stretches(evidence: Evidence) -> list[Stretch]:
    """Divide a recording into stretches with and without tabla.

    Parameters
    ----------
    evidence : Evidence

    Returns
    -------
    list of Stretch
        In order, without gaps, from 0 to the recording's end; neighbours differ.
    """
    from scipy.ndimage import gaussian_filter1d

    hop_s, duration_s = evidence.hop_s, evidence.duration_s
    drive = _bass_drive(evidence)
    step = max(1, round(STEP_S / hop_s))
    level = gaussian_filter1d(drive, BLUR_S / hop_s)[step // 2 :: step]
    if len(level) < 2:
        level = np.array([drive.mean() if len(drive) else 0.0])
    logs = np.log(level + np.median(level) + 1e-9)
    tabla, contrast = _two_levels(logs)
    if contrast < LEAST_CONTRAST:
        return [Stretch(0.0, duration_s, bool(np.median(level) > ONE_LEVEL_WITH_TABLA))]
    changes = np.flatnonzero(np.diff(tabla.astype(int))) + 1
    edges_s = [0.0, *(_boundary(drive, hop_s, change * STEP_S, bool(tabla[change])) for change in changes), duration_s]
    kinds = [bool(tabla[0]), *(bool(tabla[change]) for change in changes)]
    joined: list[Stretch] = []
    for start, end, kind in zip(edges_s, edges_s[1:], kinds, strict=False):
        if joined and (end - start < SHORTEST_S or joined[-1].with_tabla == kind):
            joined[-1] = Stretch(joined[-1].start_s, float(end), joined[-1].with_tabla)
        elif not joined and end - start < SHORTEST_S < duration_s:
            continue
        else:
            joined.append(Stretch(joined[-1].end_s if joined else 0.0, float(end), kind))
    return joined


def _bass_drive(evidence: Evidence) -> NDArray[np.float64]:
    """Square of the bass onset strength against the recording's loudness, by frame."""
    loudness = 10 ** (evidence.level_db.astype(np.float64) * LOUDNESS_PER_DB)
    return (evidence.bass.astype(np.float64) / max(float(np.median(loudness)), 1e-2)) ** 2


def _two_levels(logs: NDArray[np.float64]) -> tuple[NDArray[np.bool_], float]:
    """Which steps lie on the upper of two levels, and how far apart the levels are."""
    upper = logs > (logs.min() + logs.max()) / 2
    for _ in range(ROUNDS):
        if upper.all() or not upper.any():
            return upper, 0.0
        means = np.array([logs[~upper].mean(), logs[upper].mean()])
        spread = np.sqrt(np.mean((logs - means[upper.astype(int)]) ** 2) + 0.01)
        fit = -(((logs[:, None] - means) / spread) ** 2) / (2 * INDEPENDENT_STEPS)
        settled = _cheapest(fit)
        if np.array_equal(settled, upper):
            break
        upper = settled
    if upper.all() or not upper.any():
        return upper, 0.0
    return upper, float(logs[upper].mean() - logs[~upper].mean())


def _cheapest(fit: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Viterbi over two states with `CHANGE_PRICE`; ``fit`` has shape (n, 2)."""
    score = fit[0].copy()
    changed = np.zeros(fit.shape, dtype=bool)
    for i in range(1, len(fit)):
        other = score[::-1] - CHANGE_PRICE
        changed[i] = other > score
        score = np.where(changed[i], other, score) + fit[i]
    state = int(score.argmax())
    states = np.zeros(len(fit), dtype=bool)
    for i in range(len(fit) - 1, -1, -1):
        states[i] = bool(state)
        if changed[i, state]:
            state = 1 - state
    return states


def _boundary(drive: NDArray[np.float64], hop_s: float, near_s: float, begins: bool) -> float:
    """Time near ``near_s`` at which the drive before and after differ most."""
    total = np.concatenate([[0.0], np.cumsum(drive)])
    side = round(BOUNDARY_SIDE_S / hop_s)
    times_s = np.arange(max(0.0, near_s - BOUNDARY_REACH_S), near_s + BOUNDARY_REACH_S, BOUNDARY_STEP_S)
    frame = np.clip(np.rint(times_s / hop_s).astype(int), 0, len(drive))
    low, high = np.clip(frame - side, 0, len(drive)), np.clip(frame + side, 0, len(drive))
    before = (total[frame] - total[low]) / np.maximum(frame - low, 1)
    after = (total[high] - total[frame]) / np.maximum(high - frame, 1)
    contrast = after - before if begins else before - after
    return float(times_s[contrast.argmax()])
