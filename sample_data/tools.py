"""Small tools of the synthesis: noise in a band, envelopes, placing a sound in a mix.

Every random thing comes from a seed made of the performance's seed, the instrument and the stroke's number, never from
a running generator, so that an excerpt has the same samples as the whole.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, sosfilt

RATE_HZ = 44100
Signal = NDArray[np.float32]
Wave = NDArray[np.float64]


@lru_cache(maxsize=64)
def _band(low_hz: float, high_hz: float) -> Wave:
    sos: Wave = butter(2, [low_hz, high_hz], btype="bandpass", fs=RATE_HZ, output="sos")
    return sos


def band_noise(rng: np.random.Generator, length_s: float, low_hz: float, high_hz: float) -> Wave:
    """Noise between two frequencies, RMS 1.

    Parameters
    ----------
    rng : numpy.random.Generator
    length_s : float
        Length in seconds.
    low_hz, high_hz : float
        Edges of the band.

    Returns
    -------
    ndarray of float64, shape (n,)
    """
    n = int(length_s * RATE_HZ)
    lead_in = int(0.02 * RATE_HZ)  # so that the filter has settled where the burst begins
    noise: Wave = sosfilt(_band(low_hz, high_hz), rng.standard_normal(n + lead_in))[lead_in:]
    return noise / max(float(np.sqrt(np.mean(noise**2))), 1e-12)


def release(n: int, sounding_s: float, damping_s: float) -> Wave:
    """Envelope of 1 until ``sounding_s``, then an exponential decay with time constant ``damping_s``; shape (n,)."""
    over_s = np.maximum(0.0, np.arange(n) / RATE_HZ - sounding_s)
    return np.exp(-over_s / damping_s)


def place(mix: NDArray[np.float32], sound: NDArray[np.float32], onset_s: float, gain: float = 1.0) -> None:
    """Add a sound to a mix at a time, in place; what lies outside the mix is left out.

    Parameters
    ----------
    mix, sound : ndarray of float32, shape (n,) or (n, channels)
    onset_s : float
        Where the sound's first sample goes, to the nearest sample.
    gain : float
        Linear.
    """
    first = round(onset_s * RATE_HZ)
    skip = max(0, -first)
    first = max(0, first)
    m = min(sound.shape[0] - skip, mix.shape[0] - first)
    if m > 0:
        mix[first : first + m] += np.float32(gain) * sound[skip : skip + m]


def panned(mono: Signal, pan: float) -> Signal:
    """Stereo from mono at equal power; pan from -1 (left) to 1 (right). Shape (n,) to (n, 2)."""
    angle = (pan + 1) * np.pi / 4
    return np.stack([mono * np.float32(np.cos(angle)), mono * np.float32(np.sin(angle))], axis=1)
