"""How loud a sound is by the standard for broadcasts, and made as loud as wanted without clipping.

Aim
    Files that are heard one after the other are to be equally loud, however loud their sounds were recorded. Loudness
    is measured by libavfilter's ``ebur128`` (through PyAV), the gain is one factor for the whole sound, and where peaks
    would then pass the ceiling a limiter bends them down for some milliseconds.

Conventions: sound is float32, shape (n, 2), full scale 1. Loudness is the integrated loudness in LUFS, peaks are true
peaks in dBTP (between the samples too).

References
----------
EBU R 128, Loudness normalisation and permitted maximum level of audio signals (2020). ITU-R BS.1770-4, Algorithms to
measure audio programme loudness and true-peak audio level (2015).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ingest.streams import Frames

LOOK_AHEAD_S = 0.005
"""So long before and after a peak the limiter is at work."""
SHORTEST_S = 0.4
"""One gating block of BS.1770: of a shorter sound no loudness can be told."""
GATE_LUFS = -70.0
"""The absolute gate: what is softer throughout has no loudness."""

_OVERSAMPLED = 4  # BS.1770-4, annex 2
_AROUND = 64  # samples of context for the oversampling
_PIECE = 4096  # samples looked at together
_BETWEEN_SAMPLES = 0.7  # a piece whose highest sample lies 3 dB below the ceiling has no true peak above it


@dataclass(frozen=True)
class Loudness:
    """Integrated loudness in LUFS (-inf for silence or less than :data:`SHORTEST_S`), highest peak in dB."""

    lufs: float
    peak_db: float


class Meter:
    """Measures stereo sound block by block.

    Parameters
    ----------
    rate_hz : int
    between_samples : bool
        Whether peaks between the samples are looked for, which takes three times as long; else the highest sample is
        the peak.
    """

    def __init__(self, rate_hz: int, *, between_samples: bool = True) -> None:
        import av
        import av.filter

        kind = "true" if between_samples else "sample"
        self._peak_told = f"lavfi.r128.{kind}_peak"
        graph = av.filter.Graph()
        self._source = graph.add_abuffer(
            sample_rate=rate_hz, format="flt", layout="stereo", time_base=Fraction(1, rate_hz)
        )
        measuring, self._sink = graph.add("ebur128", f"metadata=1:peak={kind}"), graph.add("abuffersink")
        self._source.link_to(measuring)
        measuring.link_to(self._sink)
        graph.configure()
        self._graph, self._rate_hz = graph, rate_hz
        self._measured, self._last = 0, dict[str, str]()

    def add(self, frames: Frames) -> None:
        """Take in the next frames, shape (n, 2)."""
        import av

        if not len(frames):
            return
        packed = np.ascontiguousarray(frames, np.float32).reshape(1, -1)
        frame = av.AudioFrame.from_ndarray(packed, format="flt", layout="stereo")
        frame.sample_rate, frame.pts, frame.time_base = self._rate_hz, self._measured, Fraction(1, self._rate_hz)
        self._measured += len(frames)
        self._source.push(frame)
        self._pull()

    def finish(self) -> Loudness:
        """Return what was measured of all that was added."""
        self._source.push(None)
        self._pull()
        lufs = float(self._last.get("lavfi.r128.I", "-inf"))
        peak = float(self._last.get(self._peak_told, "0"))
        heard = lufs > GATE_LUFS and self._measured >= SHORTEST_S * self._rate_hz
        return Loudness(lufs if heard else -math.inf, decibels(peak))

    def _pull(self) -> None:
        import av

        while True:
            try:
                told: dict[str, Any] = dict(self._sink.pull().metadata)
            except (BlockingIOError, av.error.EOFError):
                return
            self._last = told or self._last


def measured(blocks: Iterable[Frames], rate_hz: int) -> Loudness:
    """Return the loudness of a sound that comes in blocks of shape (n, 2)."""
    meter = Meter(rate_hz)
    for block in blocks:
        meter.add(block)
    return meter.finish()


def decibels(ratio: float) -> float:
    """Return a ratio of amplitudes in dB; -inf for 0."""
    return 20 * math.log10(ratio) if ratio > 0 else -math.inf


def ratio_of(db: float) -> float:
    """Return the ratio of amplitudes of so many dB."""
    return float(10 ** (db / 20))


def limited(blocks: Iterable[Frames], gain: float, ceiling: float, rate_hz: int) -> Iterator[Frames]:
    """Make a sound louder, or softer, and bend down what would pass a ceiling.

    Parameters
    ----------
    blocks : iterable of ndarray of float32, shape (n, 2)
    gain : float
        Factor for all of it.
    ceiling : float
        Linear true peak that is not to be passed. Before and after a peak above it the gain goes down and comes back
        within twice :data:`LOOK_AHEAD_S`, the same in both channels; elsewhere nothing is changed.
    rate_hz : int

    Yields
    ------
    ndarray of float32, shape (m, 2)
        As many frames in all as came.
    """
    from scipy.ndimage import minimum_filter1d, uniform_filter1d

    reach = round(LOOK_AHEAD_S * rate_hz)
    span = 2 * reach + 1
    before = np.ones(2 * reach)  # what is wanted of the gain at the samples that have been given out
    held = np.zeros((0, 2), np.float32)
    wanted = np.zeros(0)
    for framed, last in _framed(block * np.float32(gain) for block in blocks):
        held = np.concatenate([held, framed[_AROUND:-_AROUND]])
        wanted = np.concatenate([wanted, _wanted(framed, ceiling)])
        ready = len(held) if last else max(0, len(held) - 2 * reach)
        if not ready:
            continue
        course = np.concatenate([before, wanted, np.ones(2 * reach if last else 0)])
        if course.min() < 1:
            bent = uniform_filter1d(minimum_filter1d(course, span, mode="nearest"), span, mode="nearest")
            yield (held[:ready] * bent[2 * reach : 2 * reach + ready, None]).astype(np.float32)
        else:
            yield held[:ready]
        before = course[ready : ready + 2 * reach]
        held, wanted = held[ready:], wanted[ready:]


def _framed(blocks: Iterable[Frames]) -> Iterator[tuple[Frames, bool]]:
    """Stretches of the sound, each with what sounds around it, and whether it is the last; silence lies around all."""
    waiting = np.zeros((_AROUND, 2), np.float32)
    for block in blocks:
        for first in range(0, len(block), _PIECE):
            waiting = np.concatenate([waiting, block[first : first + _PIECE]])
            if len(waiting) > 2 * _AROUND:
                yield waiting, False
                waiting = waiting[-2 * _AROUND :]
    yield np.concatenate([waiting, np.zeros((_AROUND, 2), np.float32)]), True


def _wanted(framed: Frames, ceiling: float) -> NDArray[np.float64]:
    """The gain at every sample but those around that would keep it, and what lies after it, below the ceiling."""
    count = len(framed) - 2 * _AROUND
    if not count or max(abs(float(framed.min())), float(framed.max())) <= _BETWEEN_SAMPLES * ceiling:
        return np.ones(count)
    from scipy.signal import resample_poly

    # between the samples, at four times the rate; of both channels the higher
    fine = np.abs(resample_poly(np.ascontiguousarray(framed.T), _OVERSAMPLED, 1, axis=1, window=_fine_filter()))
    highest = np.maximum(fine[0], fine[1]).reshape(-1, _OVERSAMPLED)[_AROUND:-_AROUND]
    peaks = np.maximum.reduce([highest[:, place] for place in range(_OVERSAMPLED)])
    at = np.abs(framed[_AROUND:-_AROUND])
    return np.minimum(1.0, ceiling / np.maximum(np.maximum(peaks, np.maximum(at[:, 0], at[:, 1])), 1e-9))


@cache
def _fine_filter() -> NDArray[np.float32]:
    """Low-pass for the oversampling: 20 samples to either side."""
    from scipy.signal import firwin

    taps: NDArray[np.float32] = firwin(2 * 20 * _OVERSAMPLED + 1, 1 / _OVERSAMPLED, window=("kaiser", 5.0))
    return taps.astype(np.float32)
