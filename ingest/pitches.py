"""Pitch content as a stream: chroma for the course of the melody, and the partials that stand still, for the drone.

Chroma: Hann window of 0.37 s every 93 ms, gathered into the twelve pitch classes. Drone: windows of 0.74 s; over each
twelve seconds the median magnitude of every bin, so that what moves falls away; the peaks of that median spectrum,
their pitch interpolated between bins, laid on a scale of 10 cents (see `evidence`); the mean over the recording.

Conventions: signal at `decode.WORK_RATE_HZ`; chroma row ``j`` is centred on sample ``j * CHROMA_HOP``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

import numpy as np
from numpy.typing import NDArray

from ingest.decode import WORK_RATE_HZ, Samples
from ingest.evidence import DRONE_CELLS, DRONE_LOW_HZ, DRONE_OCTAVES, DRONE_STEP_CENTS
from ingest.filters import pitch_classes

CHROMA_WINDOW = 8192
CHROMA_HOP = 2048
CHROMA_HOP_S = CHROMA_HOP / WORK_RATE_HZ
DRONE_WINDOW = 16384
DRONE_HOP = 8192
DRONE_STRETCH = 32  # windows whose median is taken: 12 s
DRONE_STRETCH_LEAST = 8
LOUDNESS_POWER = 0.2  # of energy, as in `onsets`
SILENT_ENERGY = 1e-12  # 120 dB below full scale
_DRONE_BINS = int(DRONE_LOW_HZ * 2**DRONE_OCTAVES * DRONE_WINDOW / WORK_RATE_HZ) + 3


@dataclass(frozen=True)
class _Tail:
    """Samples that windows still to come need."""

    samples: Samples
    window: int
    hop: int

    def windows(self, block: Samples) -> tuple[_Tail, NDArray[np.float32]]:
        """Next tail and the windows that became whole, shape (n, window)."""
        samples = np.concatenate([self.samples, block])
        count = max(0, (len(samples) - self.window) // self.hop + 1)
        if count == 0:
            return _Tail(samples, self.window, self.hop), np.zeros((0, self.window), np.float32)
        ready = np.lib.stride_tricks.sliding_window_view(samples, self.window)[:: self.hop][:count]
        return _Tail(samples[count * self.hop :].copy(), self.window, self.hop), ready


@dataclass(frozen=True)
class PitchState:
    """What the next block needs of the blocks before it, and the drone found so far."""

    chroma_tail: _Tail
    drone_tail: _Tail
    waiting: tuple[NDArray[np.float32], ...] = ()  # spectra of the stretch under way
    drone_sum: NDArray[np.float64] = field(default_factory=lambda: np.zeros(DRONE_CELLS))
    stretches: int = 0


def pitch_start() -> PitchState:
    """State before the first block."""
    return PitchState(
        _Tail(np.zeros(CHROMA_WINDOW // 2, np.float32), CHROMA_WINDOW, CHROMA_HOP),
        _Tail(np.zeros(0, np.float32), DRONE_WINDOW, DRONE_HOP),
    )


def pitch_step(state: PitchState, block: Samples) -> tuple[PitchState, NDArray[np.float32]]:
    """Take in a block of samples.

    Returns
    -------
    PitchState
    ndarray of float32, shape (n, 12)
        Chroma rows that became ready.
    """
    chroma_tail, windows = state.chroma_tail.windows(block)
    chroma = _chroma(windows)
    drone_tail, windows = state.drone_tail.windows(block)
    waiting = [*state.waiting, *(_magnitudes(window) for window in windows)]
    total, stretches = state.drone_sum, state.stretches
    while len(waiting) >= DRONE_STRETCH:
        total, stretches = total + _steady_partials(waiting[:DRONE_STRETCH]), stretches + 1
        waiting = waiting[DRONE_STRETCH:]
    return PitchState(chroma_tail, drone_tail, tuple(waiting), total, stretches), chroma


def pitch_end(state: PitchState) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Chroma rows still owed at the end, shape (n, 12), and the drone spectrum, shape (DRONE_CELLS,)."""
    state, chroma = pitch_step(state, np.zeros(CHROMA_WINDOW // 2, np.float32))
    total, stretches, waiting = state.drone_sum, state.stretches, list(state.waiting)
    if stretches == 0 and not waiting:  # less than one window of sound
        short = state.drone_tail.samples
        waiting = [_magnitudes(np.pad(short, (0, DRONE_WINDOW - len(short))))]
    if waiting and (stretches == 0 or len(waiting) >= DRONE_STRETCH_LEAST):
        total, stretches = total + _steady_partials(waiting), stretches + 1
    return chroma, (total / max(stretches, 1)).astype(np.float32)


@cache
def _hann(length: int) -> NDArray[np.float32]:
    """Periodic Hann window whose sum is 2, so that a sine of amplitude 1 has magnitude 1."""
    hann = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(length) / length)
    return (hann * 2 / hann.sum()).astype(np.float32)


@cache
def _chroma_filter() -> NDArray[np.float32]:
    """Weights from spectrum bins to pitch classes, C first, tuned to A4 = 440 Hz; shape (bins, 12)."""
    return pitch_classes(WORK_RATE_HZ, CHROMA_WINDOW).T


def _chroma(windows: NDArray[np.float32]) -> NDArray[np.float32]:
    """Chroma of each window, each row's maximum 1 (0 in silence)."""
    import scipy.fft

    rows = np.zeros((len(windows), 12), np.float32)
    for row, window in zip(rows, windows, strict=True):
        spectrum = scipy.fft.rfft(window * _hann(CHROMA_WINDOW))
        row[:] = (spectrum.real**2 + spectrum.imag**2) @ _chroma_filter()
    peak = rows.max(axis=1, keepdims=True, initial=0.0)
    return np.divide(rows, peak, out=np.zeros_like(rows), where=peak > SILENT_ENERGY)


def _magnitudes(window: NDArray[np.float32]) -> NDArray[np.float32]:
    """Magnitudes of the bins up to a little above the drone scale's upper end."""
    import scipy.fft

    return np.abs(scipy.fft.rfft(window * _hann(DRONE_WINDOW))[:_DRONE_BINS])


def _steady_partials(spectra: list[NDArray[np.float32]]) -> NDArray[np.float64]:
    """Loudness of the peaks of the median spectrum, on the pitch scale of the drone."""
    from scipy.ndimage import median_filter

    cells = np.zeros(DRONE_CELLS)
    steady = np.median(np.stack(spectra), axis=0)
    if steady.max() < SILENT_ENERGY:
        return cells
    around = median_filter(steady, 31, mode="nearest")
    is_peak = (steady[1:-1] > steady[:-2]) & (steady[1:-1] >= steady[2:])
    is_peak &= (steady[1:-1] > 2 * around[1:-1]) & (steady[1:-1] > 1e-3 * steady.max())
    peaks = np.flatnonzero(is_peak) + 1
    left, middle, right = (np.log(steady[peaks + shift] + 1e-12) for shift in (-1, 0, 1))
    offset = 0.5 * (left - right) / np.minimum(left - 2 * middle + right, -1e-9)
    peak_hz = (peaks + offset) * WORK_RATE_HZ / DRONE_WINDOW
    cell = 1200 * np.log2(peak_hz / DRONE_LOW_HZ) / DRONE_STEP_CENTS
    loudness = steady[peaks] ** (2 * LOUDNESS_POWER)
    lower = np.floor(cell).astype(int)
    for index, share in ((lower, lower + 1 - cell), (lower + 1, cell - lower)):
        inside = (index >= 0) & (index < DRONE_CELLS)
        np.add.at(cells, index[inside], (loudness * share)[inside])
    return cells
