"""What was played, in equal columns of matras or of seconds: in these a passage and its likes are compared.

On a grid a column is a part of a matra, so that a passage lies alike at any laya; where there is none, a part of a
second. Columns are 30 to 60 ms long: as far as players scatter, and longer than any ornament that is not its own note.

Conventions: m columns; times in seconds; pitch classes in semitones above Sa, octaves together.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ingest.finding.lattice import TABLA_KINDS, Floats, class_weights
from ingest.melody import Melody

CLASSES = 12
LONGEST_COLUMN_S = 0.06
PARTS = tuple(6 << doubled for doubled in range(9))
"""Columns of a matra: halves and thirds fall on columns, and quarters and so on where these are long enough."""
BESIDE = 0.6
"""A stroke counts so much in the columns beside its own."""


@dataclass(frozen=True, eq=False)
class Sounding:
    """What is compared of a recording, as it was measured.

    Parameters
    ----------
    strokes : ndarray of float32, shape (k, 7)
        As in `ingest.evidence.Evidence`.
    stroke_hop_s : float
    melody : Melody, optional
        Without one, or without a Sa, only the tabla and the plucks are compared.
    sa_hz : float, optional
    """

    strokes: Floats
    stroke_hop_s: float
    melody: Melody | None
    sa_hz: float | None

    @property
    def duration_s(self) -> float:
        """Length of what was measured."""
        return len(self.strokes) * self.stroke_hop_s

    @cached_property
    def semitone(self) -> Floats:
        """Pitch of the lead in semitones above Sa, a frame each; no frames where it is not known."""
        if self.melody is None or self.sa_hz is None:
            return np.zeros(0, np.float32)
        return self.melody.cents(self.sa_hz) / np.float32(100)

    @property
    def voiced(self) -> Floats:
        """How surely the lead sounds, a frame each."""
        return self.melody.voicing[: len(self.semitone)] if self.melody is not None else np.zeros(0, np.float32)

    def columns(self, edges_s: NDArray[np.float64]) -> Columns:
        """Lay a stretch out in columns, given their m + 1 edges in seconds, ascending."""
        strokes = _highest(self.strokes, self.stroke_hop_s, edges_s)
        count = len(edges_s) - 1
        if not len(self.semitone):
            silent = np.zeros(count, np.float32)
            return Columns(
                np.zeros((count, CLASSES), np.float32), strokes[:, :TABLA_KINDS], strokes[:, TABLA_KINDS], silent
            )
        hop_s = self.melody.hop_s if self.melody is not None else 1.0
        first, last = _frames(edges_s[[0, -1]], hop_s, len(self.semitone))
        part = slice(first, last + 1)
        pitch = _mean(class_weights(self.semitone[part], self.voiced[part]), hop_s, edges_s, first)
        middle = _frames((edges_s[1:] + edges_s[:-1]) / 2, hop_s, len(self.semitone))
        return Columns(pitch, strokes[:, :TABLA_KINDS], strokes[:, TABLA_KINDS], self.semitone[middle])


@dataclass(frozen=True, eq=False)
class Columns:
    """What is compared, in m columns.

    Parameters
    ----------
    pitch : ndarray of float32, shape (m, 12)
        How surely the lead sounds on each semitone above Sa, octaves together.
    tabla : ndarray of float32, shape (m, 6)
        Chances of the tabla's strokes, by kind.
    plucks : ndarray of float32, shape (m,)
        Chance that the lead is struck.
    semitone : ndarray of float32, shape (m,)
        Pitch of the lead above Sa; means nothing where ``pitch`` is low.
    """

    pitch: Floats
    tabla: Floats
    plucks: Floats
    semitone: Floats

    def __len__(self) -> int:
        return len(self.pitch)


@dataclass(frozen=True, eq=False)
class Course:
    """A stretch of a recording in columns.

    Parameters
    ----------
    columns : Columns
    edges_s : ndarray of float64, shape (m + 1,)
        Times of the columns' edges.
    first : float
        Where column 0 begins: in matras from the sam of cycle 1 on a grid, in seconds elsewhere.
    parts : int
        Columns of a unit.
    on_grid : bool
        Whether the unit is a matra; elsewhere it is a second.
    """

    columns: Columns
    edges_s: NDArray[np.float64]
    first: float
    parts: int
    on_grid: bool

    def __len__(self) -> int:
        return len(self.columns)

    @property
    def unit_s(self) -> float:
        """Usual length of a unit in seconds."""
        return float(np.median(np.diff(self.edges_s))) * self.parts if len(self) else 1.0


def on_grid(sounding: Sounding, matra_s: NDArray[np.float64], position: NDArray[np.float64]) -> Course:
    """Lay a section out on its matras.

    Parameters
    ----------
    sounding : Sounding
    matra_s : ndarray of float64, shape (k,)
        Times of its matras, two or more.
    position : ndarray of float64, shape (k,)
        Their positions, counted in matras from the sam of cycle 1, ascending.
    """
    parts = parts_of(float(np.median(np.diff(matra_s) / np.diff(position))))
    count = max(1, round((position[-1] - position[0]) * parts))
    edges_s = np.interp(position[0] + np.arange(count + 1) / parts, position, matra_s)
    return Course(sounding.columns(edges_s), edges_s, float(position[0]), parts, on_grid=True)


def on_clock(sounding: Sounding, start_s: float, end_s: float) -> Course:
    """Lay a stretch without a grid out on the clock."""
    parts = parts_of(1.0)
    edges_s = start_s + np.arange(max(1, int((end_s - start_s) * parts)) + 1) / parts
    return Course(sounding.columns(edges_s), edges_s, start_s, parts, on_grid=False)


def parts_of(unit_s: float) -> int:
    """How many columns a unit of so many seconds has."""
    return next((parts for parts in PARTS if unit_s / parts <= LONGEST_COLUMN_S), PARTS[-1])


def _frames(times_s: NDArray[np.float64], hop_s: float, count: int) -> NDArray[np.int64]:
    return np.clip(np.rint(times_s / hop_s).astype(np.int64), 0, count - 1)


def _highest(rows: Floats, hop_s: float, edges_s: NDArray[np.float64]) -> Floats:
    """The highest frame of every column, and less of its neighbours'."""
    at = _frames(edges_s, hop_s, len(rows))
    inside = np.asarray(rows[at[0] : at[-1] + 1])
    own: Floats = np.maximum.reduceat(inside, at[:-1] - at[0], axis=0)
    spread = own.copy()
    np.maximum(spread[1:], BESIDE * own[:-1], out=spread[1:])
    np.maximum(spread[:-1], BESIDE * own[1:], out=spread[:-1])
    return spread


def _mean(rows: Floats, hop_s: float, edges_s: NDArray[np.float64], first: int) -> Floats:
    """The mean of the frames of every column; of those shorter than a frame, the nearest one."""
    at = np.clip(np.rint(edges_s / hop_s).astype(np.int64) - first, 0, len(rows) - 1)
    begins, ends = at[:-1], np.maximum(at[1:], at[:-1] + 1)
    summed = np.add.reduceat(rows, begins, axis=0)
    mean: Floats = (summed / (ends - begins)[:, None]).astype(np.float32)
    mean[-1] = rows[begins[-1] : ends[-1]].mean(axis=0)
    return mean
