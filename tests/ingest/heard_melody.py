"""Melodies that are written down, not measured, for tests."""

from __future__ import annotations

import numpy as np

from ingest.melody import Melody

HOP_S = 0.02
SA_HZ = 146.83


def written_melody(*notes: tuple[float, float, float], struck_s: tuple[float, ...] = ()) -> Melody:
    """From (seconds, cents above Sa, voicing); at each of ``struck_s`` the string becomes twice as loud and decays."""
    counts = [round(seconds / HOP_S) for seconds, _, _ in notes]
    cents = np.repeat([note[1] for note in notes], counts)
    voicing = np.repeat([note[2] for note in notes], counts).astype(np.float32)
    strength = voicing.copy()
    for at_s in struck_s:
        strength[: round(at_s / HOP_S)] *= 0.5
    return Melody(HOP_S, (SA_HZ * 2 ** (cents / 1200)).astype(np.float32), voicing, strength)
