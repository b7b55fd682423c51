"""The recorded strokes of a pair of tabla: Debian's ``sonic-pi-samples`` (CC0).

Which file is which stroke is told by its name and by its partials, which we measured: on this dayan the stroke on the
sur sounds 558 Hz, an octave above its Sa, and that on the rim 838 Hz, the fifth above. Silence and thump before the
hand meets the skin are cut away, so that a sound's first sample is its onset to about a millisecond.

Conventions: mono float32 at 44.1 kHz, peak 1 before ``stroke.level``.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import numpy as np
import soundfile
import soxr
from scipy.signal import butter, sosfilt

from sample_data.events import Stroke
from sample_data.tools import RATE_HZ, Signal

SAMPLES = Path("/usr/share/sonic-pi/samples")
DAYAN_SA_HZ = 279.0
DAYAN = {
    "rim": ("na", "na"),
    "sur": ("tas1", "tas2", "tas3"),
    "open": ("tun1", "tun2", "tun3"),
    "dead": ("te1", "te2", "te_m", "te_ne", "re"),
}
BAYAN = {"rings": ("ghe2", "ghe3", "ghe4", "ghe5", "ghe6", "ghe7"), "dead": ("ke1", "ke2", "ke3")}
WEIGHT = {"rim": 0.62, "sur": 0.60, "open": 0.55, "dead": 0.40, "rings": 0.62}
RUMBLE_BELOW_HZ = 45.0
BEGINS_AT = 0.03  # of the peak


class RecordedTabla:
    """A pair of tabla tuned for one concert.

    Parameters
    ----------
    sa_hz : float
        The dayan is tuned to its nearest octave.
    seed : int
        Tunes the bayan, and chooses among recordings of the same stroke.
    folder : Path
        Where the recordings are.
    """

    def __init__(self, sa_hz: float, seed: int, folder: Path = SAMPLES) -> None:
        octaves = round(np.log2(DAYAN_SA_HZ / sa_hz))
        self._dayan_ratio = float(sa_hz * 2.0**octaves / DAYAN_SA_HZ)
        self._bayan_ratio = float(2 ** np.random.default_rng((seed, 30)).uniform(-0.25, 0.2))
        self._seed, self._folder = seed, folder

    def dayan_sound(self, number: int, stroke: Stroke) -> Signal:
        """Sound of the treble drum; empty when it is not struck."""
        if stroke.treble == "none":
            return np.zeros(0, np.float32)
        tone = stroke.colour if stroke.treble == "rings" else "dead"
        sound = _tuned(self._folder, self._one_of(DAYAN[tone], number, 0), round(self._dayan_ratio, 6))
        return sound * np.float32(WEIGHT[tone] * stroke.level)

    def bayan_sound(self, number: int, stroke: Stroke) -> Signal:
        """Sound of the bass drum, its pitch bent by the heel of the hand; empty when it is not struck."""
        if stroke.bass == "none":
            return np.zeros(0, np.float32)
        sound = _tuned(self._folder, self._one_of(BAYAN[stroke.bass], number, 1), round(self._bayan_ratio, 6))
        if stroke.bass == "rings":
            heel = np.clip((np.arange(sound.size) / RATE_HZ - 0.05) / 0.22, 0.0, 1.0)
            at = np.cumsum(1 + stroke.bend * 0.5 * (1 - np.cos(np.pi * heel))) - 1
            sound = np.interp(at, np.arange(sound.size), sound, right=0.0).astype(np.float32)
        return sound * np.float32(WEIGHT[stroke.bass] * stroke.level)

    def _one_of(self, names: tuple[str, ...], number: int, drum: int) -> str:
        return names[int(np.random.default_rng((self._seed, 31, number, drum)).integers(len(names)))]


@lru_cache(maxsize=256)
def _tuned(folder: Path, name: str, ratio: float) -> Signal:
    """A recording from its onset on, its pitch multiplied by ``ratio``."""
    sound, rate_hz = soundfile.read(folder / f"tabla_{name}.flac", dtype="float32")
    high_pass = butter(2, RUMBLE_BELOW_HZ, btype="highpass", fs=rate_hz, output="sos")
    sound = sosfilt(high_pass, sound).astype(np.float32)
    sound = soxr.resample(sound, rate_hz * ratio, RATE_HZ).astype(np.float32)
    loud = np.abs(sound)
    first = max(0, int(np.argmax(loud > BEGINS_AT * loud.max())) - RATE_HZ // 2000)
    sound = sound[first:] / loud.max()
    fade = np.minimum(1.0, np.arange(sound.size)[::-1] / (0.02 * RATE_HZ))
    tuned: Signal = (sound * fade).astype(np.float32)
    return tuned
