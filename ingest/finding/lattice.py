"""What was played, laid out on the tala: evidence at equal parts of a matra, so that what is alike on paper lies alike.

A tick is a part of a matra short enough that two strokes never fall into one; whatever the laya does, the same passage
takes the same number of ticks wherever it is played.

Conventions: tick ``i`` stands for position ``first + i / parts`` matras, position 0 being the sam of cycle 1; times in
seconds. A stroke is spread over `REACH_S` on either side, as far as players scatter.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ingest.evidence import Evidence
from ingest.melody import Melody
from ingest.stroke_chances import STROKE_KINDS

Floats = NDArray[np.float32]

TICK_S = 0.03
"""No tick is longer."""
PARTS = tuple(12 << doubled for doubled in range(7))
"""Parts of a matra, so that halves, thirds, eighths and their like fall on ticks."""
REACH_S = 0.05
PITCH_SPREAD_CENTS = 35.0
TABLA_KINDS = len(STROKE_KINDS) - 1


@dataclass(frozen=True, eq=False)
class Lattice:
    """Evidence of a section on its grid; n ticks.

    Parameters
    ----------
    matras : int
        Of the tala.
    first : int
        Position of tick 0, in matras.
    parts : int
        Ticks of a matra.
    time_s : ndarray of float64, shape (n,)
    tabla : ndarray of float32, shape (n, 6)
        Chances of the tabla's strokes, by kind.
    plucks : ndarray of float32, shape (n,)
        Chance that the lead is struck.
    pitch : ndarray of float32, shape (n, 12)
        How surely the lead sounds on each semitone above Sa, octaves together.
    semitone : ndarray of float32, shape (n,)
        Its pitch in semitones above Sa; means nothing where ``voiced`` is low.
    voiced : ndarray of float32, shape (n,)
    loudness : ndarray of float32, shape (n,)
        Onset strength over all bands, as a share of the section's strong ones.
    """

    matras: int
    first: int
    parts: int
    time_s: NDArray[np.float64]
    tabla: Floats
    plucks: Floats
    pitch: Floats
    semitone: Floats
    voiced: Floats
    loudness: Floats

    def __len__(self) -> int:
        return len(self.time_s)

    @cached_property
    def matra_s(self) -> float:
        """Usual length of a matra."""
        return float(np.median(np.diff(self.time_s[:: self.parts])))

    @property
    def tick_s(self) -> float:
        """Usual length of a tick."""
        return self.matra_s / self.parts

    def tick_of(self, time_s: ArrayLike) -> NDArray[np.float64]:
        """The tick, with its part, at which a time lies."""
        return np.interp(np.asarray(time_s, dtype=np.float64), self.time_s, np.arange(len(self), dtype=np.float64))


def lay_out(
    evidence: Evidence,
    melody: Melody | None,
    sa_hz: float,
    matra_s: NDArray[np.float64],
    first: int,
    tala_matras: int,
) -> Lattice:
    """Lay the evidence of a section out on its matras.

    Parameters
    ----------
    evidence : Evidence
    melody : Melody, optional
        Without one only the tabla and the plucks are there.
    sa_hz : float
        Sa of the melody, in any octave.
    matra_s : ndarray of float64, shape (k,)
        Times of consecutive matras, two or more.
    first : int
        Position of the first of them, counted from the sam of cycle 1.
    tala_matras : int
    """
    usual_s = float(np.median(np.diff(matra_s)))
    parts = next((parts for parts in PARTS if usual_s / parts <= TICK_S), PARTS[-1])
    count = (len(matra_s) - 1) * parts + 1
    time_s = np.interp(np.arange(count) / parts, np.arange(len(matra_s)), matra_s)
    spread = _spread(_near(evidence.strokes, evidence.stroke_hop_s, time_s), evidence.stroke_hop_s, time_s)
    loudness = _sampled(evidence.strength[:, None], evidence.hop_s, time_s)[:, 0]
    strong = np.percentile(loudness, 97) or 1.0
    if melody is None:
        semitone, voiced = np.zeros(count, np.float32), np.zeros(count, np.float32)
    else:
        at = np.clip(np.rint(time_s / melody.hop_s).astype(np.int64), 0, len(melody.voicing) - 1)
        semitone, voiced = (melody.cents(sa_hz)[at] / np.float32(100)), melody.voicing[at]
    return Lattice(
        tala_matras, first, parts, time_s, spread[:, :TABLA_KINDS], spread[:, TABLA_KINDS],
        class_weights(semitone, voiced), semitone, voiced, np.minimum(loudness / np.float32(strong), np.float32(1.5)),
    )  # fmt: skip


@dataclass(frozen=True)
class _Stretch:
    """Rows of an array from frame ``first`` on."""

    rows: Floats
    first: int


def _near(rows: Floats, hop_s: float, time_s: NDArray[np.float64]) -> _Stretch:
    first = max(0, int(time_s[0] / hop_s) - 16)
    return _Stretch(np.asarray(rows[first : int(time_s[-1] / hop_s) + 16]), first)


def _spread(stretch: _Stretch, hop_s: float, time_s: NDArray[np.float64]) -> Floats:
    """The best chance within reach of each tick, less the farther it is."""
    from scipy.ndimage import grey_dilation

    reach = round(REACH_S / hop_s)
    falloff = -((np.arange(-reach, reach + 1) / (reach + 0.5)) ** 2)[:, None]
    near = grey_dilation(stretch.rows, structure=falloff.astype(np.float32), mode="nearest")
    at = np.clip(np.rint(time_s / hop_s).astype(np.int64) - stretch.first, 0, len(near) - 1)
    return np.clip(near[at], 0.0, 1.0)


def _sampled(rows: Floats, hop_s: float, time_s: NDArray[np.float64]) -> Floats:
    """The highest of the frames about each tick."""
    from scipy.ndimage import maximum_filter1d

    stretch = _near(rows, hop_s, time_s)
    near = maximum_filter1d(stretch.rows, 2 * round(TICK_S / hop_s) + 1, axis=0)
    at = np.clip(np.rint(time_s / hop_s).astype(np.int64) - stretch.first, 0, len(near) - 1)
    sampled: Floats = near[at]
    return sampled


def class_weights(semitone: Floats, voiced: Floats) -> Floats:
    """Pitches as weights of the twelve semitones, that of the nearest one greatest."""
    away = (semitone[:, None] - np.arange(12, dtype=np.float32) + 6) % 12 - 6
    return (np.exp(-0.5 * (away * 100 / PITCH_SPREAD_CENTS) ** 2) * voiced[:, None]).astype(np.float32)
