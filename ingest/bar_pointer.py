"""The most likely course of the cycle through a section: Viterbi over the matra, its length and its place in time.

Model. A path is a chain of matras without gaps. Matra ``m`` of the tala (0 = sam) begins at a frame and lasts a
nominal length, give or take a frame or two at a price; it scores what the theka's strokes in it, and strokes filled
in between, find at their places (log likelihood ratios against coincidence). From one matra to the next the nominal
length may change by a few per cent at a price, or jump at a high price. So the laya flows while each stroke may come
a little early or late: the two are kept apart, or the laya would run after every stroke. At sam the tabla may leave
the theka for a solo, in which any stroke counts, at equal parts of the matra, and come back at a later sam.

This is the bar-pointer model with the laya free to change at matra boundaries only; because a matra is then scored as
a whole, a frame costs (matras x lengths) operations and not (positions in the cycle x lengths).

Marked sams are hard: a matra boundary lies on them, and the matra that begins there is sam. A sam between two marks
that nobody marked costs something: two marks are as a rule one avartan.

Conventions: frame 0 is the section's start. The first matra may have begun before the section and the last may end
after it.

References
----------
N. Whiteley, A. T. Cemgil, S. Godsill, "Bayesian modelling of temporal structure in musical audio", ISMIR 2006 (the
bar-pointer model). F. Krebs, S. Boeck, G. Widmer, "An efficient state-space model for joint tempo and meter
tracking", ISMIR 2015 (tempo changes at beats only).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from ingest.viterbi import Window

Scores = NDArray[np.float32]

LENGTH_STEP = 0.02  # ratio between neighbouring matra lengths
CHANGE_SD = 0.014  # standard deviation of the log ratio of successive nominal lengths, by which laya flows
JUMP_PRICE = 30.0
SLACK, SLACK_PRICE = (
    2,
    0.2,
)  # frames a matra may last longer or shorter than its nominal length; price per frame squared
SOLO_ENTRY, SOLO_PRICE = 12.0, 0.5  # on leaving the theka, and per matra of a solo
UNMARKED_PRICE = 3.0
WINDOW, OVERLAP = 24_000, 8_600  # frames of 11.6 ms: 280 s and 100 s


@dataclass(frozen=True)
class Stroke:
    """A stroke of the theka: in matra ``matra``, at ``share`` of its length, worth ``score[frame]``."""

    matra: int
    share: float
    score: Scores


@dataclass(frozen=True)
class Filling:
    """Places between the strokes where others may be put in.

    Parameters
    ----------
    share : float
        Where in the matra.
    level : ndarray of int, shape (l,)
        How usual that is at each matra length: 0 not looked for, else the number of a row of the scores, from 1.
    """

    share: float
    level: NDArray[np.int64]


@dataclass(frozen=True)
class Model:
    """What a section is decoded with. Every score has one value per frame of the section.

    Parameters
    ----------
    strokes : sequence of Stroke
    matras : int
        Matras of the tala.
    lengths : ndarray of float64, shape (l,)
        Nominal lengths a matra may have, in frames, ascending.
    open_side : ndarray of bool, shape (matras,)
        Where the bayan is open, so that what is filled in may ring.
    fillings : sequence of Filling
    fill : ndarray of float32, shape (2, levels, frames)
        Score of a filled place on the open and on the closed side, by level.
    hit : ndarray of float32, shape (frames,)
        Score of any stroke, for solos; empty for none.
    solo_parts : ndarray of int, shape (k, l)
        Into how many equal parts a solo may divide a matra of each length; 0 for none.
    slack : int
        Frames by which a matra may last longer or shorter than its nominal length.
    """

    strokes: Sequence[Stroke]
    matras: int
    lengths: NDArray[np.float64]
    open_side: NDArray[np.bool_]
    fillings: Sequence[Filling] = ()
    fill: Scores = field(default_factory=lambda: np.zeros((2, 1, 0), np.float32))
    hit: Scores = field(default_factory=lambda: np.zeros(0, np.float32))
    solo_parts: NDArray[np.int64] = field(default_factory=lambda: np.zeros((0, 0), np.int64))
    slack: int = SLACK


@dataclass(frozen=True)
class Path:
    """A course of the cycle: frame and matra number (0 = sam) of every matra's beginning, and the log score.

    ``solo`` tells the matras in which the theka was left. ``end`` is the frame at which the last matra ends.
    ``frame[0]`` may be negative, and ``end`` may lie past the section.
    """

    frame: NDArray[np.int64]
    matra: NDArray[np.int64]
    solo: NDArray[np.bool_]
    end: int
    score: float


def matra_lengths(shortest: float, longest: float) -> NDArray[np.float64]:
    """Nominal lengths in frames that a matra may have, `LENGTH_STEP` apart."""
    count = int(np.ceil(np.log(longest / shortest) / np.log1p(LENGTH_STEP))) + 1
    return np.asarray(shortest * (1 + LENGTH_STEP) ** np.arange(count), dtype=np.float64)


@dataclass(frozen=True)
class _Entry:
    """Where a window takes over: the state of its first matra."""

    state: int
    length: int


def decode(
    model: Model,
    frames: int,
    sams: Sequence[int] = (),
    window: int = WINDOW,
    overlap: int = OVERLAP,
    first: int = 0,
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
    first : int
        Frame to begin at, when only the section from there on to ``frames`` is looked at.

    Returns
    -------
    Path or None
        None when no path meets all the sams.
    """
    parts: list[Path] = []
    entry, score = None, 0.0
    while True:
        last = min(frames, first + window)
        decoded = _decode_window(model, first, last, sams, entry)
        if decoded is None:
            return None
        part, states, lengths = decoded
        keep = len(part.frame) if last == frames else int(np.searchsorted(part.frame, last - first - overlap))
        keep = max(keep, min(1, len(part.frame)))
        parts.append(Path(part.frame[:keep] + first, part.matra[:keep], part.solo[:keep], part.end + first, part.score))
        score += part.score
        if last == frames or keep == len(part.frame):
            break
        entry = _Entry(int(states[keep]), int(lengths[keep]))
        first += int(part.frame[keep])
    return Path(
        np.concatenate([part.frame for part in parts]),
        np.concatenate([part.matra for part in parts]),
        np.concatenate([part.solo for part in parts]),
        parts[-1].end,
        score,
    )


