"""Onset strength in the bands of the two drums, frame by frame, as a stream.

Method: short-time spectrum (Hann, 46 ms, every 5.8 ms) gathered into bands; the loudness of each band as energy to the
power 0.2, which needs no floor and scales with the gain as a whole; its rise over four frames (23 ms), in the treble
against the strongest of the neighbouring bands, so that a glide or a shake of the melody, which moves sideways, counts
for little; the mean of the rises over the bands of a drum.

Conventions: signal at `decode.WORK_RATE_HZ`; frame ``i`` is centred on sample ``i * HOP``. A step takes a state and a
block and gives a state and the frames that became ready, so that streaming equals batch whatever the block's size.

References
----------
S. Boeck, G. Widmer, "Maximum filter vibrato suppression for onset detection", DAFx 2013 (the comparison with the
neighbouring bands).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from ingest.decode import WORK_RATE_HZ, Samples
from ingest.filters import mel_bands

HOP = 128
HOP_S = HOP / WORK_RATE_HZ
WINDOW = 1024
LAG = 4
LOUDNESS_POWER = 0.2
BASS_HZ = (45.0, 250.0)
TREBLE_HZ = (300.0, 8000.0)
TREBLE_BANDS = 32
# The bayan's swell peaks one frame (5.8 ms) after the dayan's attack of the same stroke: measured on recorded strokes.
BASS_LATENCY = 1
SILENCE_DB = -120.0
FRAMES_AT_ONCE = 2048  # keeps the working set in the cache's reach


@dataclass(frozen=True)
class OnsetState:
    """What the next block needs of the blocks before it.

    Parameters
    ----------
    samples : ndarray of float32
        Signal from the left edge of the next frame's window on.
    bands : ndarray of float32, shape (LAG, bands)
        Loudness of the last frames, the bass bands first.
    """

    samples: Samples
    bands: NDArray[np.float32]


@dataclass(frozen=True)
class OnsetFrames:
    """Frames that became ready: raw onset strengths and level in dB below full scale, each of shape (n,).

    ``bands``, shape (n, bands), is the loudness they come from, the bass bands first; for an hour it is 100 MB, so
    whoever uses it does so block by block.
    """

    bass: NDArray[np.float32]
    treble: NDArray[np.float32]
    level_db: NDArray[np.float32]
    bands: NDArray[np.float32]


def onset_start() -> OnsetState:
    """State before the first block: half a window of silence lies before the first sample."""
    bands = sum(len(matrix) for matrix in _band_matrices())
    return OnsetState(np.zeros(WINDOW // 2, np.float32), np.zeros((LAG, bands), np.float32))


def onset_step(state: OnsetState, block: Samples) -> tuple[OnsetState, OnsetFrames]:
    """Take in a block of samples.

    Parameters
    ----------
    state : OnsetState
    block : ndarray of float32, shape (n,)

    Returns
    -------
    OnsetState
    OnsetFrames
        As many frames as have their whole window in the samples so far.
    """
    samples = np.concatenate([state.samples, block])
    count = max(0, (len(samples) - WINDOW) // HOP + 1)
    if count == 0:
        empty = np.zeros(0, np.float32)
        return OnsetState(samples, state.bands), OnsetFrames(empty, empty, empty, state.bands[:0])
    bands, level_db = _loudness(samples, count)
    bands = np.concatenate([state.bands, bands])
    bass_bands = len(_band_matrices()[0])
    bass, treble = bands[:, :bass_bands], bands[:, bass_bands:]
    frames = OnsetFrames(_mean_rise(bass, bass), _mean_rise(treble, _widest(treble)), level_db, bands[LAG:])
    return OnsetState(samples[count * HOP :].copy(), bands[count:].copy()), frames


def onset_end(state: OnsetState) -> OnsetFrames:
    """Frames still owed at the end: those whose centre lies within the signal."""
    return onset_step(state, np.zeros(WINDOW // 2, np.float32))[1]


@cache
def _band_matrices() -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Weights that gather spectrum bins into bands, for bass (every bin its own band) and for treble (mel)."""
    bin_hz = np.arange(WINDOW // 2 + 1) * WORK_RATE_HZ / WINDOW
    bass = np.eye(len(bin_hz), dtype=np.float32)[(bin_hz >= BASS_HZ[0]) & (bin_hz <= BASS_HZ[1])]
    return bass, mel_bands(WORK_RATE_HZ, WINDOW, TREBLE_BANDS, *TREBLE_HZ)


@cache
def _window() -> NDArray[np.float32]:
    """Periodic Hann window, scaled so that a sine of amplitude 1 has magnitude 1 in its bin."""
    hann = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(WINDOW) / WINDOW)
    return (hann * 2 / hann.sum()).astype(np.float32)


def _loudness(samples: Samples, count: int) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Loudness per band, shape (count, bands), and level in dB, shape (count,)."""
    import scipy.fft

    gather = np.concatenate(_band_matrices()).T
    windows = np.lib.stride_tricks.sliding_window_view(samples, WINDOW)[::HOP][:count]
    bands = np.empty((count, gather.shape[1]), np.float32)
    level_db = np.empty(count, np.float32)
    for first in range(0, count, FRAMES_AT_ONCE):
        part = slice(first, min(first + FRAMES_AT_ONCE, count))
        spectrum = scipy.fft.rfft(windows[part] * _window(), axis=1)
        energy = spectrum.real**2 + spectrum.imag**2
        bands[part] = (energy @ gather) ** LOUDNESS_POWER
        # Parseval over the Hann window: mean square of the samples = sum of bin energies / 3
        level_db[part] = 10 * np.log10(np.maximum(energy.sum(axis=1) / 3, 10 ** (SILENCE_DB / 10)))
    return bands, level_db


def _mean_rise(loudness: NDArray[np.float32], reference: NDArray[np.float32]) -> NDArray[np.float32]:
    """Mean over the bands of the rise above the reference LAG frames before; shape (n + LAG, bands) to (n,)."""
    return np.maximum(loudness[LAG:] - reference[:-LAG], 0.0).mean(axis=1, dtype=np.float32)


def _widest(loudness: NDArray[np.float32]) -> NDArray[np.float32]:
    """Largest of each band and its two neighbours."""
    widest = loudness.copy()
    np.maximum(widest[:, 1:], loudness[:, :-1], out=widest[:, 1:])
    np.maximum(widest[:, :-1], loudness[:, 1:], out=widest[:, :-1])
    return widest
