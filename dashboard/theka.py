"""The theka that is played under a recording: which strokes, and what they sound like.

Aim
    The browser places the strokes on the matras as they were played (``assets/beats.mjs``); here is what it places.
    The sounds are made by our own instruments (:mod:`sample_data.tabla`): a fixed set, named by what each drum does.

Conventions
    A stroke is ``[x, sound, level]``: x in matras from sam, level 0 to 1. A sound is ``bass-treble``: what the bayan
    does (``rings``, ``dead``, ``none``) and what the dayan does (``rim``, ``sur``, ``open``, ``dead``, ``none``). A
    tala whose theka is not transcribed has no strokes. Levels are ours: sam above the first matras of vibhags, these
    above the others, strokes between matras below; common practice, no source.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache
from typing import Any

import numpy as np

from theory.bols import strokes
from theory.talas import Tala

SOUNDS = tuple(
    f"{bass}-{treble}"
    for bass in ("rings", "dead", "none")
    for treble in ("rim", "sur", "open", "dead", "none")
    if (bass, treble) != ("none", "none")
)
SA_HZ = 277.2
"""Sa (C sharp) where the recording's is not known."""
LOWEST_SA_HZ = 200.0
"""The dayan is tuned to Sa in the octave from here: common practice, no source."""
_BEND = 0.1  # the left hand leans a little into a bayan that rings


def theka_strokes(tala: Tala) -> list[list[Any]]:
    """Return the strokes of one avartan, as the module's conventions say."""
    return [[float(x), sound, level] for x, sound, level in _strokes(tala)]


def _strokes(tala: Tala) -> Iterator[tuple[Fraction, str, float]]:
    from sample_data.touch import tone_of

    for stroke in strokes(tala.theka):
        bol = stroke.bol
        treble = tone_of(bol.name) if bol.treble == "rings" else bol.treble
        if (bol.bass, treble) != ("none", "none"):
            yield stroke.onset, f"{bol.bass}-{treble}", _level(stroke.onset, tala)


def _level(x: Fraction, tala: Tala) -> float:
    if x == 0:
        return 1.0
    return 0.6 if x.denominator > 1 else 0.85 if x + 1 in tala.vibhag_starts else 0.75


def dayan_hz(sa_hz: float | None) -> float:
    """Return the Sa that the dayan is tuned to, in the octave in which dayans are."""
    hz = sa_hz or SA_HZ
    while hz < LOWEST_SA_HZ:
        hz *= 2
    while hz >= 2 * LOWEST_SA_HZ:
        hz /= 2
    return round(hz, 1)


@lru_cache(maxsize=64)
def stroke_flac(sound: str, sa_hz: float) -> bytes:
    """Sound one of :data:`SOUNDS`; mono, the hand meets the skin at its first sample."""
    import soundfile

    from sample_data.events import Stroke
    from sample_data.tabla import bayan_sound, dayan_sound
    from sample_data.tools import RATE_HZ

    bass, treble = sound.split("-")
    does = {"none": "none", "dead": "dead"}
    struck = Stroke(0.0, bass, does.get(treble, "rings"), treble, 1.0, _BEND)  # type: ignore[arg-type]
    drums = [dayan_sound(struck, sa_hz, (SOUNDS.index(sound), 1)), bayan_sound(struck, (SOUNDS.index(sound), 2))]
    mix = np.zeros(max(map(len, drums)), np.float32)
    for drum in drums:
        mix[: len(drum)] += drum
    file = io.BytesIO()
    soundfile.write(file, mix / max(1.0, float(np.abs(mix).max())), RATE_HZ, "PCM_16", format="FLAC")
    return file.getvalue()
