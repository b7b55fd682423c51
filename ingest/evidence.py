"""What one pass over a recording leaves behind: everything later steps ask of the sound.

Conventions
-----------
* Frame ``i`` of the onset strengths and of the level stands for the moment ``i * hop_s``; frame ``j`` of the chroma for
  ``j * chroma_hop_s``; both in seconds from the first sample of sound. The latency of the measurement is already taken
  off: a stroke at 1.000 s peaks at the frame nearest to 1.000 s.
* An onset strength is the mean rise of loudness (energy to the power 0.2) in the bands of a drum over 23 ms. It is
  never negative, has no unit, and scales with the recording's gain: compare it with itself, over seconds or over the
  section.
* The drone spectrum is indexed by pitch: cell ``k`` stands for ``DRONE_LOW_HZ * 2 ** (k * DRONE_STEP_CENTS / 1200)``.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ingest.spool import let_go

DRONE_LOW_HZ = 45.0
DRONE_OCTAVES = 6
DRONE_STEP_CENTS = 10.0
DRONE_CELLS = int(DRONE_OCTAVES * 1200 / DRONE_STEP_CENTS)


@dataclass(frozen=True)
class Evidence:
    """Measured course of a recording.

    Parameters
    ----------
    duration_s : float
        Length of the sound.
    hop_s : float
        Seconds from frame to frame of ``bass``, ``treble``, ``strength`` and ``level_db``.
    bass : ndarray of float32, shape (n,)
        Onset strength where the bayan sounds (45-250 Hz).
    treble : ndarray of float32, shape (n,)
        Onset strength where the dayan sounds (300-8000 Hz).
    strength : ndarray of float32, shape (n,)
        Onset strength over all bands: the mean of the two.
    level_db : ndarray of float32, shape (n,)
        Level, dB below full scale (a full-scale sine is about -3).
    chroma_hop_s : float
        Seconds from row to row of ``chroma``.
    chroma : ndarray of float32, shape (m, 12)
        Energy per pitch class of equal temperament on A4 = 440 Hz, bin 0 = C; each row's maximum is 1, silence is 0.
    drone : ndarray of float32, shape (DRONE_CELLS,)
        Mean loudness (energy to the power 0.2) of the partials that stand still for six seconds and more, by pitch
        (see the conventions above). Sa is found in it.
    stroke_hop_s : float
        Seconds from row to row of ``strokes``.
    strokes : ndarray of float32, shape (k, 7)
        Chance that a stroke of each of `stroke_chances.STROKE_KINDS` begins at ``j * stroke_hop_s``.
    texture_hop_s : float
        Seconds from row to row of ``texture``.
    texture : ndarray of float32, shape (t, 10)
        Mean loudness (energy to the power 0.2) in ten bands from low to high, over the ``texture_hop_s`` that begin at
        ``j * texture_hop_s``; the kinds of sections are told by it.
    """

    duration_s: float
    hop_s: float
    bass: NDArray[np.float32]
    treble: NDArray[np.float32]
    strength: NDArray[np.float32]
    level_db: NDArray[np.float32]
    chroma_hop_s: float
    chroma: NDArray[np.float32]
    drone: NDArray[np.float32]
    stroke_hop_s: float
    strokes: NDArray[np.float32]
    texture_hop_s: float
    texture: NDArray[np.float32]

    def between(self, start_s: float, end_s: float) -> Evidence:
        """The evidence of a stretch, as of a recording of its own; no copy is made.

        Frames are taken from the nearest one on; the drone is that of the whole.
        """
        end_s = min(end_s, self.duration_s)

        def part(rows: NDArray[np.float32], hop_s: float) -> NDArray[np.float32]:
            return rows[round(start_s / hop_s) : len(rows) if end_s == self.duration_s else round(end_s / hop_s)]

        return replace(
            self,
            duration_s=end_s - start_s,
            bass=part(self.bass, self.hop_s),
            treble=part(self.treble, self.hop_s),
            strength=part(self.strength, self.hop_s),
            level_db=part(self.level_db, self.hop_s),
            chroma=part(self.chroma, self.chroma_hop_s),
            strokes=part(self.strokes, self.stroke_hop_s),
            texture=part(self.texture, self.texture_hop_s),
        )

    def let_go(self) -> None:
        """Give back the memory of what is not in memory only (see `ingest.spool`); nothing is lost."""
        let_go(self.bass, self.treble, self.strength, self.level_db, self.chroma, self.strokes, self.texture)
