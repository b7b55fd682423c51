"""The waveform of a short stretch from the sound itself, for a zoom that the kept levels are too coarse for."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from ingest.decode import ffmpeg_name
from ingest.levels import Waveform
from ingest.streams import Samples, with_channels

RUN_UP_S = 0.3
"""A decoder begins so much earlier: after a seek Opus needs 80 ms to be right (RFC 7845, section 4.6)."""


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
        samples, rate_hz, begins_s = _between(path, max(0.0, start_s), end_s)
    except (av.FFmpegError, OSError, IndexError):
        return None
    step = max(1, -(-len(samples) // max(1, points)))
    begins = np.arange(0, len(samples), step)
    edges_s = begins_s + np.append(begins, len(samples)) / rate_hz
    if not len(begins):
        return Waveform(np.array([start_s]), samples, samples)
    return Waveform(edges_s, np.minimum.reduceat(samples, begins), np.maximum.reduceat(samples, begins))


def _between(path: Path, start_s: float, end_s: float) -> tuple[Samples, int, float]:
    """Mono samples of a stretch, their rate, and the time of the first."""
    import av

    with av.open(ffmpeg_name(path)) as container:
        stream = container.streams.audio[0]
        rate_hz, origin_s = stream.codec_context.sample_rate, float((stream.start_time or 0) * stream.time_base)
        container.seek(round((max(0.0, start_s - RUN_UP_S) + origin_s) / stream.time_base), stream=stream)
        parts: list[Samples] = []
        first: int | None = None
        wanted, stop = round(start_s * rate_hz), round(end_s * rate_hz)
        for at, samples in _decoded(container, stream, origin_s):
            if at >= stop:
                break
            part = samples[max(0, wanted - at) : max(0, stop - at)]
            if len(part):
                first = max(at, wanted) if first is None else first
                parts.append(part)
    begins = wanted if first is None else first
    return np.concatenate([np.zeros(0, np.float32), *parts]), rate_hz, begins / rate_hz


def _decoded(container: Any, stream: Any, origin_s: float) -> Iterator[tuple[int, Samples]]:
    """Number of the first sample, and mono samples, of every frame from where the container stands."""
    import av

    rate_hz = stream.codec_context.sample_rate
    to_float = av.AudioResampler(format="fltp", rate=rate_hz)
    for decoded in container.decode(stream):
        at = round((decoded.time - origin_s) * rate_hz)
        for frame in to_float.resample(decoded):
            samples = with_channels(frame.to_ndarray().T, 1)[:, 0]
            yield at, samples
            at += len(samples)
