"""The chance, frame by frame, that a stroke of a certain kind begins: what the hands do, told by a small trained
network.

A stroke on the bayan rings or is dead; one on the dayan rings from the rim, from the sur or from the middle, or is
dead; and the lead plucks. For each of these seven a network of one hidden layer looks at the loudness of the bands of
`onsets` from 35 ms before to 105 ms after the frame. The bands are first taken against their own mean over five
seconds, where drone and room stand, and against their spread over seventeen, so that gain, equalisation and loud or
soft passages count alike.

It was trained on concerts rendered by ``benchmarks/strokes`` (recorded strokes of one pair of tabla in many tunings,
and synthetic pairs far apart from each other, under many leads, rooms and codecs); the weights are in
``data/stroke_network.npz``. Chances are about calibrated there and nowhere else.

Conventions: frame ``j`` stands for ``j * CHANCE_HOP_S``. As in `onsets` a step takes a state and what came in, and
gives a state and what became ready; streaming equals batch.

References
----------
R. M. A. Rohit, A. Bhattacharjee, P. Rao, "Four-way classification of tabla strokes with transfer learning using
western drums", TISMIR 2023 (what rings on either drum as the classes; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from ingest.onsets import HOP_S

Frames = NDArray[np.float32]

STROKE_KINDS = ("bass rings", "bass dead", "rim", "sur", "open", "dead", "pluck")
EVERY = 2  # frames of the bands per frame of the chances
CHANCE_HOP_S = EVERY * HOP_S
CELL = 172  # frames of the bands: about a second; even, so that a cell holds whole frames of the chances
MEAN_CELLS, SPREAD_CELLS = 2, 8  # on either side
LEAST_SPREAD, SPREAD_FLOOR = 1e-3, 0.05  # absolute, and of the mean over the bands
OFFSETS = np.array([-6, -3, -1, 0, 1, 2, 3, 5, 8, 12, 18])  # frames of the bands the network looks at
HELD_CELLS = SPREAD_CELLS + MEAN_CELLS + 1  # a cell waits for so many after it, and so many before it are kept


@dataclass(frozen=True)
class ChanceState:
    """What is still needed: bands from cell ``first_cell`` on, shape (n, bands), and the next cell to be told."""

    bands: Frames | None
    first_cell: int
    next_cell: int


def chance_start() -> ChanceState:
    """State before the first frame."""
    return ChanceState(None, 0, 0)


def chance_step(state: ChanceState, bands: Frames) -> tuple[ChanceState, Frames]:
    """Take in loudness of bands, shape (n, bands); give the chances that became ready, shape (k, 7)."""
    held = bands if state.bands is None else np.concatenate([state.bands, bands])
    whole = state.first_cell + len(held) // CELL
    until = max(state.next_cell, whole - HELD_CELLS)
    if until == state.next_cell:
        return ChanceState(held, state.first_cell, state.next_cell), _none()
    ready = _chances(held[: (whole - state.first_cell) * CELL], state.first_cell, state.next_cell, until)
    keep_from = max(state.first_cell, until - HELD_CELLS)
    held = held[(keep_from - state.first_cell) * CELL :].copy()
    return ChanceState(held, keep_from, until), ready


def chance_end(state: ChanceState) -> Frames:
    """The chances still owed at the end, one for every second frame of the bands."""
    held = state.bands
    if held is None or not len(held):
        return _none()
    total = state.first_cell * CELL + len(held)
    lacking = -len(held) % CELL
    padded = np.concatenate([held, np.repeat(held[-1:], lacking, axis=0)]) if lacking else held
    ready = _chances(padded, state.first_cell, state.next_cell, state.first_cell + len(padded) // CELL)
    owed = -(-total // EVERY) - state.next_cell * CELL // EVERY
    return ready[:owed]


def evened(bands: Frames) -> Frames:
    """What the network sees of a whole recording: the bands against their own mean and spread; shape (n, bands)."""
    lacking = -len(bands) % CELL
    cells = np.concatenate([bands, np.repeat(bands[-1:], lacking, axis=0)]).reshape(-1, CELL, bands.shape[1])
    return _evened(cells, 0, len(cells)).reshape(-1, bands.shape[1])[: len(bands)]


def _none() -> Frames:
    return np.zeros((0, len(STROKE_KINDS)), np.float32)


def _chances(held: Frames, first_cell: int, begin: int, until: int) -> Frames:
    """Chances in the cells from ``begin`` to ``until``; ``held`` is whole cells from ``first_cell`` on."""
    from scipy.special import expit

    cells = held.reshape(-1, CELL, held.shape[1])
    low, high = max(first_cell, begin - 1), min(first_cell + len(cells), until + 1)
    even = _evened(cells, low - first_cell, high - first_cell).reshape(-1, held.shape[1])
    frame = np.arange((begin - low) * CELL, (until - low) * CELL, EVERY)
    around = np.clip(frame[:, None] + OFFSETS, 0, len(even) - 1)
    into, into_bias, out, out_bias = _network()
    hidden = np.maximum(even[around].reshape(len(around), -1) @ into + into_bias, 0.0)
    chances: Frames = expit(hidden @ out + out_bias)
    return chances


def _evened(cells: Frames, low: int, high: int) -> Frames:
    """Bands of cells ``low`` to ``high`` against their mean and spread around; shape (high - low, CELL, bands)."""
    means = cells.mean(axis=1)
    around = [means[max(0, cell - MEAN_CELLS) : cell + MEAN_CELLS + 1].mean(axis=0) for cell in range(len(cells))]
    apart = cells - np.array(around)[:, None, :]
    power = np.mean(apart**2, axis=1)
    spread = np.array(
        [power[max(0, cell - SPREAD_CELLS) : cell + SPREAD_CELLS + 1].mean(axis=0) for cell in range(low, high)]
    )
    floor = SPREAD_FLOOR * spread.mean(axis=1, keepdims=True)
    scale = np.sqrt(spread + floor) + LEAST_SPREAD
    return (apart[low:high] / scale[:, None, :]).astype(np.float32)


@cache
def _network() -> tuple[Frames, Frames, Frames, Frames]:
    """Weights into the hidden layer, shape (offsets * bands, hidden), their bias, weights out, their bias."""
    with (files("ingest") / "data" / "stroke_network.npz").open("rb") as file, np.load(file) as stored:
        names = ("into", "into_bias", "out", "out_bias")
        into, into_bias, out, out_bias = (stored[name].astype(np.float32) for name in names)
    return into, into_bias, out, out_bias
