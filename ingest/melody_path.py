"""The most likely path through scores of pitches: Viterbi, compiled, block by block.

From frame to frame a path may glide by some steps, which costs a little each, or jump anywhere, which costs more. A
block is decided when the block after it is there, so that memory does not grow and the path is that of the whole but
for choices that more than a block of later frames would change.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ingest.melody_spectra import Floats

WIDEST_STEP = 8  # pitch steps that a glide may take from frame to frame
STEP_COST, JUMP_COST = 0.3, 8.0  # log probability

Path = NDArray[np.int64]


def best_path(blocks: Iterable[Floats]) -> Iterator[Path]:
    """Pitch of every frame.

    Parameters
    ----------
    blocks : iterable of ndarray of float32, shape (n, pitches)
        Log probabilities of the pitches, frame by frame.

    Yields
    ------
    ndarray of int, shape (n,)
        For each block.
    """
    forward, backward = _compiled()
    total: NDArray[np.float64] | None = None
    waiting: NDArray[np.int16] | None = None
    for scores in blocks:
        if total is None:
            total = np.zeros(scores.shape[1])
        came_from = np.zeros(scores.shape, np.int16)
        forward(scores, total, came_from, STEP_COST, JUMP_COST, WIDEST_STEP)
        if waiting is not None:
            entered = backward(came_from, int(total.argmax()))[0]
            yield backward(waiting, int(came_from[0, entered]))
        waiting = came_from
    if waiting is not None and total is not None:
        yield backward(waiting, int(total.argmax()))


@cache
def _compiled() -> tuple[Any, Any]:
    """The two passes, compiled once for this machine and kept beside this file or in the user's own cache folder."""
    import numba

    try:
        return numba.njit(cache=True)(_forward), numba.njit(cache=True)(_backward)
    except RuntimeError:  # neither place can be written: a second of compiling in every process
        return numba.njit(_forward), numba.njit(_backward)


def _forward(
    scores: Floats,
    total: NDArray[np.float64],
    came_from: NDArray[np.int16],
    step_cost: float,
    jump_cost: float,
    widest: int,
) -> None:
    """Take ``total`` (the best path to each pitch) through a block; ``came_from`` is filled in."""
    frames, pitches = scores.shape
    new = np.empty(pitches)
    for frame in range(frames):
        far = 0
        for pitch in range(pitches):
            if total[pitch] > total[far]:
                far = pitch
        top = total[far]
        for pitch in range(pitches):
            best, source = top - jump_cost, far
            for other in range(max(0, pitch - widest), min(pitches, pitch + widest + 1)):
                reached = total[other] - step_cost * abs(pitch - other)
                if reached > best:
                    best, source = reached, other
            new[pitch] = best - top + scores[frame, pitch]
            came_from[frame, pitch] = source
        total[:] = new


def _backward(came_from: NDArray[np.int16], last: int) -> Path:
    """The path through a block that ends on a pitch."""
    frames = came_from.shape[0]
    path = np.empty(frames, np.int64)
    pitch = last
    for frame in range(frames - 1, -1, -1):
        path[frame] = pitch
        pitch = came_from[frame, pitch]
    return path
