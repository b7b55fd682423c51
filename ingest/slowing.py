"""Sound played slower at the same pitch.

Aim
    A stroke must still be one stroke, at its place, at a quarter of the speed. Browsers slow down by repeating pieces
    of the waveform: measured in Chromium, every stroke is then heard twice, 54 ms apart at half speed and 120 ms at a
    quarter. The spectral stretcher used here keeps a stroke whole and within :data:`ONSET_S` of its place, tones within
    a cent (``benchmarks/slowing.py``).

Conventions
    ``speed`` is a share of the speed as played, 0.25 to 1. Stretched to more than twice its length in one step, sound
    loses its attacks, so that speeds below a half are taken in two equal steps.
"""

from __future__ import annotations

import numpy as np

from ingest.streams import Frames

SLOWEST = 0.25
CLEANEST = 0.5
"""Slower than this in one step, attacks are smeared."""
ONSET_S = 0.003
"""How far from its place, in the sound as it is played slowly, a stroke may begin."""
CONTEXT_S = 0.25
"""So much sound before and after a stretch is wanted for the stretch to be right from its first sample to its last."""

_SEED = 1  # the stretcher draws phases at random; the same stretch is to sound the same each time


def slowed(frames: Frames, rate_hz: int, speed: float) -> Frames:
    """Stretch sound in time.

    Parameters
    ----------
    frames : ndarray of float32, shape (n, channels)
    rate_hz : int
    speed : float
        From :data:`SLOWEST` to 1.

    Returns
    -------
    ndarray of float32, shape (round(n / speed), channels)
        What was sample ``k`` is at ``k / speed``. Peaks may be up to half as high again.
    """
    if not SLOWEST <= speed <= 1:
        raise ValueError(f"speed: expected {SLOWEST} to 1, got {speed}")
    if speed == 1 or not len(frames):
        return frames
    whole = round(len(frames) / speed)
    out = frames.T.copy()
    for step in (speed,) if speed >= CLEANEST else (speed**0.5, speed**0.5):
        out = _stretched(out, rate_hz, step)
    fitted: Frames = np.zeros((whole, frames.shape[1]), np.float32)
    kept = min(whole, out.shape[1])
    fitted[:kept] = out[:, :kept].T
    return fitted


def _stretched(channels: Frames, rate_hz: int, speed: float) -> Frames:
    from python_stretch import Signalsmith

    stretch = Signalsmith.Stretch(_SEED)
    stretch.preset(channels.shape[0], rate_hz)
    stretch.timeFactor = speed
    return np.asarray(stretch.process(channels), np.float32)
