"""The most likely course of the cycle through a section: Viterbi over the matra, its length and its place in time.

Model. A path is a chain of matras without gaps. Matra ``m`` of the tala (0 = sam) begins at frame ``s`` and lasts ``d``
frames; it scores what the theka's strokes in it find at their places (log likelihood ratios against coincidence). From
one matra to the next the length may change by a few per cent at a price, or jump at a high price. This is the
bar-pointer model with the laya free to change at matra boundaries only; because a matra is then scored as a whole, a
frame costs (matras x lengths) operations and not (positions in the cycle x lengths).

Marked sams are hard: a matra boundary lies on them, and the matra that begins there is sam.

Scores are whole numbers in steps of 1/256 with four bits below, which name the change of length a score came by: so one
maximum finds both, several times faster than comparing and copying.

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
CHANGE_SD = 0.035  # standard deviation of the log ratio of successive lengths, by which laya drifts
JUMP_PRICE = 14
NEVER = np.int32(-(2**30))
STEP_BITS = 4
STEP_MASK = np.int32(2**STEP_BITS - 1)
JUMP = 2 * NEIGHBOURS + 1  # the name of a jump; the changes by -NEIGHBOURS to NEIGHBOURS steps are 0 to 2 * NEIGHBOURS
UNIT = 256 << STEP_BITS
WINDOW, OVERLAP = 60_000, 10_000  # frames: about six minutes and one minute
BEGINS = 255  # in place of the change a path came by: it begins here


@dataclass(frozen=True)
class Stroke:
    """A stroke the path hopes to find: in matra ``matra``, at ``share`` of its length, worth ``score[frame]``."""

    matra: int
    share: float
    score: NDArray[np.float32]


@dataclass(frozen=True)
class Filling:
    """A stroke put in between: in any of ``matras``, at ``share`` of the matra, worth ``weight[l] * score[frame]``.

    ``weight`` (one per matra length) says how usual it is to fill in at that laya: in a slow one much is, in a fast one
    nothing. Without it a slow theka that is filled in reads as one of half the matra.
    """

    matras: tuple[int, ...]
    share: float
    score: NDArray[np.float32]
    weight: NDArray[np.float64]


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


@dataclass(frozen=True)
class Model:
    """What a section is decoded with.

    Parameters
    ----------
    strokes : sequence of Stroke
        Every score array has one value per frame of the section.
    matras : int
        Matras of the tala.
    lengths : ndarray of int, shape (l,)
        Lengths a matra may have, in frames, ascending.
    length_price : ndarray of float32, shape (l,)
        Taken off the score of every matra of that length.
    fillings : sequence of Filling
        What may be played between the strokes of the theka.
    jitter : float
        Standard deviation, in frames, by which the strokes' scatter alone makes successive matras differ.
    """

    strokes: Sequence[Stroke]
    matras: int
    lengths: NDArray[np.int64]
    length_price: NDArray[np.float32]
    fillings: Sequence[Filling] = ()
    jitter: float = 0.0


def decode(
    model: Model, frames: int, sams: Sequence[int] = (), window: int = WINDOW, overlap: int = OVERLAP
) -> Path | None:
    """Find the best path through a section.

    Parameters
    ----------
    model : Model
    frames : int
        Length of the section.
    sams : sequence of int
        Frames on which sam must fall.
    window, overlap : int
        A longer section is decoded in windows of so many frames, each going on from a matra of the one before that lies
        ``overlap`` frames before its end, by when the best path has as a rule been settled. Bounds the memory.

    Returns
    -------
    Path or None
        None when no path meets all the sams.
    """
    begins: list[NDArray[np.int64]] = []
    numbers: list[NDArray[np.int64]] = []
    first, entry, score = 0, None, 0.0
    while True:
        last = min(frames, first + window)
        part = _decode_window(model, first, last, [sam for sam in sams if first <= sam < last], entry)
        if part is None:
            return None
        keep = len(part.frame) if last == frames else int(np.searchsorted(part.frame, last - first - overlap))
        begins.append(part.frame[:keep] + first)
        numbers.append(part.matra[:keep])
        score += part.score
        if last == frames:
            return Path(np.concatenate(begins), np.concatenate(numbers), part.end + first, score)
        ends = np.append(part.frame, part.end)
        length = int(np.searchsorted(model.lengths, ends[keep + 1] - ends[keep]))
        entry = (int(part.matra[keep]), length)
        first += int(part.frame[keep])


def _decode_window(
    model: Model, first_frame: int, last_frame: int, sams: Sequence[int], entry: tuple[int, int] | None
) -> Path | None:
    """Decode frames ``first_frame`` to ``last_frame``; the path's frames are counted from ``first_frame``.

    With an ``entry`` the path begins exactly at the first frame with that matra and index of length.
    """
    lengths, matras = model.lengths, model.matras
    longest, block = int(lengths[-1]), int(lengths[0])
    window_end = longest + last_frame - first_frame  # rows are frames, with a matra's room on either side
    total = window_end + longest + 1
    sam_rows = [longest + sam - first_frame for sam in sams]
    scores = {id(score): score for score in [s.score for s in model.strokes] + [f.score for f in model.fillings]}
    room = (longest, 2 * longest + block)
    padded = {key: np.pad(_whole(score[first_frame:last_frame]), room) for key, score in scores.items()}
    offsets, filling_offsets = (
        [np.rint(part.share * lengths).astype(np.int64) for part in parts] for parts in (model.strokes, model.fillings)
    )
    prices, length_price = _change_prices(lengths, model.jitter), _whole(model.length_price)

    # open_at[row, l, m]: best score of a path whose next matra is m, begins at that row and lasts lengths[l]. Kept are
    # the last `longest` rows and the block under way, whose rows depend on none of each other.
    open_at = np.full((longest + block, len(lengths), matras), NEVER, dtype=np.int32)
    came_by = np.full((total + block, len(lengths), matras), BEGINS, dtype=np.uint8)
    jump_from = np.zeros((total + block, matras), dtype=np.uint8)
    best = _End(int(NEVER), 0, 0, 0)
    for first in range(0, total, block):
        open_at[:longest] = open_at[block:].copy()
        ends = (first + np.arange(block))[:, None]
        starts = ends - lengths
        closed = open_at[starts - first + longest, np.arange(len(lengths))]
        closed -= length_price[:, None]
        for stroke, offset in zip(model.strokes, offsets, strict=True):
            closed[:, :, stroke.matra] += padded[id(stroke.score)][np.maximum(starts + offset, 0)]
        for filling, offset in zip(model.fillings, filling_offsets, strict=True):
            found = padded[id(filling.score)][np.maximum(starts + offset, 0)]
            worth = ((found >> STEP_BITS) * filling.weight).astype(np.int32) << STEP_BITS
            closed[:, :, filling.matras] += worth[:, :, None]
        for sam in sam_rows:
            if starts[0, -1] < sam < ends[-1, 0]:
                closed[(starts < sam) & (ends > sam)] = NEVER
        best = _better_end(best, closed, starts, ends, window_end)

        opened = open_at[longest:]
        closed = np.roll(closed, 1, axis=2)
        opened[:] = _change_length(closed, prices)
        jump_from[first : first + block] = closed.argmax(axis=1)
        came_by[first : first + block] = opened & STEP_MASK
        opened &= ~STEP_MASK
        if first <= longest:
            may_begin = _beginnings(ends, lengths, longest, matras, entry)
            opened[may_begin] = 0
            came_by[first : first + block][may_begin] = BEGINS
        for sam in sam_rows:
            if first <= sam < first + block:
                opened[sam - first, :, 1:] = NEVER
    return None if best.score <= NEVER // 2 else _trace(best, came_by, jump_from, lengths, longest)


@dataclass(frozen=True)
class _End:
    """Where a path ends: score, row, index of the last matra's length, last matra."""

    score: int
    row: int
    length: int
    matra: int


