"""Sa from the drone.

A tanpura has a low Sa, two Sa an octave above, and one string on Pa, Ma or Ni. For each of these tunings and every
low Sa, 10 cents apart, the partials that would sound are laid out as a template; the one most like the drone spectrum
wins (cosine similarity of loudness). The pitch is then read off the octaves of Sa in the spectrum itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from ingest.evidence import DRONE_CELLS, DRONE_LOW_HZ, DRONE_STEP_CENTS, Evidence

CELLS_PER_OCTAVE = round(1200 / DRONE_STEP_CENTS)
LOWEST_SA_HZ = 110.0  # Sa is given in the octave that begins here
LOW_STRING_CELLS = 240  # low strings from 45 to 180 Hz: from a tanpura for a deep voice to one for a high voice
FIRST_STRINGS = (3 / 2, 4 / 3, 15 / 8)  # the string that is not Sa, above the low Sa: Pa, Ma, Ni
LOW_SA_GAIN, SA_PAIR_GAIN, FIRST_STRING_GAIN = 2.0, 2.0, 1.0
PARTIALS = 29
PARTIAL_FALL = 0.3  # amplitude of the h-th partial: h ** -PARTIAL_FALL; a jawari keeps the high ones alive
LOUDNESS_OF_AMPLITUDE = 0.4
BLUR_CELLS = 1.0
SAME_CLASS_CELLS = 5  # candidates nearer than 50 cents are the same one
SURE_MARGIN = 0.1  # relative margin over the runner-up at which the confidence is full
READ_OFF_CELLS = 3
FOUND_NOTHING_HZ = 146.83  # D3: a usual Sa, given with confidence 0


@dataclass(frozen=True)
class Sa:
    """The tonic.

    Parameters
    ----------
    hz : float
        Between 110 and 220 Hz. The octave is a convention and a guess: a drone does not tell which octave the lead
        calls the middle one, and for a high voice or a small flute it may lie an octave above.
    confidence : float
        0 to 1: how far the best candidate stands above the best one of another pitch class.
    """

    hz: float
    confidence: float


def sa_from_drone(evidence: Evidence) -> Sa:
    """Find Sa in the partials that stand still.

    Parameters
    ----------
    evidence : Evidence

    Returns
    -------
    Sa
        With confidence 0 when nothing stands still in the recording.

    Notes
    -----
    Taken for granted: a low string on Sa, as in the tunings Pa Sa' Sa' Sa, Ma Sa' Sa' Sa, Ni Sa' Sa' Sa (common
    practice, no source).
    """
    if evidence.drone.max(initial=0.0) <= 0:
        return Sa(FOUND_NOTHING_HZ, 0.0)
    likeness = _templates() @ _unit(evidence.drone)
    candidates = likeness.reshape(-1, LOW_STRING_CELLS).max(axis=0)
    best = int(candidates.argmax())
    half = CELLS_PER_OCTAVE // 2
    apart = np.abs((np.arange(LOW_STRING_CELLS) - best + half) % CELLS_PER_OCTAVE - half)
    runner_up = candidates[apart > SAME_CLASS_CELLS].max()
    margin = 1 - max(float(runner_up), 0.0) / max(float(candidates[best]), 1e-9)
    low_sa_hz = DRONE_LOW_HZ * 2 ** (_read_off(evidence.drone, best) / CELLS_PER_OCTAVE)
    octaves_below = np.floor(np.log2(low_sa_hz / LOWEST_SA_HZ))
    return Sa(float(low_sa_hz / 2**octaves_below), float(np.clip(margin / SURE_MARGIN, 0.0, 1.0)))


@cache
def _templates() -> NDArray[np.float32]:
    """Loudness of the partials of every tuning on every low Sa, each of unit length.

    Shape (tunings * LOW_STRING_CELLS, DRONE_CELLS); the last tuning has no string besides Sa.
    """
    rows = [_laid_out(low, first) for first in (*FIRST_STRINGS, None) for low in range(LOW_STRING_CELLS)]
    return _unit(np.stack(rows))


def _laid_out(low_sa: int, first_string: float | None) -> NDArray[np.float64]:
    """Loudness of the partials of one tuning by drone cell."""
    amplitude = np.zeros(DRONE_CELLS)
    partial = np.arange(1, PARTIALS + 1)
    strings = [(1.0, LOW_SA_GAIN), (2.0, SA_PAIR_GAIN)]
    if first_string is not None:
        strings.append((first_string, FIRST_STRING_GAIN))
    for ratio, gain in strings:
        cell = np.rint(low_sa + CELLS_PER_OCTAVE * np.log2(ratio * partial)).astype(int)
        on_scale = cell < DRONE_CELLS
        np.add.at(amplitude, cell[on_scale], gain * partial[on_scale] ** -PARTIAL_FALL)
    return amplitude**LOUDNESS_OF_AMPLITUDE


def _unit(loudness: NDArray[np.floating]) -> NDArray[np.float32]:
    """Blur by a cell, so that a mistuned string meets its template; take the mean off; scale each row to length 1."""
    from scipy.ndimage import gaussian_filter1d

    blurred = gaussian_filter1d(loudness.astype(np.float64), BLUR_CELLS, axis=-1, mode="constant")
    blurred -= blurred.mean(axis=-1, keepdims=True)
    return (blurred / np.linalg.norm(blurred, axis=-1, keepdims=True)).astype(np.float32)


def _read_off(drone: NDArray[np.float32], low_sa: int) -> float:
    """Cell of the low Sa to a fraction, from its octaves as they stand in the drone spectrum, weighted by loudness."""
    shift = np.arange(-READ_OFF_CELLS, READ_OFF_CELLS + 1)
    places = low_sa + CELLS_PER_OCTAVE * np.arange(4)[:, None] + shift
    inside = (places >= 0) & (places < DRONE_CELLS)
    weight = np.where(inside, drone[np.clip(places, 0, DRONE_CELLS - 1)], 0.0)
    return low_sa + (float((weight * shift).sum() / weight.sum()) if weight.sum() > 0 else 0.0)
