"""The samples of a short stretch of a listening copy, wherever it lies in the file."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from ingest.decode import ffmpeg_name
from ingest.streams import Frames

RUN_UP_S = 0.3
"""A decoder begins so much earlier: after a seek Opus needs 80 ms to be right (RFC 7845, section 4.6)."""


def read_between(path: Path, start_s: float, end_s: float) -> tuple[Frames, int, float]:
    """Read a stretch of a listening copy. A second takes about a millisecond of work, wherever it lies.

    Parameters
    ----------
    path : Path
    start_s, end_s : float
        The stretch; what lies outside the sound is left out.

    Returns
    -------
    frames : ndarray of float32, shape (n, channels)
    rate_hz : int
    begins_s : float
        Time of the first sample; ``start_s``, to the sample, where there is sound.

    Raises
    ------
    av.FFmpegError, OSError, IndexError
        The sound cannot be read.
    """
    import av

    with av.open(ffmpeg_name(path)) as container:
        stream = container.streams.audio[0]
        rate_hz, origin_s = stream.codec_context.sample_rate, float((stream.start_time or 0) * stream.time_base)
        container.seek(round((max(0.0, start_s - RUN_UP_S) + origin_s) / stream.time_base), stream=stream)
        parts: list[Frames] = [np.zeros((0, stream.codec_context.channels), np.float32)]
        first: int | None = None
        wanted, stop = round(start_s * rate_hz), round(end_s * rate_hz)
        for at, frames in _decoded(container, stream, origin_s):
            if at >= stop:
                break
            part = frames[max(0, wanted - at) : max(0, stop - at)]
            if len(part):
                first = max(at, wanted) if first is None else first
                parts.append(part)
    begins = wanted if first is None else first
    return np.concatenate(parts), rate_hz, begins / rate_hz


def _decoded(container: Any, stream: Any, origin_s: float) -> Iterator[tuple[int, Frames]]:
    """Number of the first sample, and samples, of every frame from where the container stands."""
    import av

    rate_hz = stream.codec_context.sample_rate
    to_float = av.AudioResampler(format="fltp", rate=rate_hz)
    for decoded in container.decode(stream):
        at = round((decoded.time - origin_s) * rate_hz)
        for frame in to_float.resample(decoded):
            frames = frame.to_ndarray().T
            yield at, frames
            at += len(frames)
