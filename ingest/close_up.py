"""The waveform of a short stretch from the sound itself, for a zoom that the kept levels are too coarse for."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from ingest.between import read_between
from ingest.levels import Waveform
from ingest.streams import with_channels


def close_up(path: Path, start_s: float, end_s: float, points: int) -> Waveform | None:
    """Read a stretch of a listening copy.

    Parameters
    ----------
    path : Path
    start_s, end_s : float
        The stretch; what lies outside the sound is left out. A second takes about a millisecond of work.
    points : int
        As many points as are wanted; fewer where a stretch has not so many samples.

    Returns
    -------
    Waveform or None
        None when the sound cannot be read.
    """
    import av

    try:
        frames, rate_hz, begins_s = read_between(path, max(0.0, start_s), end_s)
    except (av.FFmpegError, OSError, IndexError):
        return None
    samples = with_channels(frames, 1)[:, 0]
    step = max(1, -(-len(samples) // max(1, points)))
    begins = np.arange(0, len(samples), step)
    edges_s = begins_s + np.append(begins, len(samples)) / rate_hz
    if not len(begins):
        return Waveform(np.array([start_s]), samples, samples)
    return Waveform(edges_s, np.minimum.reduceat(samples, begins), np.maximum.reduceat(samples, begins))
