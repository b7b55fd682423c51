"""Sa from the drone.

A tanpura's strings are Sa in two octaves and Pa (or Ma, or Ni); the low Sa is its deepest string. Every candidate for
that low Sa, 10 cents apart, is scored by what the drone spectrum holds at its harmonics; partials of other strings are
harmonics of the low Sa where the string is Pa, and near-empty places count against a candidate. The pitch is then read
off the partials themselves.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ingest.evidence import DRONE_CELLS, DRONE_LOW_HZ, DRONE_STEP_CENTS, Evidence

CELLS_PER_OCTAVE = round(1200 / DRONE_STEP_CENTS)
LOWEST_SA_HZ = 110.0  # the octave in which Sa is given: the lead's middle one, for most voices and instruments


@dataclass(frozen=True)
class Sa:
    """The tonic.

    Parameters
    ----------
    hz : float
        Between 110 and 220 Hz. The octave is a guess by convention: a drone does not tell which octave the lead
        calls its middle one, and a woman's or a bamboo flute's may lie an octave above.
    confidence : float
        0 to 1: how far the best candidate stands above the best one of another pitch class.
    """

    hz: float
    confidence: float