def _decode_window(
    model: Model, first: int, last: int, sams: Sequence[int], entry: _Entry | None
) -> tuple[Path, NDArray[np.int64], NDArray[np.int64]] | None:
    """Decode frames ``first`` to ``last``; the path's frames are counted from ``first``; states and lengths with it."""
    from ingest.viterbi import best_way

    room = round(float(model.lengths[-1])) + model.slack
    way = best_way(_window(model, first, last, sams, entry, room))
    if way is None:
        return None
    solo = way.state >= model.matras
    path = Path(way.row - room, way.state % model.matras, solo, way.end - room, way.score)
    return path, way.state, way.length


def _window(model: Model, first: int, last: int, sams: Sequence[int], entry: _Entry | None, room: int) -> Window:
    """Lay the scores of a window out, with room for a longest matra before and after."""
    from ingest.viterbi import Window

    lengths = np.rint(model.lengths).astype(np.int64)
    rows = last - first + 2 * room + 1
    solo_parts = model.solo_parts.reshape(-1, len(lengths)).astype(np.int64).T.copy()

    def padded(scores: Scores) -> Scores:
        part = scores[..., first:last]
        around = [(0, 0)] * (scores.ndim - 1) + [(room, rows - room - part.shape[-1])]
        return np.ascontiguousarray(np.pad(part, around), dtype=np.float32)

    begins = [np.zeros(last, np.float32) for _ in range(model.matras)]
    for stroke in model.strokes:
        if stroke.share == 0:
            begins[stroke.matra] = begins[stroke.matra] + stroke.score[:last]
    inner = [stroke for stroke in model.strokes if stroke.share > 0]
    return Window(
        theka=np.ascontiguousarray(padded(np.stack(begins)).T),
        inner_matra=np.array([stroke.matra for stroke in inner], np.int64),
        inner_share=np.array([stroke.share for stroke in inner], np.float64),
        inner=padded(np.stack([stroke.score for stroke in inner])) if inner else np.zeros((0, rows), np.float32),
        open_side=model.open_side.astype(np.float32),
        fill=padded(model.fill),
        fill_at=_places(lengths, np.array([filling.share for filling in model.fillings])),
        fill_level=np.array([filling.level for filling in model.fillings], np.int64).reshape(-1, len(lengths)).T.copy(),
        hit=padded(model.hit),
        solo_at=_solo_places(lengths, solo_parts),
        solo_parts=solo_parts,
        lengths=lengths,
        change=_change_prices(model.lengths),
        begin=_beginnings(lengths, model.matras, entry),
        first_row=room,
        entered=entry is not None,
        last_row=room + last - first,
        marks=_running([room + sam - first for sam in sams if first <= sam < last], rows),
        between=_running(_between(sams, first - room, rows), rows),
        slack=model.slack,
        slack_price=np.float32(SLACK_PRICE),
        jump_price=np.float32(JUMP_PRICE),
        solo_price=np.float32(SOLO_PRICE),
        solo_entry=np.float32(SOLO_ENTRY),
        unmarked_price=np.float32(UNMARKED_PRICE),
    )


