"""A mandolin and a tabla of the sample data, in a room with a little noise, over a tanpura, at the rate of ingest."""

from functools import lru_cache

import numpy as np

from ingest.measure import measure_blocks
from sample_data import mandolin, tabla, tanpura
from sample_data.events import Pluck
from sample_data.room import drummed, in_room, plucked
from sample_data.tools import RATE_HZ, panned
from sample_data.touch import Played, strokes
from theory.talas import get_tala

SA_HZ = 146.8
LEAD_GAIN, DRUM_GAIN, DRONE_GAIN, NOISE = 0.6, 0.8, 0.06, 0.001


def plucks_at(at_s, seed=5):
    """Plucks of Sa, Re, Ga, Pa, Dha and their octaves at some times."""
    random = np.random.default_rng(seed)
    steps = random.choice([0, 2, 4, 7, 9, 12, 14], len(at_s))
    return [Pluck(float(time_s), 0.8, SA_HZ * 2 ** (step / 12), 0.6) for time_s, step in zip(at_s, steps, strict=True)]


def theka_at(tala_key, start_s, end_s, matra_s, seed=6):
    """The theka from sam at ``start_s`` on, its strokes scattered by 8 ms."""
    random = np.random.default_rng(seed)
    tala = get_tala(tala_key)
    played, cycle = [], 0
    while start_s + cycle * tala.matras * matra_s < end_s:
        for note in tala.theka.notes:
            position = cycle * tala.matras + note.onset
            at_s = start_s + float(position) * matra_s
            if at_s < end_s:
                played.append(Played(note.symbol, position, note.length, at_s + random.normal(0, 0.008), 0.8))
        cycle += 1
    return list(strokes(tuple(played), random))


def sound_of(plucks, struck, duration_s):
    """Stereo sound, shape (n, 2), at 44.1 kHz."""
    return _lead_and_drone(tuple(plucks), duration_s) + drums(struck, duration_s)


@lru_cache(maxsize=2)
def _lead_and_drone(plucks, duration_s):
    n = int(duration_s * RATE_HZ)
    lead = plucked(plucks, n, lambda i, pluck: mandolin.pluck_sound(pluck, (8, 1, i)), LEAD_GAIN)
    drone = tanpura.drone(SA_HZ, (0.75, 1.0, 1.0, 0.5), duration_s, 8, duration_s)[:n]
    return panned(lead, -0.2) + DRONE_GAIN * drone


def drums(struck, duration_s):
    """The drums alone, stereo, at 44.1 kHz."""
    treble, bass = drummed(
        struck,
        int(duration_s * RATE_HZ),
        lambda i, stroke: tabla.dayan_sound(stroke, 2 * SA_HZ, (8, 2, i, 0)),
        lambda i, stroke: tabla.bayan_sound(stroke, (8, 2, i, 1)),
        (DRUM_GAIN, DRUM_GAIN),
    )
    return panned(treble + bass, 0.2)


def measured(sound):
    """Evidence of a stereo sound at 44.1 kHz, in a room; what lies above 11 kHz folds back, far below the rest."""
    noise = NOISE * np.random.default_rng(9).normal(size=sound.shape)
    mono = (in_room(sound, 0.15) + noise).mean(axis=1)
    return measure_blocks([mono[::2].astype(np.float32)])
