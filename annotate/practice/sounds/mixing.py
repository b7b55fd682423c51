"""Strokes and passages laid into one sound, block by block.

Conventions: places are samples at :data:`~ingest.sound_writing.RATE_HZ` from the beginning of the sound; sound is
float32, shape (n, 2). What lies before the beginning or after the end is left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ingest.sound_writing import RATE_HZ
from ingest.spool import let_go
from ingest.streams import Frames

BLOCK = 5 * RATE_HZ


@dataclass(frozen=True)
class Struck:
    """One sound: where its first sample goes, how loud, and where it is stopped (None: it rings out).

    ``damping`` is how many samples it takes to die to 1/e once it is stopped.
    """

    at: int
    sound: Frames
    gain: float
    stops_at: int | None = None
    damping: float = 0.0

    @property
    def end(self) -> int:
        """Where it is over: stopped, it is 60 dB down after 7 dampings."""
        whole = self.at + len(self.sound)
        return whole if self.stops_at is None else min(whole, self.stops_at + round(7 * self.damping))

    def between(self, first: int, stop: int) -> Frames:
        """Return its samples from ``first`` to ``stop``, which lie within it."""
        part = self.sound[first - self.at : stop - self.at] * np.float32(self.gain)
        if self.stops_at is not None and stop > self.stops_at:
            over = np.arange(first - self.stops_at, stop - self.stops_at)
            part = part * np.exp(-np.maximum(over, 0) / self.damping).astype(np.float32)[:, None]
        return part


@dataclass(frozen=True)
class Clip:
    """A passage of sound, faded in over its first and out over its last samples at equal power."""

    at: int
    sound: Frames
    gain: float
    fade_in: int
    fade_out: int

    @property
    def end(self) -> int:
        """Where it is over."""
        return self.at + len(self.sound)

    def between(self, first: int, stop: int) -> Frames:
        """Return its samples from ``first`` to ``stop``, which lie within it."""
        part = self.sound[first - self.at : stop - self.at] * np.float32(self.gain)
        here = np.arange(first - self.at, stop - self.at, dtype=np.float64)
        into, out = here + 0.5, len(self.sound) - here - 0.5
        if len(here) and (here[0] < self.fade_in or here[-1] >= len(self.sound) - self.fade_out):
            part = part * (_risen(into, self.fade_in) * _risen(out, self.fade_out)).astype(np.float32)[:, None]
        return part


def mixed(layers: Sequence[Struck | Clip], length: int, fade_out: int) -> Iterator[Frames]:
    """Lay everything into a sound of ``length`` samples, of which the last ``fade_out`` die away.

    Yields
    ------
    ndarray of float32, shape (n, 2)
        Of :data:`BLOCK` samples, the last of what is left. Only what sounds in a block is held.
    """
    waiting = sorted(layers, key=lambda layer: layer.at)
    sounding: list[Struck | Clip] = []
    upcoming = 0
    for first in range(0, length, BLOCK):
        stop = min(first + BLOCK, length)
        while upcoming < len(waiting) and waiting[upcoming].at < stop:
            sounding.append(waiting[upcoming])
            upcoming += 1
        sounding = [layer for layer in sounding if layer.end > first]
        block = np.zeros((stop - first, 2), np.float32)
        for layer in sounding:
            begin, end = max(first, layer.at), min(stop, layer.end)
            if end > begin:
                block[begin - first : end - first] += layer.between(begin, end)
        let_go(*(layer.sound for layer in sounding))
        if stop > length - fade_out:
            block *= _risen(length - np.arange(first, stop, dtype=np.float64) - 0.5, fade_out).astype(np.float32)[
                :, None
            ]
        yield block


def _risen(samples: NDArray[np.float64], fade: int) -> NDArray[np.float64]:
    """The gain so many samples into a fade, so that two that cross have a power of 1 together."""
    gain: NDArray[np.float64] = np.sin(np.pi / 2 * np.clip(samples / fade, 0, 1)) if fade else np.ones(len(samples))
    return gain
