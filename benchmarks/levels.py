"""How loud the parts of a rendered concert are against each other."""

from __future__ import annotations

import numpy as np

from sample_data.tools import Signal

AUDIBLE = 1e-3  # linear, against full scale


def loudness(sound: Signal) -> float:
    """Root mean square of what is above silence."""
    audible = sound[np.abs(sound) > AUDIBLE].astype(np.float64)
    return float(np.sqrt(np.mean(audible**2))) if audible.size else 0.0


def at_level(sound: Signal, reference: float, db: float) -> Signal:
    """Scale to some dB above the reference loudness."""
    own = loudness(sound)
    scaled: Signal = sound * np.float32(reference * 10 ** (db / 20) / own if own else 0.0)
    return scaled
