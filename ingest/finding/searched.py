"""A course made ready to be searched, and how alike a passage and every place of it are.

The passage is held against all places at once: products by Fourier transforms along time and, for all turns of the
pitch classes or of a ladder's rungs at once, along these too.

Conventions: a *lag* is the column at which the passage would begin.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ingest.finding.course import CLASSES, Course
from ingest.finding.lattice import Floats

LEAST_COLUMNS = 6
QUIET_SHARE = 0.25
"""A place counts as at least so loud as a share of the passage, lest next to nothing be like it."""

Ladder = tuple[int, ...]
"""Pitch classes of the rungs on which a raga's swaras stand, ascending: all of them, or those of its aroha."""


def on_ladder(pitch: Floats, ladder: Ladder) -> Floats:
    """Weights of the twelve semitones as weights of a ladder's rungs; what stands on none counts to the one below."""
    rung = [max((each for each in ladder if each <= semitone), default=ladder[-1]) for semitone in range(CLASSES)]
    folded = np.zeros((CLASSES, len(ladder)), np.float32)
    folded[np.arange(CLASSES), [ladder.index(each) for each in rung]] = 1
    return pitch @ folded


class Searched:
    """A course made ready to be searched: its transforms, made once.

    Parameters
    ----------
    course : Course
    ladders : sequence of Ladder
        Of the course's raga. The passage has as many, and steps are compared on those that have equally many rungs.
    """

    def __init__(self, course: Course, ladders: Sequence[Ladder] = ()) -> None:
        from scipy.fft import next_fast_len

        size = next_fast_len(len(course), real=True)  # lags that would go round are left out
        columns = course.columns
        self.course, self.ladders = course, tuple(ladders)
        self.pitch = Stream(columns.pitch, size)
        self.plucks = Stream(columns.plucks[:, None], size)
        self.tabla = Stream(columns.tabla, size)
        self.steps = tuple(Stream(on_ladder(columns.pitch, ladder), size) for ladder in self.ladders)


class Stream:
    """Rows of a course with their transform and running energy."""

    def __init__(self, rows: Floats, size: int) -> None:
        from scipy.fft import fft, rfft

        self.size = size
        self.transform = fft(rfft(rows.T, size, axis=1), axis=0)
        self.energy = np.concatenate([[0.0], np.cumsum(np.einsum("nk,nk->n", rows, rows), dtype=np.float64)])

    def shared(self, rows: Floats, turned: bool) -> Floats:
        """Products with a passage at every lag: shape (k, n) for all turns of the k rows, else (1, n)."""
        from scipy.fft import fft, ifft, irfft, rfft

        own = fft(rfft(rows.T, self.size, axis=1), axis=0)
        product = self.transform * own.conj()
        product = ifft(product, axis=0) if turned else product.mean(axis=0, keepdims=True)
        lags = len(self.energy) - len(rows)
        found: Floats = irfft(product, self.size, axis=1)[:, :lags]
        return found

    def energies(self, count: int) -> NDArray[np.float64]:
        """Energy of every stretch of so many columns."""
        return self.energy[count:] - self.energy[:-count]


def cosines(
    shared: Floats, rows: Floats, stream: Stream, more: tuple[float, NDArray[np.float64]] | None = None
) -> Floats:
    """Cosine of a passage and every lag, shape as ``shared``.

    Parameters
    ----------
    shared : ndarray of float32, shape (k, l)
        Their products.
    rows : ndarray of float32, shape (m, d)
        The passage.
    stream : Stream
        What it was held against.
    more : (float, ndarray of float, shape (l,)), optional
        Energies of the passage and of every lag that are in ``shared`` as well.
    """
    own = float(np.square(rows).sum())
    there = stream.energies(len(rows))
    if more is not None:
        own, there = own + more[0], there + more[1]
    found: Floats = (shared / np.sqrt(own * np.maximum(there, QUIET_SHARE * own))).astype(np.float32)
    return found
