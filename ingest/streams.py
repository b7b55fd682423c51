"""Streams of sound: blocks of samples with their rate, brought to one rate and number of channels, and summed.

Conventions: a stream gives consecutive blocks of shape (frames, channels) in float32, full scale 1, each with its
sample rate in Hz. Rate and channels may change from block to block, as where one file follows another.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float32]
"""Mono, shape (n,)."""
Frames = NDArray[np.float32]
"""Any number of channels, shape (n, channels)."""
Stream = Iterator[tuple[Frames, int]]


def at_rate(stream: Iterable[tuple[Frames, int]], rate_hz: int, channels: int) -> Iterator[Frames]:
    """Bring a stream to one rate and number of channels.

    Parameters
    ----------
    stream : iterable of (Frames, int)
    rate_hz : int
    channels : {1, 2}
        One channel is the mean of all; two are those there are, or the mean twice where there are not just two.

    Yields
    ------
    ndarray of float32, shape (n, channels)
        ``n`` varies and is never 0.
    """
    import soxr

    resampler: soxr.ResampleStream | None = None
    rate_before = 0
    for frames, source_rate_hz in stream:
        if source_rate_hz != rate_before:
            yield from _rest(resampler, channels)
            resampler, rate_before = None, source_rate_hz
            if source_rate_hz != rate_hz:
                resampler = soxr.ResampleStream(source_rate_hz, rate_hz, channels, dtype="float32", quality="HQ")
        mixed = with_channels(frames, channels)
        ready = mixed if resampler is None else _pushed(resampler, mixed, channels)
        if len(ready):
            yield ready
    yield from _rest(resampler, channels)


def _rest(resampler: object, channels: int) -> Iterator[Frames]:
    """What a resampler still holds."""
    if resampler is not None:
        rest = _pushed(resampler, np.zeros((0, channels), np.float32), channels, last=True)
        if len(rest):
            yield rest


def _pushed(resampler: object, frames: Frames, channels: int, last: bool = False) -> Frames:
    chunk = frames[:, 0] if channels == 1 else frames  # soxr takes mono as shape (n,) only
    ready: Frames = resampler.resample_chunk(chunk, last=last).reshape(-1, channels)  # type: ignore[attr-defined]
    return ready


def with_channels(frames: Frames, channels: int) -> Frames:
    """Frames with one channel (the mean of all) or two (see `at_rate`), contiguous."""
    count = frames.shape[1]
    if count == channels:
        return np.ascontiguousarray(frames)
    if count == 1:
        mono = frames
    elif count == 2:  # much faster than a mean along the short axis
        mono = ((frames[:, 0] + frames[:, 1]) * np.float32(0.5))[:, None]
    else:
        mono = frames.mean(axis=1, keepdims=True, dtype=np.float32)
    return np.repeat(mono, channels, axis=1)


def summed(tracks: Sequence[Iterator[Frames]]) -> Iterator[Frames]:
    """Sum of signals of one rate and number of channels that begin together; a shorter one ends in silence."""
    running = list(tracks)
    held: list[Frames | None] = [None] * len(running)
    while True:
        for number, track in enumerate(running):
            if held[number] is None:
                held[number] = next(track, None)
        waiting = [block for block in held if block is not None]
        if not waiting:
            return
        count = min(map(len, waiting))
        total = waiting[0][:count].copy()
        for block in waiting[1:]:
            total += block[:count]
        held = [None if block is None or len(block) == count else block[count:] for block in held]
        yield total
