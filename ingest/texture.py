"""The colour of the sound, coarsely: what tells talk and applause from strings, and strings from strings with tabla.

The loudness of the bands of `onsets` (energy to the power 0.2), gathered into ten wider ones and averaged over a fifth
of a second, as a stream.

Conventions: row ``j`` is the mean of the frames from ``j * FRAMES`` on, that is over the ``TEXTURE_HOP_S`` seconds that
begin at ``j * TEXTURE_HOP_S`` (to half a frame); columns from low to high, the first two in the bayan's range. The last
row is the mean of what is left.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ingest.onsets import HOP_S, TREBLE_BANDS

Rows = NDArray[np.float32]

FRAMES = 32
TEXTURE_HOP_S = FRAMES * HOP_S
BASS_COLUMNS, TREBLE_COLUMNS = 2, 8
TEXTURE_BANDS = BASS_COLUMNS + TREBLE_COLUMNS


@dataclass(frozen=True)
class TextureState:
    """Loudness of the frames that do not yet fill a row, shape (n, bands); None before the first frame."""

    waiting: Rows | None = None


def texture_start() -> TextureState:
    """State before the first block."""
    return TextureState()


def texture_step(state: TextureState, loudness: Rows) -> tuple[TextureState, Rows]:
    """Take in the loudness of frames by band, shape (n, bands), the bass first; give the rows that became whole."""
    frames = loudness if state.waiting is None else np.concatenate([state.waiting, loudness])
    whole = len(frames) // FRAMES
    means = frames[: whole * FRAMES].reshape(whole, FRAMES, frames.shape[1]).mean(axis=1)
    return TextureState(frames[whole * FRAMES :].copy()), _gathered(means)


def texture_end(state: TextureState) -> Rows:
    """The last row, of the frames left over; none when there are none."""
    if state.waiting is None or not len(state.waiting):
        return np.zeros((0, TEXTURE_BANDS), np.float32)
    return _gathered(state.waiting.mean(axis=0, keepdims=True))


def _gathered(loudness: Rows) -> Rows:
    bass = np.array_split(loudness[:, :-TREBLE_BANDS], BASS_COLUMNS, axis=1)
    treble = np.array_split(loudness[:, -TREBLE_BANDS:], TREBLE_COLUMNS, axis=1)
    return np.stack([part.mean(axis=1) for part in (*bass, *treble)], axis=1).astype(np.float32)
