"""The melody as a contour: how high it lies in each row, and its course as thin as the page shows it.

Aim
    An hour of melody is 180,000 frames. A row of the page needs to know how much room its melody takes before it is
    drawn, and then one value for each pixel: both are made here from whole arrays at once.

Conventions
    Pitches in cents above the middle Sa. Frame ``i`` lies at ``i * hop_s`` seconds. What is not voiced is a gap: never
    a line from one voiced stretch to the next.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ingest.melody import Melody
from ingest.swaras_heard import VOICED

SURE = 0.6  # a voicing from here on is drawn as a full line, what lies below it as a thin one
LEAST_SEMITONES = 8  # a row has room for Sa to Pa at least, and MOST_SEMITONES: two octaves and a half
MOST_SEMITONES = 30
_BESIDE_CENTS = 60  # room above the highest and below the lowest pitch
_LEFT_OUT = 0.01  # of what sounds, at either end; a frame in which the lead surely sounds counts _SURE_COUNTS times
_SURE_COUNTS = 8.0
_FARTHEST_CENTS, _BIN_CENTS = 9600, 20


@dataclass(frozen=True, eq=False)
class Contour:
    """The melody of a recording as it is drawn.

    Parameters
    ----------
    hop_s : float
        Seconds from frame to frame.
    cents : ndarray of int16, shape (n,)
        Above the middle Sa; means nothing where ``certainty`` is 0.
    certainty : ndarray of int8, shape (n,)
        0 where the lead is silent, 1 where it may sound, 2 where it surely does.
    """

    hop_s: float
    cents: NDArray[np.int16]
    certainty: NDArray[np.int8]

    @classmethod
    def of(cls, melody: Melody, sa_hz: float) -> Contour:
        """Make it from a melody and its middle Sa."""
        cents = np.clip(np.rint(melody.cents(sa_hz)), -_FARTHEST_CENTS, _FARTHEST_CENTS).astype(np.int16)
        certainty = (melody.voicing >= VOICED).astype(np.int8) + (melody.voicing >= SURE)
        return cls(melody.hop_s, cents, certainty.astype(np.int8))

    def ranges(self, spans_s: Sequence[tuple[float, float]]) -> list[tuple[int, int] | None]:
        """Return the lowest and highest semitone that each span of time needs; None where nothing sounds in it.

        What little sounds above and below (:data:`_LEFT_OUT`) makes no row higher: mostly it is an octave mistaken.

        Parameters
        ----------
        spans_s : sequence of (float, float)
            In order of time, not overlapping.
        """
        if not spans_s:
            return []
        edges = np.rint(np.asarray(spans_s) / self.hop_s).astype(np.int64)
        frames = np.arange(len(self.cents))
        span = np.searchsorted(edges[:, 0], frames, side="right") - 1
        inside = (span >= 0) & (frames < edges[span, 1]) & (self.certainty > 0)
        shape = len(spans_s), 2 * _FARTHEST_CENTS // _BIN_CENTS + 1
        cell = span[inside] * shape[1] + (self.cents[inside].astype(np.int64) + _FARTHEST_CENTS) // _BIN_CENTS
        weights = np.where(self.certainty[inside] == 2, _SURE_COUNTS, 1.0)
        sounding = np.bincount(cell, weights, minlength=shape[0] * shape[1]).reshape(shape).cumsum(axis=1)
        whole = sounding[:, -1:]
        lowest = np.argmax(sounding > _LEFT_OUT * whole, axis=1) * _BIN_CENTS - _FARTHEST_CENTS
        highest = (np.argmax(sounding >= (1 - _LEFT_OUT) * whole, axis=1) + 1) * _BIN_CENTS - _FARTHEST_CENTS
        return [
            _room(low, high) if weight > 0 else None
            for low, high, weight in zip(lowest.tolist(), highest.tolist(), whole[:, 0].tolist(), strict=True)
        ]

    def between(self, start_s: float, end_s: float, cell_s: float) -> dict[str, Any]:
        """Return the course from one time to another, a value for each ``cell_s`` seconds or for each frame.

        Returns
        -------
        dict
            ``from_s`` and ``step_s``: the first cell's middle, and from one to the next. ``cents``: of each cell the
            middle one of its voiced pitches, None where less than half of it is voiced. ``unsure``: pairs of first
            cell and the one after the last of what may not be the lead at all.
        """
        frames = max(1, int(cell_s / self.hop_s))
        first = max(0, int(start_s / self.hop_s) - frames)
        last = min(len(self.cents), int(np.ceil(end_s / self.hop_s)) + frames)
        cells = max(0, (last - first) // frames)
        part = slice(first, first + cells * frames)
        pitch = self.cents[part].reshape(cells, frames).astype(np.int32)
        certainty = self.certainty[part].reshape(cells, frames)
        voiced = certainty > 0
        count = voiced.sum(axis=1)
        in_order = np.sort(np.where(voiced, pitch, 99999), axis=1)
        middle = in_order[np.arange(cells), np.maximum(count - 1, 0) // 2]
        sounding = 2 * count >= frames
        unsure = sounding & (2 * (certainty == 2).sum(axis=1) < frames)
        return {
            "from_s": round((first + (frames - 1) / 2) * self.hop_s, 4),
            "step_s": round(frames * self.hop_s, 4),
            "cents": [
                cents if sounds else None for cents, sounds in zip(middle.tolist(), sounding.tolist(), strict=True)
            ],
            "unsure": _runs(unsure),
        }


def _room(low: int, high: int) -> tuple[int, int]:
    lowest, highest = (low - _BESIDE_CENTS) // 100, -((-high - _BESIDE_CENTS) // 100)
    if highest - lowest < LEAST_SEMITONES:
        lowest -= (LEAST_SEMITONES - highest + lowest) // 2
        highest = lowest + LEAST_SEMITONES
    if highest - lowest > MOST_SEMITONES:  # the middle of it; what lies beyond is cut off at the row's edge
        lowest += (highest - lowest - MOST_SEMITONES) // 2
        highest = lowest + MOST_SEMITONES
    return lowest, highest


def _runs(flags: NDArray[np.bool_]) -> list[list[int]]:
    """First cell and the one after the last of each run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], flags.astype(np.int8), [0]])))
    runs: list[list[int]] = edges.reshape(-1, 2).tolist()
    return runs
