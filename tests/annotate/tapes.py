"""Short recordings to take in: a drone, and from a third of the way on dry strokes twice a second."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import soundfile
import soxr

from tests.ingest.sounds import RATE_HZ as THEKA_HZ
from tests.ingest.sounds import theka
from theory.talas import get_tala

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
    tabla = theka(get_tala("teental"), np.arange(length_s / 3, length_s - 0.5, 0.5), length_s)
    sound += soxr.resample(0.4 * tabla, THEKA_HZ, RATE_HZ)[: len(sound)] + 1e-4 * rng.normal(size=len(sound))
    soundfile.write(path, sound, RATE_HZ)
    return path
