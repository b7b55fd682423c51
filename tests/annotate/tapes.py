"""Short recordings to take in: a drone, and from a third of the way on dry strokes twice a second."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import soundfile

RATE_HZ = 22050
SA_HZ = 147.0
LENGTH_S = 12.0


def make_tape(path: Path, length_s: float = LENGTH_S, seed: int = 3) -> Path:
    """Write a recording; another seed gives other strokes, and so another content."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(int(length_s * RATE_HZ)) / RATE_HZ
    sound = sum(
        0.05 / n * np.sin(2 * np.pi * SA_HZ * ratio * n * time_s) for ratio in (0.5, 1, 1.5) for n in range(1, 6)
    )
    stroke = rng.normal(size=2000) * np.exp(-np.arange(2000) / 300) * 0.4
    for start_s in np.arange(length_s / 3, length_s - 0.5, 0.5):
        begin = int(start_s * RATE_HZ)
        sound[begin : begin + len(stroke)] += stroke
    soundfile.write(path, sound, RATE_HZ)
    return path
