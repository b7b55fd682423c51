"""Stretches of a recording with and without tabla.

What tells them apart is that both drums strike: the rises in the bass and in the treble, squared so that strong ones
count, each averaged over some seconds, and of the two the geometric mean, since a drone plucks in the bass and a
melody in the treble. Against the recording's loudness this level lies around 0.02 without tabla and above 0.03 with
it (recorded strokes, plucked strings and drone, mixed in many balances). The border is put where, near there, the
recording itself has the fewest moments. A two-state Viterbi with a price on every change then divides the recording,
and each boundary is moved to where before and after differ most.

Where no moment rises above the border, as with a tabla far behind, two levels of the recording's own are looked for. A
judgement by balance may be wrong: sections are there to be edited.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ingest.evidence import Evidence

Levels = NDArray[np.float64]

STEP_S = 0.5
WINDOW_S = 8.0
LOUDNESS_PER_DB = 0.02  # loudness is energy to the power 0.2, as in `onsets`
LOUD_PERCENTILE = 95
USUAL_BORDER, LEAST_BORDER, MOST_BORDER = 0.028, 0.022, 0.032
FAR_BORDER_PRICE = 2.0  # density of moments that a border pays for, per squared log distance from the usual one
BLUR = 0.07  # of the density of log levels
SOFTNESS, FURTHEST = 0.15, 1.5  # log level beyond the border that counts as 1; and no more than this counts
CHANGE_PRICE = 6.0
STEPS_PER_OBSERVATION = 4  # windows overlap: so many steps say what one says
LEAST_CONTRAST = 0.35  # of the logs of two levels of the recording's own
LEAST_WITH_TABLA = 0.012
SHORTEST_S = 4.0  # what is shorter joins its neighbours
BOUNDARY_REACH_S, BOUNDARY_SIDE_S, BOUNDARY_STEP_S = 5.0, 5.0, 0.1
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
    bass, treble = _drive(evidence.bass, evidence), _drive(evidence.treble, evidence)
    logs = np.log(_level(bass, treble, evidence.hop_s))
    border = _border(logs)
    tabla = _settled((logs - border) / SOFTNESS)
    if not tabla.any() and logs.max() > np.log(LEAST_WITH_TABLA):
        tabla = _two_levels(logs)
    both = bass / max(float(bass.mean()), 1e-12) + treble / max(float(treble.mean()), 1e-12)
    changes = np.flatnonzero(np.diff(tabla)) + 1
    inner = [_boundary(both, evidence.hop_s, change * STEP_S, bool(tabla[change])) for change in changes]
    kinds = [bool(tabla[0]), *(bool(tabla[change]) for change in changes)]
    return _joined([0.0, *inner, evidence.duration_s], kinds)


def _drive(strength: NDArray[np.float32], evidence: Evidence) -> Levels:
    """Square of an onset strength against the recording's loudness, by frame."""
    loudness = 10 ** (evidence.level_db.astype(np.float64) * LOUDNESS_PER_DB)
    return (strength.astype(np.float64) / max(float(np.percentile(loudness, LOUD_PERCENTILE)), 1e-2)) ** 2


def _level(bass: Levels, treble: Levels, hop_s: float) -> Levels:
    """How hard both drums strike, every `STEP_S`."""
    from scipy.ndimage import uniform_filter1d

    window, step = max(1, round(WINDOW_S / hop_s)), max(1, round(STEP_S / hop_s))
    means = [np.maximum(uniform_filter1d(drive, window, mode="reflect"), 1e-12) for drive in (bass, treble)]
    every = slice(min(step // 2, len(bass) - 1), None, step)
    return (means[0][every] * means[1][every]) ** 0.25


def _border(logs: Levels) -> float:
    """Log level between without and with tabla."""
    candidates = np.linspace(np.log(LEAST_BORDER), np.log(MOST_BORDER), 40)
    density = np.exp(-(((candidates[:, None] - logs) / BLUR) ** 2) / 2).mean(axis=1)
    price = FAR_BORDER_PRICE * (candidates - np.log(USUAL_BORDER)) ** 2
    return float(candidates[(density + price).argmin()])


def _two_levels(logs: Levels) -> NDArray[np.bool_]:
    """Which steps lie on the upper of two levels; none when there are no two levels well apart."""
    neither = np.zeros(len(logs), dtype=bool)
    upper = logs > (logs.min() + logs.max()) / 2
    for _ in range(ROUNDS):
        if upper.all() or not upper.any():
            return neither
        low, high = logs[~upper].mean(), logs[upper].mean()
        settled = _settled((logs - (low + high) / 2) / SOFTNESS)
        if np.array_equal(settled, upper):
            return upper if high - low > LEAST_CONTRAST else neither
        upper = settled
    return neither


def _settled(above: Levels) -> NDArray[np.bool_]:
    """Viterbi over two states with `CHANGE_PRICE`, from how far above the border each step lies."""
    gain = np.clip(above, -FURTHEST, FURTHEST) / STEPS_PER_OBSERVATION
    score = np.array([-gain[0], gain[0]])
    changed = np.zeros((len(gain), 2), dtype=bool)
    for i in range(1, len(gain)):
        other = score[::-1] - CHANGE_PRICE
        changed[i] = other > score
        score = np.where(changed[i], other, score) + np.array([-gain[i], gain[i]])
    state = int(score.argmax())
    states = np.zeros(len(gain), dtype=bool)
    for i in range(len(gain) - 1, -1, -1):
        states[i] = bool(state)
        state = 1 - state if changed[i, state] else state
    return states


def _boundary(drive: Levels, hop_s: float, near_s: float, begins: bool) -> float:
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


def _joined(edges_s: list[float], kinds: list[bool]) -> list[Stretch]:
    """Stretches between the edges; one shorter than `SHORTEST_S` goes to the one before it, the first to the next."""
    joined: list[Stretch] = []
    for (start_s, end_s), kind in zip(pairwise(edges_s), kinds, strict=True):
        if joined and (end_s - start_s < SHORTEST_S or joined[-1].with_tabla == kind):
            joined[-1] = Stretch(joined[-1].start_s, max(end_s, joined[-1].end_s), joined[-1].with_tabla)
        elif joined or end_s - start_s >= SHORTEST_S or end_s == edges_s[-1]:
            joined.append(Stretch(joined[-1].end_s if joined else 0.0, end_s, kind))
    return joined
