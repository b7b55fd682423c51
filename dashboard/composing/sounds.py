"""The sounds that a piece is heard with, one stroke each, from our own instruments.

    GET /compose/sound/<name>.flac?sa=4

Conventions: ``sa`` is in semitones above A at 220 Hz. A name is one of :data:`dashboard.theka.SOUNDS`, or
``pluck<n>``, a pluck so many semitones above Sa, in just intonation. There are :data:`LOWEST` to :data:`HIGHEST` of
them and 12 Sas, so that whatever is asked for, no more than those are ever made. The first sample is the onset.
"""

from __future__ import annotations

import io
import re
from functools import lru_cache

import numpy as np

from dashboard.composing.asked import sa_hz
from dashboard.theka import SOUNDS, dayan_hz, stroke_flac

LOWEST, HIGHEST = -24, 35
RINGS_S = 2.4
_PLUCK = re.compile(r"pluck(-?\d{1,2})", re.ASCII)
_LEVEL = 0.8


def sound_flac(name: str, sa: int) -> bytes | None:
    """Return a sound as FLAC; None when there is none of that name."""
    if name in SOUNDS:
        return stroke_flac(name, dayan_hz(sa_hz(sa)))
    match = _PLUCK.fullmatch(name)
    if match is None or not LOWEST <= int(match[1]) <= HIGHEST:
        return None
    return _pluck_flac(int(match[1]), sa)


@lru_cache(maxsize=256)
def _pluck_flac(semitones: int, sa: int) -> bytes:
    import soundfile

    from sample_data.events import Pluck
    from sample_data.mandolin import pluck_sound
    from sample_data.tools import RATE_HZ
    from sample_data.touch import JUST

    octave, step = divmod(semitones, 12)
    hz = sa_hz(sa) * JUST[step] * 2.0**octave
    sound = pluck_sound(Pluck(0.0, RINGS_S, hz, _LEVEL), (semitones - LOWEST, sa))
    file = io.BytesIO()
    soundfile.write(file, sound / max(1.0, float(np.abs(sound).max())), RATE_HZ, "PCM_16", format="FLAC")
    return file.getvalue()
