"""Jhala, and the chikari: the high strings of the drone, struck between the strokes of the melody.

In jhala every beat is filled: a stroke of the melody and three of the chikari, in the orders that players use.
"""

from __future__ import annotations

import numpy as np

from benchmarks.concerts.melody import Scale, symbol_of
from sample_data.events import Pluck
from sample_data.touch import pitch_hz

# m: melody, c: chikari; a beat each, four strokes (common practice, no source)
PATTERNS = ("mccc", "mccc", "mccc", "mcmc", "mccm", "mmcc")
CHIKARI = (2.0, 4.0)  # of Sa
JITTER_S = 0.006


def jhala(
    seconds: float, start_s: float, mpm: tuple[float, float], sa_hz: float, scale: Scale, rng: np.random.Generator
) -> list[Pluck]:
    """Some seconds of jhala; ``mpm`` are the beats a minute at its start and end."""
    out: list[Pluck] = []
    at_s, step = start_s, scale.rest()
    pattern, held = "mccc", 0
    while at_s < start_s + seconds:
        way = (at_s - start_s) / seconds
        stroke_s = 60.0 / (mpm[0] + (mpm[1] - mpm[0]) * way) / 4
        if held == 0:
            pattern, held = str(rng.choice(PATTERNS)), int(rng.choice((1, 2, 4, 8)))
            step = scale.line(step, 2)[1]
        held -= 1
        for part, what in enumerate(pattern):
            onset_s = at_s + part * stroke_s + float(rng.normal(0, JITTER_S))
            if what == "m":
                hz, level, ring_s = pitch_hz(symbol_of(step), sa_hz), 0.8, stroke_s * 3
            else:
                hz, level, ring_s = sa_hz * CHIKARI[int(rng.random() < 0.4)], 0.45, 0.5
            out.append(Pluck(onset_s, ring_s, hz, float(np.clip(level + rng.normal(0, 0.06), 0.2, 1.0)),
                             upstroke=bool(part % 2)))  # fmt: skip
        at_s += 4 * stroke_s
    return out


def with_chikari(plucks: list[Pluck], sa_hz: float, share: float, rng: np.random.Generator) -> list[Pluck]:
    """The same with the chikari struck in some of the longer notes, once or twice."""
    out = list(plucks)
    for pluck in plucks:
        if pluck.sounding_s > 0.4 and rng.random() < share:
            for number in range(int(rng.integers(1, 3))):
                onset_s = pluck.onset_s + pluck.sounding_s * (0.5 + 0.2 * number)
                out.append(Pluck(onset_s, 0.8, sa_hz * CHIKARI[0], float(rng.uniform(0.25, 0.45))))
    return sorted(out, key=lambda pluck: pluck.onset_s)
