"""The stroke nearest to a time, to snap a mark to.

The strokes of a recording are found in its onset strengths once, and kept for the recordings that were asked for last:
they follow from the evidence alone, whose stamp tells when it was measured anew.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from annotate.archive import Archive
from annotate.errors import NoSound
from dashboard.heard import stamp_of
from ingest.onset_times import onset_times
from theory.clock import format_clock

FARTHEST_S = 0.5
"""How far a mark is moved at most."""


def nearest_stroke(archive: Archive, slug: str, near_s: float) -> float:
    """Return the time of the nearest stroke.

    Raises
    ------
    annotate.errors.NoSound
        No strokes were measured, or none is within :data:`FARTHEST_S`.
    """
    archive.state(slug)
    times_s = strokes_of(archive, slug)
    if not len(times_s):
        raise NoSound("No strokes are known of this recording, so there is nothing to snap to.")
    nearest_s = float(times_s[np.argmin(np.abs(times_s - near_s))])
    if abs(nearest_s - near_s) > FARTHEST_S:
        raise NoSound(f"No stroke is within {FARTHEST_S:g} s of {format_clock(near_s)}, so nothing was moved.")
    return round(nearest_s, 4)


def strokes_of(archive: Archive, slug: str) -> NDArray[np.float64]:
    """Return when anything was struck in a recording, ascending, in seconds; empty where that was not measured."""
    return _strokes(archive, slug, stamp_of(archive, slug))


@lru_cache(maxsize=16)
def _strokes(archive: Archive, slug: str, stamp: str) -> NDArray[np.float64]:  # noqa: ARG001 - a new stamp, new strokes
    evidence = archive.evidence(slug)
    return onset_times(evidence) if evidence is not None else np.zeros(0)
