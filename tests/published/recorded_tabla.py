"""A theka played with recorded tabla strokes, with its exact truth.

Source of the strokes: the Debian package ``sonic-pi-samples`` (``tabla_*.flac``), dedicated to the public domain
(CC0). They are played from where the package puts them and never stored here. Which recording stands for which bol is
common practice and judged by ear from the names (na, tas, tun: strokes of the dayan; ghe, ke: of the bayan; te, re:
closed strokes); it does not use the drum actions of ``theory/data/bols.toml``, so that an error there would show.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from tests.needs import tabla_samples
from theory.bols import strokes
from theory.talas import Tala

RATE_HZ = 44100
GHE = ("ghe2", "ghe4", "ghe6", "ghe8")  # those of the eight whose attack comes within 3 ms
TIN = ("tas1", "tas2", "tas3")
KE = ("ke1", "ke2")
DAYAN = {
    "Dha": ("na",),
    "Na": ("na",),
    "Ta": ("na", "na_s"),
    "Dhin": TIN,
    "Dhi": TIN,
    "Tin": TIN,
    "Tu": ("tun2", "tun3"),
    "Ti": TIN,  # for a whole matra (jhaptal, keherwa, dadra) it is the Tin; in a run (TiRaKiTa) see CLOSED
    "Ra": ("re",),
}
CLOSED = {"Ti": ("te1", "te2"), "Ta": ("te2", "te_m")}
BAYAN = {"Dha": GHE, "Dhin": GHE, "Dhi": GHE, "Ge": GHE, "Ka": KE, "Ki": KE, "Kat": ("ke2", "ke3")}
DAYAN_GAIN, BAYAN_GAIN = 0.4, 0.5


@dataclass(frozen=True)
class Performance:
    """A rendered theka.

    Parameters
    ----------
    samples : ndarray of float64, shape (n,)
        Mono, at `RATE_HZ`.
    matra_s : ndarray, shape (k,)
        When each matra was struck, ascending.
    matra : ndarray of int, shape (k,)
        Its number, 1 = sam.
    """

    samples: NDArray[np.float64]
    matra_s: NDArray[np.float64]
    matra: NDArray[np.int64]

    @property
    def sam_s(self) -> NDArray[np.float64]:
        """When the sams were struck."""
        return self.matra_s[self.matra == 1]

    def write(self, path: Path) -> Path:
        """Write the sound as WAV."""
        soundfile.write(path, self.samples, RATE_HZ)
        return path


def play_theka(
    tala: Tala,
    matras_per_minute: float,
    duration_s: float,
    *,
    first_matra: int = 1,
    start_s: float = 0.4,
    jitter_s: float = 0.008,
    quickening: float = 0.0,
    seed: int = 0,
) -> Performance:
    """Play a tala's theka over and over.

    Parameters
    ----------
    tala : Tala
    matras_per_minute : float
        At the start.
    duration_s : float
        Length of the sound.
    first_matra : int
        With which matra of the tala it begins, at ``start_s``.
    start_s : float
    jitter_s : float
        Standard deviation of each matra's time around an even course.
    quickening : float
        By what share the laya has risen at the end.
    seed : int
        For the choice among recordings, dynamics and jitter.
    """
    random = np.random.default_rng(seed)
    even_s, time_s = [], start_s
    while time_s < duration_s:
        even_s.append(time_s)
        time_s += 60 / (matras_per_minute * (1 + quickening * time_s / duration_s))
    matra_s = np.array([*even_s, time_s])
    matra_s += random.normal(0, jitter_s, len(matra_s))
    matra = (np.arange(len(even_s)) + first_matra - 1) % tala.matras + 1
    samples = np.zeros(round((duration_s + 4) * RATE_HZ))
    for begin_s, end_s, number in zip(matra_s, matra_s[1:], matra, strict=False):
        for stroke in strokes(tala.theka):
            share = float(stroke.onset) - (number - 1)
            if not 0 <= share < 1:
                continue
            loudness = random.uniform(0.6, 1)
            dayan = DAYAN | CLOSED if stroke.length < 1 else DAYAN
            for drum, gain in ((dayan, DAYAN_GAIN), (BAYAN, BAYAN_GAIN)):
                recordings = drum.get(stroke.bol.name, ())
                if recordings:
                    sound = _recording(recordings[random.integers(len(recordings))])
                    at = round((begin_s + share * (end_s - begin_s)) * RATE_HZ)
                    room = samples[at : at + len(sound)]
                    room += gain * loudness * sound[: len(room)]
    return Performance(samples[: round(duration_s * RATE_HZ)], matra_s[:-1], matra)


@cache
def _recording(name: str) -> NDArray[np.float64]:
    sound, rate_hz = soundfile.read(tabla_samples() / f"tabla_{name}.flac", always_2d=True)
    assert rate_hz == RATE_HZ
    return sound.mean(axis=1)
