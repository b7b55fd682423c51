"""Applause: many pairs of hands, each with a sound, a pace and a seat of its own.

A clap is a short burst of noise in the band that its cupped or flat hands favour.
"""

from __future__ import annotations

import numpy as np

from sample_data.tools import RATE_HZ, Signal, band_noise, panned, place

CLAP_S = 0.05
SWELL_S, DYING_S = 1.0, 2.5


def applause(seconds: float, people: int, rng: np.random.Generator) -> Signal:
    """Some seconds of applause, stereo, shape (n, 2), RMS about 0.1 where it is loudest."""
    out = np.zeros((int((seconds + 0.3) * RATE_HZ), 2), np.float32)
    for _ in range(people):
        low_hz = float(np.exp(rng.uniform(np.log(400), np.log(1600))))
        clap = band_noise(rng, CLAP_S, low_hz, low_hz * float(rng.uniform(1.8, 4.0)))
        clap *= np.exp(-np.arange(clap.size) / RATE_HZ / float(rng.uniform(0.003, 0.010)))
        seat = panned(clap.astype(np.float32), float(rng.uniform(-1, 1)))
        gap_s, near = float(rng.uniform(0.18, 0.34)), float(rng.uniform(0.15, 1.0))
        begins_s = float(rng.exponential(SWELL_S / 2))
        ends_s = seconds - float(np.clip(rng.exponential(DYING_S / 2), 0, seconds / 2))
        at_s = begins_s
        while at_s < ends_s:
            place(out, seat, at_s, near * float(rng.uniform(0.7, 1.0)))
            at_s += gap_s * float(rng.normal(1.0, 0.06))
    loudest = np.sqrt(np.mean(out[len(out) // 4 : len(out) // 2].astype(np.float64) ** 2)) or 1.0
    scaled: Signal = (out * np.float32(0.1 / loudest)).astype(np.float32)
    return scaled
