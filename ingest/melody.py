"""The course of the melody: the fundamental of the lead, whatever its Sa, with the probability that it sounds.

Every 20 ms each pitch from 65 Hz to 1370 Hz in steps of 20 cents is judged by what lies at its harmonics
(`melody_scores`) in spectra freed of the drone (`melody_spectra`); the most likely path through these judgements
(`melody_path`), read between the steps, is the melody. The voicing is the probability of the path's neighbourhood
against silence and against all other pitches, smoothed over five frames.

Conventions: frame ``i`` stands for ``i * hop_s`` seconds. Memory: some blocks of four seconds, and the melody itself,
2 MB for an hour. Where the voicing is low the fundamental means nothing.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from ingest.decode import WORK_RATE_HZ, Samples, mono_blocks
from ingest.melody_path import best_path
from ingest.melody_scores import PITCHES, pitch_scores
from ingest.melody_spectra import HOP_S, LOWEST_HZ, STEP_CENTS, Floats, PitchMaps, pitch_maps

NEAR_STEPS = 2  # what belongs to a pitch: 40 cents on either side
SMOOTHED_FRAMES = 5
STRENGTH_HARMONICS, STRENGTH_FALL = 6, 0.84


@dataclass(frozen=True)
class Melody:
    """Course of the melody, whatever its Sa.

    Parameters
    ----------
    hop_s : float
        Seconds from frame to frame.
    fundamental_hz : ndarray of float32, shape (n,)
        Means nothing where the voicing is low.
    voicing : ndarray of float32, shape (n,)
        0 (the lead is silent) to 1.
    strength : ndarray of float32, shape (n,)
        Sum over the harmonics of the melody, without the drone, of the square roots of magnitudes; compare it with
        its neighbours.
    """

    hop_s: float
    fundamental_hz: Floats
    voicing: Floats
    strength: Floats

    def cents(self, sa_hz: float) -> Floats:
        """Cents above a Sa, shape (n,)."""
        return (1200 * np.log2(self.fundamental_hz / np.float32(sa_hz))).astype(np.float32)

    def between(self, start_s: float, end_s: float) -> Melody:
        """The frames from one time to another; the first of them is then frame 0."""
        part = slice(max(0, round(start_s / self.hop_s)), max(0, round(end_s / self.hop_s)))
        return Melody(self.hop_s, self.fundamental_hz[part], self.voicing[part], self.strength[part])


def melody(path: str | Path) -> Melody:
    """Follow the melody of a recording.

    Raises
    ------
    UnreadableAudio, EmptyAudio
        See `ingest.decode.probe`.
    """
    return melody_of_blocks(mono_blocks(path, WORK_RATE_HZ))


def melody_of_blocks(blocks: Iterable[Samples]) -> Melody:
    """Follow the melody of a signal in blocks of mono samples at `decode.WORK_RATE_HZ`."""
    from threadpoolctl import threadpool_limits

    waiting: deque[tuple[PitchMaps, Floats]] = deque()

    def scores() -> Iterator[Floats]:
        for maps, raw in pitch_scores(pitch_maps(blocks)):
            log_share = raw - np.logaddexp(np.logaddexp.reduce(raw, axis=1, keepdims=True), 0)
            waiting.append((maps, log_share))
            yield log_share

    parts = [np.zeros((3, 0), np.float32)]
    # many small products of matrices: more threads than one make them slower, and much slower beside other work
    with threadpool_limits(limits=1, user_api="blas"):
        for path in best_path(scores()):
            maps, log_share = waiting.popleft()
            hz, near = _between_steps(log_share, path), _share_near(log_share, path)
            parts.append(np.stack([hz, near, _strength(maps, path)]))
    hz, voicing, strength = np.concatenate(parts, axis=1)
    return Melody(HOP_S, hz, _smoothed(voicing), strength)


def _between_steps(log_share: Floats, path: NDArray[np.int64]) -> Floats:
    """Fundamental in Hz: the top of the parabola through the scores of the path's pitch and its two neighbours."""
    frames = np.arange(len(path))
    left, here, right = (log_share[frames, np.clip(path + step, 0, PITCHES - 1)] for step in (-1, 0, 1))
    bend = np.minimum(left - 2 * here + right, -1e-3)
    off = np.clip(0.5 * (left - right) / bend, -0.5, 0.5)
    return (LOWEST_HZ * 2 ** ((path + off) * STEP_CENTS / 1200)).astype(np.float32)


def _share_near(log_share: Floats, path: NDArray[np.int64]) -> Floats:
    """Probability of the pitches near the path."""
    near = path[:, None] + np.arange(-NEAR_STEPS, NEAR_STEPS + 1)
    inside = (near >= 0) & (near < PITCHES)
    taken = np.take_along_axis(log_share, np.clip(near, 0, PITCHES - 1), axis=1)
    return (np.exp(taken) * inside).sum(axis=1)


def _strength(maps: PitchMaps, path: NDArray[np.int64]) -> Floats:
    """Weighted sum over the harmonics of the path in the spectra of the short window."""
    cells = np.rint(1200 * np.log2(np.arange(1, STRENGTH_HARMONICS + 1)) / STEP_CENTS).astype(int)
    weights = STRENGTH_FALL ** np.arange(STRENGTH_HARMONICS)
    at = np.minimum(path[:, None] + cells, maps.short.shape[1] - 1)
    return (np.take_along_axis(maps.short, at, axis=1) @ weights * maps.loud).astype(np.float32)


def _smoothed(voicing: Floats) -> Floats:
    """Median over some frames."""
    from scipy.ndimage import median_filter

    return median_filter(voicing, SMOOTHED_FRAMES, mode="nearest") if len(voicing) else voicing
