"""What is drawn of a recording's sound: its strokes and its melody, read and thinned once for all who look at it.

Conventions: an object belongs to the evidence as it was (:func:`stamp_of` tells when it has changed) and to a Sa.
Strokes are read when they are first asked for, since a page opens without them. For an hour: 1.5 MB.
"""

from __future__ import annotations

from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from annotate import evidence_store, melody_store
from annotate.archive import Archive
from annotate.errors import BadAnnotation
from annotate.swaras import middle_sa_of
from dashboard.figures.contour import Contour
from dashboard.figures.strokes import needles

Strokes = dict[str, tuple[NDArray[np.float64], NDArray[np.int64]]]

WAVE_POINTS = 900  # of the whole recording, on the overview: about a pixel each
LOUDEST = 99


def stamp_of(archive: Archive, slug: str) -> str:
    """Return a text that changes whenever the strokes or the melody of a recording are measured anew."""
    folder = archive.evidence_folder(slug)
    return f"{evidence_store.stamp(folder)} {melody_store.stamp(folder)}"


class Heard:
    """Strokes, melody and loudness of a recording.

    Attributes
    ----------
    contour : Contour or None
        None where the melody was not followed, or no Sa is known above which it could be counted.
    has_strokes : bool
    stamp : tuple
        What it belongs to: the evidence as it was, and the recording's Sa.
    """

    def __init__(self, archive: Archive, slug: str) -> None:
        self._archive, self._slug = archive, slug
        self.stamp = stamp_of(archive, slug), archive.state(slug).recording.sa_hz
        self.has_strokes = evidence_store.is_there(archive.evidence_folder(slug))
        self.contour: Contour | None = None
        melody = archive.melody(slug)
        if melody is not None:
            try:
                self.contour = Contour.of(melody, middle_sa_of(archive, slug, melody))
            except BadAnnotation:
                self.contour = None

    @cached_property
    def strokes(self) -> Strokes:
        """Times and strengths of the strokes by band, "treble" and "bass"; empty without evidence."""
        read = evidence_store.load_onsets(self._archive.evidence_folder(self._slug))
        if read is None:
            return {}
        strengths, hop_s = read
        return {band: needles(strengths[band], hop_s) for band in ("treble", "bass")}

    @cached_property
    def loudness(self) -> list[int]:
        """The waveform of the whole in :data:`WAVE_POINTS` parts at most: peaks as a share of the highest, 0 to 99."""
        duration_s = self._archive.state(self._slug).recording.duration_s or 0.0
        wave = self._archive.waveform(self._slug, 0.0, duration_s, WAVE_POINTS) if duration_s > 0 else None
        if wave is None or not len(wave.low):
            return []
        peaks = np.maximum(np.abs(wave.low), np.abs(wave.high))
        shares: list[Any] = np.rint(LOUDEST * peaks / max(float(peaks.max()), 1e-9)).astype(int).tolist()
        return shares
