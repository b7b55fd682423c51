"""The course of the melody: the fundamental of the lead in cents above Sa, with a measure of voicing.

Every 20 ms a Hann window of 0.19 s gives a spectrum of compressed magnitudes. The median of every bin over eight
seconds, where the drone stands, is subtracted; for every pitch in steps of 20 cents the rest is summed over eight
harmonics, and a Viterbi path through these sums, in which a jump costs more the wider it is, is the melody.

Conventions: frame ``i`` stands for ``i * hop_s`` seconds; cents are counted from the middle Sa. Memory: one stretch of
eight seconds and the melody itself. Where the voicing is low the cents mean nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from ingest.decode import WORK_RATE_HZ, Samples, mono_blocks

Floats = NDArray[np.float32]

HOP, WINDOW = 441, 4096
HOP_S = HOP / WORK_RATE_HZ
STRETCH = 400  # frames whose median is taken for the drone: 8 s
HIGHEST_HZ = 5000.0
LOWEST_CENTS, HIGHEST_CENTS, STEP_CENTS = -1300, 2500, 20
HARMONICS, HARMONIC_FALL = 8, 0.84
COMPRESSION = 0.5  # of magnitude
WIDEST_STEP = 8  # pitch steps a glide may take from frame to frame
STEP_COST, JUMP_COST = 0.02, 0.8  # in units of a stretch's loud harmonic sum
LOUD_PERCENTILE = 95


@dataclass(frozen=True)
class Melody:
    """Course of the melody: shape (n,) each; cents above the middle Sa, voicing from 0 (no pitch) to 1."""

    hop_s: float
    cents: Floats
    voicing: Floats


def melody(path: str | Path, sa_hz: float) -> Melody:
    """Follow the melody of a recording; ``sa_hz`` is the lead's middle Sa.

    Raises
    ------
    UnreadableAudio, EmptyAudio
        See `ingest.decode.probe`.
    """
    return melody_of_blocks(mono_blocks(path, WORK_RATE_HZ), sa_hz)


def melody_of_blocks(blocks: Iterable[Samples], sa_hz: float) -> Melody:
    """Follow the melody of a signal in blocks of mono samples at `decode.WORK_RATE_HZ`."""
    harmonic = _harmonic_weights(sa_hz)
    cents, voicing = [np.zeros(0, np.float32)], [np.zeros(0, np.float32)]
    for spectra in _stretches(blocks):
        steady = np.median(spectra[::4], axis=0)
        sums = np.maximum(spectra - steady, 0) @ harmonic
        sums /= max(float(np.percentile(sums.max(axis=1), LOUD_PERCENTILE)), 1e-6)
        path = _best_path(sums)
        cents.append((LOWEST_CENTS + STEP_CENTS * path).astype(np.float32))
        voicing.append(np.clip(sums[np.arange(len(path)), path], 0, 1).astype(np.float32))
    return Melody(HOP_S, np.concatenate(cents), np.concatenate(voicing))


def _stretches(blocks: Iterable[Samples]) -> Iterator[Floats]:
    """Compressed magnitudes, shape (STRETCH or fewer at the end, bins)."""
    import scipy.fft

    hann = np.hanning(WINDOW + 1)[:-1].astype(np.float32)
    bins = int(HIGHEST_HZ * WINDOW / WORK_RATE_HZ)
    needed = (STRETCH - 1) * HOP + WINDOW

    def spectra(samples: Samples, count: int) -> Floats:
        windows = np.lib.stride_tricks.sliding_window_view(samples, WINDOW)[::HOP][:count]
        magnitudes: Floats = np.abs(scipy.fft.rfft(windows * hann, axis=1)[:, :bins]) ** COMPRESSION
        return magnitudes

    held = np.zeros(WINDOW // 2, np.float32)
    for block in blocks:
        held = np.concatenate([held, block])
        while len(held) >= needed:
            yield spectra(held, STRETCH)
            held = held[STRETCH * HOP :]
    count = max(0, (len(held) - WINDOW // 2 - 1) // HOP + 1)
    if count:
        yield spectra(np.pad(held, (0, WINDOW)), count)


def _harmonic_weights(sa_hz: float) -> Floats:
    """Weights from bins to pitches, shape (bins, pitches): each harmonic shared between the two bins beside it."""
    bins = int(HIGHEST_HZ * WINDOW / WORK_RATE_HZ)
    pitch_hz = sa_hz * 2 ** (np.arange(LOWEST_CENTS, HIGHEST_CENTS + 1, STEP_CENTS) / 1200)
    weights = np.zeros((bins, len(pitch_hz)), np.float32)
    for number in range(1, HARMONICS + 1):
        place = number * pitch_hz * WINDOW / WORK_RATE_HZ
        lower = np.floor(place).astype(int)
        for index, share in ((lower, lower + 1 - place), (lower + 1, place - lower)):
            inside = np.flatnonzero(index < bins)
            weights[index[inside], inside] += (HARMONIC_FALL ** (number - 1) * share[inside]).astype(np.float32)
    return weights


def _best_path(sums: Floats) -> NDArray[np.intp]:
    """Viterbi: pitch number of every frame; shape (n,) from (n, pitches)."""
    count, pitches = sums.shape
    came_from = np.zeros((count, pitches), np.int16)
    here = np.arange(pitches)
    cost = STEP_COST * np.abs(np.arange(-WIDEST_STEP, WIDEST_STEP + 1))
    padded = np.full(pitches + 2 * WIDEST_STEP, -np.inf)
    total = sums[0].astype(np.float64)
    for frame in range(1, count):
        padded[WIDEST_STEP:-WIDEST_STEP] = total
        near = np.lib.stride_tricks.sliding_window_view(padded, 2 * WIDEST_STEP + 1) - cost
        step = near.argmax(axis=1)
        best, source = near[here, step], here + step - WIDEST_STEP
        far = int(total.argmax())
        jumps = total[far] - JUMP_COST > best
        came_from[frame] = np.where(jumps, far, source)
        total = np.where(jumps, total[far] - JUMP_COST, best) + sums[frame]
    path = np.zeros(count, np.intp)
    path[-1] = total.argmax()
    for frame in range(count - 1, 0, -1):
        path[frame - 1] = came_from[frame, path[frame]]
    return path
