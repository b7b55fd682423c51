"""A passage of a listening copy at a speed, at the rate of practice sounds; and where rounds of it may be joined."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from ingest.between import read_between
from ingest.slowing import CONTEXT_S, slowed
from ingest.sound_writing import RATE_HZ
from ingest.spool import room_for
from ingest.streams import Frames, with_channels

PIECE_S = 20.0
"""So much of the recording is stretched at once: what is in memory does not grow with the passage."""
SEAM_S = 0.02
"""Pieces of a long passage go over into each other within this time."""
KEPT_BYTES = 24 << 20
"""A slowed passage that is larger is kept in a file."""

EARLY_S = 0.08
"""A stroke so much before a sam may be meant for it."""
CLEAR_S = 0.012
_BEFORE_S, _RISES = 0.03, 6.0  # a stroke is so many times as strong as the 30 ms before it


def read_passage(path: Path, start_s: float, end_s: float) -> Frames:
    """Read a stretch of a listening copy as stereo at 48 kHz; silence where it has no sound.

    Returns
    -------
    ndarray of float32, shape (round((end_s - start_s) * RATE_HZ), 2)
        Its first sample is what sounds at ``start_s``.

    Raises
    ------
    av.FFmpegError, OSError, IndexError
        The sound cannot be read.
    """
    import soxr

    frames, rate_hz, begins_s = read_between(path, max(0.0, start_s), end_s)
    stereo = with_channels(frames, 2)
    if rate_hz != RATE_HZ and len(stereo):
        stereo = soxr.resample(stereo, rate_hz, RATE_HZ).astype(np.float32)
    whole: Frames = np.zeros((round((end_s - start_s) * RATE_HZ), 2), np.float32)
    first = max(0, round((begins_s - start_s) * RATE_HZ))
    kept = min(len(stereo), len(whole) - first)
    if kept > 0:
        whole[first : first + kept] = stereo[:kept]
    return whole


def pieces_of(path: Path, start_s: float, end_s: float) -> Iterator[Frames]:
    """Read a stretch as :func:`read_passage`, in pieces of :data:`PIECE_S` at most."""
    count = max(1, math.ceil((end_s - start_s) / PIECE_S))
    for number in range(count):
        from_s, to_s = (start_s + (end_s - start_s) * part / count for part in (number, number + 1))
        yield read_passage(path, from_s, to_s)


def slowed_passage(path: Path, start_s: float, end_s: float, speed: float, *, mono: bool = False) -> Frames:
    """Return a passage at a share of its speed: what sounds ``t`` seconds into it is at ``t / speed``.

    Parameters
    ----------
    path : Path
    start_s, end_s : float
    speed : float
        0.25 to 1.
    mono : bool
        Whether both channels are what they are on average, which takes half the work.

    Returns
    -------
    ndarray of float32, shape (round((end_s - start_s) / speed * RATE_HZ), 2)

    Raises
    ------
    av.FFmpegError, OSError, IndexError
        The sound cannot be read.
    """
    length = round((end_s - start_s) / speed * RATE_HZ)
    whole: Frames = room_for((length, 2), np.float32, KEPT_BYTES)
    seam = round(SEAM_S * RATE_HZ)
    rising = np.sin(np.pi / 2 * (np.arange(seam) + 0.5) / seam).astype(np.float32)[:, None]
    step_s = (end_s - start_s) / max(1, math.ceil((end_s - start_s) / PIECE_S))
    filled = 0
    while filled < length:
        begin = max(0, filled - seam)
        end = min(length, filled + math.ceil(step_s / speed * RATE_HZ))
        piece = _stretched(path, start_s, begin, end, speed, mono=mono)
        if begin < filled:
            whole[begin:filled] = whole[begin:filled] * rising[::-1] + piece[:seam] * rising
        whole[filled:end] = piece[filled - begin :]
        filled = end
    return whole


def _stretched(path: Path, start_s: float, begin: int, end: int, speed: float, *, mono: bool) -> Frames:
    """Samples of the slowed passage from ``begin`` to ``end``."""
    from_s, to_s = (start_s + sample / RATE_HZ * speed for sample in (begin, end))
    before = round(CONTEXT_S * RATE_HZ)
    read = read_passage(path, from_s - before / RATE_HZ, to_s + CONTEXT_S)
    first = round(before / speed)
    if mono:
        read = read.mean(axis=1, keepdims=True, dtype=np.float32)
    # as wide again by the assignment
    return slowed(read, RATE_HZ, speed)[first : first + end - begin]


def join_lead_s(path: Path, *sams_s: float) -> float:
    """Return how long before its sams a passage is to be cut, so that no stroke that comes early is cut in two.

    Parameters
    ----------
    path : Path
        The listening copy.
    *sams_s : float
        Where the passage begins and ends.

    Returns
    -------
    float
        Seconds at full speed: :data:`CLEAR_S` before the earliest stroke within :data:`EARLY_S` before any of them.
    """
    return CLEAR_S + max(_early_s(read_passage(path, sam_s - EARLY_S - _BEFORE_S, sam_s)) for sam_s in sams_s)


def _early_s(frames: Frames) -> float:
    """How long before the end of the frames a stroke rises out of what sounded before; 0 where none does."""
    hop = RATE_HZ // 1000
    change = np.diff(frames.mean(axis=1), prepend=np.float32(0)) ** 2
    strength = np.convolve(change[: len(change) // hop * hop].reshape(-1, hop).sum(axis=1), np.ones(3), "same")
    loud = 0.2 * float(strength.max(initial=0.0))
    before = round(_BEFORE_S * 1000)
    for place in range(before, len(strength)):
        usual = float(np.median(strength[place - before : place - 3]))
        if strength[place] > loud and strength[place] > _RISES * usual:
            return (len(strength) - place) / 1000
    return 0.0