def _whole(score: NDArray[np.floating]) -> NDArray[np.int32]:
    """Scores as whole numbers, the bits for the change of length empty."""
    return np.rint(np.clip(score, -1e4, 1e4) * (UNIT >> STEP_BITS)).astype(np.int32) << STEP_BITS


def _change_prices(lengths: NDArray[np.int64], jitter: float) -> NDArray[np.int32]:
    """Price of coming to length ``l`` from length ``l + k``, shape (2 * NEIGHBOURS + 1, l)."""
    logs = np.pad(np.log(lengths), NEIGHBOURS, constant_values=np.inf)
    shifted = np.lib.stride_tricks.sliding_window_view(logs, len(lengths))
    return _whole((shifted - np.log(lengths)) ** 2 / (2 * (CHANGE_SD**2 + (jitter / lengths) ** 2)))


def _change_length(closed: NDArray[np.int32], prices: NDArray[np.int32]) -> NDArray[np.int32]:
    """Best score for every next length, its lowest bits naming the change it came by; both (rows, l, matras)."""
    count = closed.shape[1]
    opened = np.repeat(closed.max(axis=1, keepdims=True) - JUMP_PRICE * UNIT + JUMP, count, axis=1)
    reach = min(NEIGHBOURS, count - 1)
    for step in range(-reach, reach + 1):
        low, high = max(0, -step), min(count, count - step)
        name = step + NEIGHBOURS
        candidate = closed[:, low + step : high + step] + (name - prices[name, low:high, None])
        np.maximum(opened[:, low:high], candidate, out=opened[:, low:high])
    return opened


def _beginnings(
    rows: NDArray[np.int64], lengths: NDArray[np.int64], longest: int, matras: int, entry: tuple[int, int] | None
) -> NDArray[np.bool_]:
    """Where a path may begin, shape (rows, l, matras): less than a matra before the window or at its start."""
    begins = np.zeros((len(rows), len(lengths), matras), dtype=bool)
    if entry is None:
        begins |= ((rows <= longest) & (rows + lengths > longest))[:, :, None]
    elif rows[0, 0] <= longest <= rows[-1, 0]:
        begins[longest - rows[0, 0], entry[1], entry[0]] = True
    return begins


def _better_end(
    best: _End, closed: NDArray[np.int32], starts: NDArray[np.int64], ends: NDArray[np.int64], window_end: int
) -> _End:
    """The best end so far or in this block, of those whose last matra begins in the window and ends past it."""
    may_end = (ends >= window_end) & (starts < window_end)
    if not may_end.any():
        return best
    scores = np.where(may_end[:, :, None], closed, NEVER)
    row, length, matra = np.unravel_index(scores.argmax(), scores.shape)
    score = int(scores[row, length, matra])
    return _End(score, int(ends[row, 0]), int(length), int(matra)) if score > best.score else best


def _trace(
    best: _End,
    came_by: NDArray[np.uint8],
    jump_from: NDArray[np.uint8],
    lengths: NDArray[np.int64],
    longest: int,
) -> Path:
    row, length, matra = best.row, best.length, best.matra
    begins, numbers = [], []
    while True:
        row -= int(lengths[length])
        begins.append(row - longest)
        numbers.append(matra)
        step = int(came_by[row, length, matra])
        if step == BEGINS:
            break
        length = int(jump_from[row, matra]) if step == JUMP else length + step - NEIGHBOURS
        matra = (matra - 1) % jump_from.shape[1]
    return Path(np.array(begins[::-1]), np.array(numbers[::-1]), best.row - longest, best.score / UNIT)
