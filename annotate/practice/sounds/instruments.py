"""The sounds of a practice sound, one stroke each: clicks, our own tabla, mandolin and tanpura.

Conventions: a sound is float32, shape (n, 2), at 48 kHz; the stroke is at its first sample. The clicks are those of
``dashboard/assets/clicks.mjs``, and one more for a dam that is counted aloud.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from annotate.practice.sounds.beats import Sound
from ingest.sound_writing import RATE_HZ
from ingest.streams import Frames

LOWEST_SA_HZ = 200.0
"""The dayan is tuned to Sa in the octave from here: common practice, no source."""

CLICKS = {
    "sam": (1800.0, 1.0),
    "tali": (1200.0, 0.6),
    "khali": (600.0, 0.7),
    "matra": (1200.0, 0.35),
    "dam": (2700.0, 0.7),
}
"""Hz and level of each."""
CLICK_S, CLICK_DECAY_S, CLICK_ATTACK_S = 0.05, 0.009, 0.0005

GAINS = {"click": 0.6, "dayan": 0.34, "bayan": 0.36, "pluck": 0.42, "lehra": 0.17, "pull": 0.045}
"""Linear; by ear, so that a passage of about -20 LUFS stands in front of all of them."""
_PANS = {"click": 0.0, "dayan": 0.38, "bayan": 0.14, "pluck": -0.2, "lehra": -0.45}
DAMPING_S = {"dayan": 0.012, "bayan": 0.012, "pluck": 0.03, "lehra": 0.03}
"""How a voice dies that is struck again, or let go."""
LEHRA_OCTAVE = 0.5
_PLUCK_RINGS_S = 2.6
_BEND = 0.1


@dataclass(frozen=True)
class Tuning:
    """Sa of the melody's middle octave, in Hz, and the tanpura's strings as ratios to it."""

    sa_hz: float
    strings: tuple[float, ...]

    @property
    def dayan_hz(self) -> float:
        """Sa that the dayan is tuned to, in the octave in which dayans are."""
        hz = self.sa_hz
        while hz < LOWEST_SA_HZ:
            hz *= 2
        while hz >= 2 * LOWEST_SA_HZ:
            hz /= 2
        return round(hz, 1)


@lru_cache(maxsize=512)
def sound_of(sound: Sound, tuning: Tuning) -> Frames:
    """Return what a beat sounds like."""
    what, how = sound
    if what == "click":
        return _seated(click(how), 0.0, RATE_HZ)
    from sample_data.tools import RATE_HZ as MADE_AT_HZ

    return _seated(_struck(what, how, tuning), _PANS[what], MADE_AT_HZ)


def click(kind: str) -> np.ndarray[tuple[int], np.dtype[np.float32]]:
    """Return a click, one of :data:`CLICKS`, mono at 48 kHz."""
    hz, level = CLICKS[kind]
    time_s = np.arange(round(CLICK_S * RATE_HZ)) / RATE_HZ
    shape = np.minimum(time_s / CLICK_ATTACK_S, 1) * np.exp(-time_s / CLICK_DECAY_S)
    return (level * shape * np.sin(2 * np.pi * hz * time_s)).astype(np.float32)


def _struck(what: str, how: str, tuning: Tuning) -> np.ndarray[tuple[int], np.dtype[np.float32]]:
    from sample_data.events import Pluck, Stroke
    from sample_data.mandolin import pluck_sound
    from sample_data.tabla import bayan_sound, dayan_sound
    from sample_data.touch import pitch_hz

    if what == "dayan":
        treble = "dead" if how == "dead" else "rings"
        stroke = Stroke(0.0, "none", treble, how, 1.0)  # type: ignore[arg-type]
        return dayan_sound(stroke, tuning.dayan_hz, (1, *how.encode()))
    if what == "bayan":
        return bayan_sound(Stroke(0.0, how, "none", "", 1.0, _BEND), (2, *how.encode()))  # type: ignore[arg-type]
    octave = LEHRA_OCTAVE if what == "lehra" else 1.0
    return pluck_sound(Pluck(0.0, _PLUCK_RINGS_S, octave * pitch_hz(how, tuning.sa_hz), 0.8), (3, *how.encode()))


@lru_cache(maxsize=16)
def pull_of(string: int, tuning: Tuning) -> Frames:
    """Return one pull of a string of the tanpura."""
    from sample_data.tanpura import string_sound
    from sample_data.tools import RATE_HZ as MADE_AT_HZ

    return _seated(string_sound(tuning.sa_hz * tuning.strings[string], (4, string)), -0.45 + 0.3 * string, MADE_AT_HZ)


def _seated(mono: np.ndarray[tuple[int], np.dtype[np.float32]], pan: float, rate_hz: int) -> Frames:
    import soxr

    from sample_data.tools import panned

    if rate_hz != RATE_HZ:
        mono = soxr.resample(mono, rate_hz, RATE_HZ).astype(np.float32)
    return panned(mono, pan)
