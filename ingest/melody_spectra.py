"""What the melody is heard in: spectra on a scale of pitch, freed of what stands still, block by block.

Every 20 ms two spectra, of 0.19 s (which tells near pitches apart) and of 0.09 s (which tells near times apart): square
roots of magnitudes, read at steps of 20 cents. The median of every step over three blocks of four seconds, where the
drone stands, is subtracted; what is left, and the drone, are divided by how loud that rest is in those three blocks.

Conventions: signal at `decode.WORK_RATE_HZ`; frame ``i`` is centred on sample ``i * HOP``; cell ``k`` stands for
``LOWEST_HZ * 2 ** (k * STEP_CENTS / 1200)``. A block is followed when the three after it are there, so that the result
does not depend on how the sound comes in. Memory: seven blocks, whatever the recording's length.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from ingest.decode import WORK_RATE_HZ, Samples

Floats = NDArray[np.float32]

HOP = 441
HOP_S = HOP / WORK_RATE_HZ
LONG_WINDOW, SHORT_WINDOW = 4096, 2048
BLOCK = 200  # frames: 4 s
LOWEST_HZ, HIGHEST_HZ, STEP_CENTS = 65.0, 5000.0, 20
CELLS = 380  # up to HIGHEST_HZ
MEDIAN_OF_EVERY = 4  # frames are alike from one to the next
LOUD_PERCENTILE = 90
QUIETEST = 1e-4  # below it there is no sound to be made louder

_T = TypeVar("_T")


@dataclass(frozen=True)
class PitchMaps:
    """A block of frames on the scale of pitch, each array of shape (n, CELLS).

    Parameters
    ----------
    long, short : ndarray of float32
        What is left of the spectra of the long and of the short window; 1 is loud for the seconds around.
    drone : ndarray of float32, shape (CELLS,)
        What stood still in the spectra of the long window, in the same unit.
    loud : float
        That unit, as square root of magnitude.
    """

    long: Floats
    short: Floats
    drone: Floats
    loud: float


def pitch_maps(blocks: Iterable[Samples]) -> Iterator[PitchMaps]:
    """Turn a signal in blocks of mono samples into blocks of `BLOCK` frames (fewer in the last)."""
    for before, here, after in with_neighbours(_moving(blocks)):
        around = [part.long.max(axis=1) for part in (before, here, after) if part is not None]
        loud = max(float(np.percentile(np.concatenate(around), LOUD_PERCENTILE)), QUIETEST)
        yield PitchMaps(here.long / loud, here.short / loud, here.drone / loud, loud)


def with_neighbours(parts: Iterable[_T]) -> Iterator[tuple[_T | None, _T, _T | None]]:
    """Yield each of a row of things with the one before and the one after it, None at the ends."""
    before: _T | None = None
    here: _T | None = None
    for after in parts:
        if here is not None:
            yield before, here, after
        before, here = here, after
    if here is not None:
        yield before, here, None


def _moving(blocks: Iterable[Samples]) -> Iterator[PitchMaps]:
    """What moves in the spectra, not yet by loudness."""
    for three in with_neighbours(_spectra(blocks)):
        here = three[1]
        drones = [
            np.median(np.concatenate([part[which][::MEDIAN_OF_EVERY] for part in three if part is not None]), axis=0)
            for which in (0, 1)
        ]
        long, short = (np.maximum(spectra - drone, 0) for spectra, drone in zip(here, drones, strict=True))
        yield PitchMaps(long, short, drones[0], 1.0)


def _spectra(blocks: Iterable[Samples]) -> Iterator[tuple[Floats, Floats]]:
    """Spectra of the long and of the short window; frames whose centre lies within the signal."""
    ahead = LONG_WINDOW // 2
    held = np.zeros(ahead, np.float32)
    needed = (BLOCK - 1) * HOP + LONG_WINDOW
    for block in blocks:
        held = np.concatenate([held, block])
        while len(held) >= needed:
            yield _both(held, BLOCK)
            held = held[BLOCK * HOP :]
    count = max(0, (len(held) - ahead - 1) // HOP + 1)
    held = np.pad(held, (0, LONG_WINDOW))
    for first in range(0, count, BLOCK):
        yield _both(held[first * HOP :], min(BLOCK, count - first))


def _both(samples: Samples, count: int) -> tuple[Floats, Floats]:
    middle = (LONG_WINDOW - SHORT_WINDOW) // 2
    return _on_pitch_scale(samples, count, LONG_WINDOW), _on_pitch_scale(samples[middle:], count, SHORT_WINDOW)


def _on_pitch_scale(samples: Samples, count: int, window: int) -> Floats:
    import scipy.fft

    windows = np.lib.stride_tricks.sliding_window_view(samples, window)[::HOP][:count]
    gather = _gather(window)
    spectrum = scipy.fft.rfft(windows * _hann(window), axis=1)[:, : len(gather)]
    roots: Floats = np.sqrt(np.abs(spectrum))
    return roots @ gather


@cache
def _hann(window: int) -> Floats:
    """Periodic Hann window; a sine is as high with either length."""
    hann = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(window) / window)
    return (hann * LONG_WINDOW / window).astype(np.float32)


@cache
def _gather(window: int) -> Floats:
    """Weights from bins to cells, shape (bins, CELLS): a cell lies between two bins."""
    bins = int(HIGHEST_HZ * window / WORK_RATE_HZ) + 2
    place = LOWEST_HZ * 2 ** (np.arange(CELLS) * STEP_CENTS / 1200) * window / WORK_RATE_HZ
    place = np.minimum(place, bins - 2)
    lower = np.floor(place).astype(int)
    weights = np.zeros((bins, CELLS), np.float32)
    weights[lower, np.arange(CELLS)] = lower + 1 - place
    weights[lower + 1, np.arange(CELLS)] += place - lower
    return weights
