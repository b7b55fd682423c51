"""The most likely course of the cycle through a section: Viterbi over the matra, its length and its place in time.

Model. A path is a chain of matras without gaps. Matra ``m`` of the tala (0 = sam) begins at frame ``s`` and lasts ``d``
frames; it scores what the theka's strokes in it find at their places (log likelihood ratios against coincidence). From
one matra to the next the length may change by a few per cent at a price, or jump at a high price. This is the
bar-pointer model with the laya free to change at matra boundaries only; because a matra is then scored as a whole, a
frame costs (matras x lengths) operations and not (positions in the cycle x lengths).

Marked sams are hard: a matra boundary lies on them, and the matra that begins there is sam.

Conventions: frames are those of `presence`, frame 0 at the section's start. The first matra may have begun before the
section and the last may end after it.

References
----------
N. Whiteley, A. T. Cemgil, S. Godsill, "Bayesian modelling of temporal structure in musical audio", ISMIR 2006 (the
bar-pointer model). F. Krebs, S. Boeck, G. Widmer, "An efficient state-space model for joint tempo and meter tracking",
ISMIR 2015 (tempo changes at beats only).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

LENGTH_STEP = 0.025  # ratio between neighbouring matra lengths
NEIGHBOURS = 5  # how many steps the length may change from a matra to the next at a graded price
CHANGE_SD = (
    0.05  # standard deviation of the log ratio of successive lengths: drift, and jitter beyond the strokes' reach
)
JUMP_PRICE = 14.0
NEVER = np.float32(-1e9)
BEGINS = 255  # in place of the length a path came from: it begins here


@dataclass(frozen=True)
class Stroke:
    """A stroke the path hopes to find: in matra ``matra``, at ``share`` of its length, worth ``score[frame]``."""

    matra: int
    share: float
    score: NDArray[np.float32]


@dataclass(frozen=True)
class Path:
    """A course of the cycle: frame and matra number (0 = sam) of every matra's beginning, and the log score.

    ``end`` is the frame at which the last matra ends. ``frame[0]`` may be negative, and ``end`` may lie past the
    section.
    """

    frame: NDArray[np.int64]
    matra: NDArray[np.int64]
    end: int
    score: float


def matra_lengths(shortest: int, longest: int) -> NDArray[np.int64]:
    """Lengths in frames that a matra may have, about `LENGTH_STEP` apart."""
    lengths = [shortest]
    while lengths[-1] < longest:
        lengths.append(max(lengths[-1] + 1, round(lengths[-1] * (1 + LENGTH_STEP))))
    return np.array(lengths, dtype=np.int64)


def decode(
    strokes: Sequence[Stroke],
    matras: int,
    frames: int,
    lengths: NDArray[np.int64],
    length_price: NDArray[np.float32],
    sams: Sequence[int] = (),
) -> Path | None:
    """Find the best path.

    Parameters
    ----------
    strokes : sequence of Stroke
        Every score array has shape (frames,).
    matras : int
        Matras of the tala.
    frames : int
        Length of the section.
    lengths : ndarray of int, shape (l,)
        Lengths a matra may have, ascending.
    length_price : ndarray of float32, shape (l,)
        Taken off the score of every matra of that length.
    sams : sequence of int
        Frames on which sam must fall.

    Returns
    -------
    Path or None
        None when no path meets all the sams.
    """
    longest, block = int(lengths[-1]), int(lengths[0])
    total = frames + 2 * longest + 1  # the section with a matra's room on either side
    sam_rows = [longest + sam for sam in sams]
    padded = {id(s.score): np.pad(s.score.astype(np.float32), (longest, 2 * longest + block)) for s in strokes}
    offsets = [np.rint(s.share * lengths).astype(np.int64) for s in strokes]
    prices = _change_prices(lengths)
    every_length = np.arange(len(lengths))

    # open_at[row, m, l]: best score of a path whose next matra is m, begins at that row and lasts lengths[l]. Rows
    # are the last `longest` frames and the block under way.
    open_at = np.full((longest + block, matras, len(lengths)), NEVER, dtype=np.float32)
    came_from = np.full((total + block, matras, len(lengths)), BEGINS, dtype=np.uint8)
    best = _End(float(NEVER), 0, 0, 0)
    for first in range(0, total, block):
        open_at[:longest] = open_at[block:].copy()
        ends = first + np.arange(block)
        starts = ends[:, None] - lengths
        closed = open_at[starts - first + longest, :, every_length].transpose(0, 2, 1) - length_price
        for stroke, offset in zip(strokes, offsets, strict=True):
            closed[:, stroke.matra] += padded[id(stroke.score)][np.maximum(starts + offset, 0)]
        for sam in sam_rows:
            crossing = (starts < sam) & (ends[:, None] > sam)
            closed.transpose(0, 2, 1)[crossing] = NEVER
        best = _better_end(best, closed, ends, lengths, longest + frames)

        opened, came_from[first : first + block] = _change_length(np.roll(closed, 1, axis=1), prices)
        _begin(opened, came_from, first, lengths, longest)
        for sam in sam_rows:
            if first <= sam < first + block:
                opened[sam - first, 1:] = NEVER
        open_at[longest:] = opened
    return None if best.score <= NEVER / 2 else _trace(best, came_from, matras, lengths, longest)


@dataclass(frozen=True)
class _End:
    """Where a path ends: score, row, last matra, index of its length."""

    score: float
    row: int
    matra: int
    length: int


def _change_prices(lengths: NDArray[np.int64]) -> NDArray[np.float32]:
    """Price of coming to length ``l`` from length ``l + k``, shape (2 * NEIGHBOURS + 1, l)."""
    logs = np.pad(np.log(lengths), NEIGHBOURS, constant_values=np.inf)
    shifted = np.lib.stride_tricks.sliding_window_view(logs, len(lengths))
    return ((shifted - np.log(lengths)) ** 2 / (2 * CHANGE_SD**2)).astype(np.float32)


def _change_length(
    closed: NDArray[np.float32], prices: NDArray[np.float32]
) -> tuple[NDArray[np.float32], NDArray[np.uint8]]:
    """Best score for every next length, and the index of the length it came from; all of shape (rows, matras, l)."""
    count = closed.shape[2]
    jump_from = closed.argmax(axis=2)
    opened = np.repeat(closed.max(axis=2, keepdims=True) - np.float32(JUMP_PRICE), count, axis=2)
    came_from = np.repeat(jump_from[:, :, None].astype(np.uint8), count, axis=2)
    for step in range(-NEIGHBOURS, NEIGHBOURS + 1):
        low, high = max(0, -step), min(count, count - step)
        candidate = closed[:, :, low + step : high + step] - prices[step + NEIGHBOURS, low:high]
        better = candidate > opened[:, :, low:high]
        np.copyto(opened[:, :, low:high], candidate, where=better)
        sources = np.arange(low + step, high + step, dtype=np.uint8)
        np.copyto(came_from[:, :, low:high], sources, where=better)
    return opened, came_from


def _begin(
    opened: NDArray[np.float32],
    came_from: NDArray[np.uint8],
    first: int,
    lengths: NDArray[np.int64],
    longest: int,
) -> None:
    """Let paths begin less than one matra before the section or at its start; nothing reaches these rows otherwise."""
    rows = first + np.arange(len(opened))
    may_begin = (rows[:, None] <= longest) & (rows[:, None] + lengths > longest)
    opened.transpose(0, 2, 1)[may_begin] = 0.0
    came_from[first : first + len(opened)].transpose(0, 2, 1)[may_begin] = BEGINS


def _better_end(
    best: _End, closed: NDArray[np.float32], ends: NDArray[np.int64], lengths: NDArray[np.int64], section_end: int
) -> _End:
    """The best end so far or in this block, of those whose last matra begins in the section and ends past it."""
    rows = ends[:, None]
    may_end = (rows >= section_end) & (rows - lengths < section_end)
    if not may_end.any():
        return best
    scores = np.where(may_end[:, None, :], closed, NEVER)
    row, matra, length = np.unravel_index(scores.argmax(), scores.shape)
    score = float(scores[row, matra, length])
    return _End(score, int(ends[row]), int(matra), int(length)) if score > best.score else best


def _trace(best: _End, came_from: NDArray[np.uint8], matras: int, lengths: NDArray[np.int64], longest: int) -> Path:
    row, matra, length = best.row, best.matra, best.length
    begins, numbers = [], []
    while True:
        row -= int(lengths[length])
        begins.append(row - longest)
        numbers.append(matra)
        source = int(came_from[row, matra, length])
        if source == BEGINS:
            break
        matra, length = (matra - 1) % matras, source
    return Path(np.array(begins[::-1]), np.array(numbers[::-1]), best.row - longest, best.score)
