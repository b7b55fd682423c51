"""The players' common pulse: from a position in the tala to a time in the recording.

Conventions: a position is a ``Fraction`` of matras from the first sam of the gat (0); matra 9 of cycle 2 in teental is
position 24. Times in seconds. Between matras time runs straight.
"""

from __future__ import annotations

from fractions import Fraction
from math import pi, sin

import numpy as np


class PulseClock:
    """A pulse that quickens gently and breathes a little, as that of three people does.

    Parameters
    ----------
    first : Fraction
        Position where the tala begins (negative when the mukhra leads into the first sam).
    starts_s : float
        Time of ``first``.
    last : Fraction
        Position up to which the clock must reach.
    tempo : tuple of float
        Matras a minute at the beginning and at the end.
    seed : int
        Of the breathing.
    """

    def __init__(self, first: Fraction, starts_s: float, last: Fraction, tempo: tuple[float, float], seed: int) -> None:
        rng = np.random.default_rng((seed, 5))
        slow, quick = rng.uniform(0, 2 * pi, 2)
        low, high = int(first // 1), int(-(-last // 1)) + 2
        at_s, self._first, self._matra_s = 0.0, low, [0.0]
        for k in range(low, high):
            way = min(1.0, max(0.0, (k - low) / (high - low)))
            breath = 1 + 0.012 * sin(2 * pi * k / 37 + slow) + 0.006 * sin(2 * pi * k / 11 + quick)
            at_s += 60.0 / ((tempo[0] + (tempo[1] - tempo[0]) * way) * breath)
            self._matra_s.append(at_s)
        self._shift_s = 0.0
        self._shift_s = starts_s - self.time_s(first)

    def time_s(self, position: Fraction) -> float:
        """Time of a position, in seconds."""
        whole = int(position // 1)
        k = whole - self._first
        before, after = self._matra_s[k], self._matra_s[k + 1]
        return self._shift_s + before + float(position - whole) * (after - before)

    def matra_s(self, position: Fraction) -> float:
        """Length of the matra at a position, in seconds."""
        k = int(position // 1) - self._first
        return self._matra_s[k + 1] - self._matra_s[k]