def _places(lengths: NDArray[np.int64], shares: NDArray[np.float64]) -> NDArray[np.int64]:
    """Shares of the matra as frames from its beginning, to the nearest; shape (l, shares)."""
    return (lengths[:, None] * shares[None, :] + 0.5).astype(np.int64)


def _solo_places(lengths: NDArray[np.int64], parts: NDArray[np.int64]) -> NDArray[np.int64]:
    """Frames from the matra's beginning of the parts of a solo; shape (l, k, most parts)."""
    most = int(parts.max(initial=1))
    shares = np.arange(most) / np.maximum(parts, 1)[:, :, None]
    return (lengths[:, None, None] * shares + 0.5).astype(np.int64)


def _between(sams: Sequence[int], first_row: int, rows: int) -> Sequence[int]:
    """Rows between the first marked sam and the last."""
    if len(sams) < 2:
        return ()
    return range(*(int(np.clip(sam - first_row, 0, rows)) for sam in (min(sams), max(sams))))


def _running(counted: Sequence[int], rows: int) -> NDArray[np.int64]:
    """How many of the rows counted lie before each row, shape (rows + 1,)."""
    counts = np.zeros(rows + 1, np.int64)
    counts[np.asarray(counted, dtype=np.int64) + 1] = 1
    return np.cumsum(counts)


def _change_prices(lengths: NDArray[np.float64]) -> Scores:
    """Price of coming to length ``l`` from length ``l + step - NEIGHBOURS``, shape (steps, l)."""
    from ingest.viterbi import NEIGHBOURS

    logs = np.pad(np.log(lengths), NEIGHBOURS, constant_values=np.inf)
    shifted = np.lib.stride_tricks.sliding_window_view(logs, len(lengths))
    return ((shifted - np.log(lengths)) ** 2 / (2 * CHANGE_SD**2)).astype(np.float32)


def _beginnings(lengths: NDArray[np.int64], matras: int, entry: _Entry | None) -> Scores:
    """Score with which a path may begin in each state, shape (l, 2 * matras)."""
    from ingest.viterbi import NEVER

    begin = np.full((len(lengths), 2 * matras), NEVER, np.float32)
    if entry is None:
        begin[:, :matras] = 0.0
        begin[:, matras:] = -SOLO_ENTRY
    else:
        begin[entry.length, entry.state] = 0.0
    return begin
