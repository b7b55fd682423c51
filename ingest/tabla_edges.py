"""Where the tabla's first and last strokes of a stretch lie, to the stroke.

What sounds like a stroke comes at a certain rate while the tabla plays, and, by mistake, at another one outside it. The
strokes heard near the edge are therefore read as a sequence of at most three phases: what sounds outside (as far off as
the tabla's own phase begins inside), a phase in which the lead alone is heard or nothing at all, as in a mukhra or
before applause, and the tabla. The likeliest division says which stroke was the first.

Conventions: seconds from the recording's start. A stroke belongs to a channel: which drum's, and how sure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ingest.evidence import Evidence
from ingest.section_features import STROKE_APART_S, STROKE_AT, peaks

Times = NDArray[np.float64]

COLUMNS = (0, 2, 3, 5)  # of evidence.strokes: bayan rings; dayan on the rim, on the sur, dead
SURE = (0.6, 0.85)
CHANNELS = len(COLUMNS) * (len(SURE) + 1)
# how far from where it was expected the edge may lie, outward and inward: a mukhra may be long, an ending is plain
FIRST_REACH_S, LAST_REACH_S = (8.0, 12.0), (8.0, 8.0)
OUTSIDE_S = (3.0, 23.0)  # from the expected edge: over which rates are counted
INSIDE_S = (10.0, 40.0)  # farther in, for a slow gat's mukhra sounds like its beginning
USUAL_COUNT, USUAL_SPAN_S = 0.3, 3.0  # as if this had been counted besides
LEAST_REST_S = 10.0
SURE_REST = 8.0  # log likelihood ratio
QUIET_RATE = 0.01  # a second in each channel
LEAD_ALONE = (0.08, 0.02, 0.01, 0.18, 0.11, 0.16, 0.11, 0.04, 0.01, 0.13, 0.06, 0.08)
"""Rates at which the lead alone is taken for a stroke, by channel: mean over alaps and jors of the tuning evenings."""
LEAD_ALONE_SPAN_S = 20.0  # so much of a recording's own alap weighs as much as that mean


@dataclass(frozen=True)
class HeardStrokes:
    """Times at which something like a stroke is heard, ascending, and the channel of each."""

    time_s: Times
    channel: NDArray[np.int64]

    def rates(self, start_s: float, end_s: float) -> Times:
        """Strokes a second in each channel, shape (CHANNELS,), a little drawn to a usual rate."""
        inside = (self.time_s >= start_s) & (self.time_s < end_s)
        count = np.bincount(self.channel[inside], minlength=CHANNELS)
        rates = (count + USUAL_COUNT) / (max(end_s - start_s, 0.0) + USUAL_SPAN_S)
        return rates.astype(np.float64)

    def lead_alone(self, spans_s: Sequence[tuple[float, float]]) -> Times:
        """Rates at which this recording's lead is taken for strokes, from spans in which it is alone."""
        count: Times = np.array(LEAD_ALONE) * LEAD_ALONE_SPAN_S
        length_s = LEAD_ALONE_SPAN_S
        for start_s, end_s in spans_s:
            inside = (self.time_s >= start_s) & (self.time_s < end_s)
            count = count + np.bincount(self.channel[inside], minlength=CHANNELS)
            length_s += end_s - start_s
        rates: Times = count / length_s
        return rates


def heard_strokes(evidence: Evidence) -> HeardStrokes:
    """Everything in a recording that sounds like a stroke of the tabla."""
    times, channels = [], []
    for number, column in enumerate(COLUMNS):
        chance = evidence.strokes[:, column].astype(np.float64)
        at = np.flatnonzero(peaks(chance, STROKE_AT, evidence.stroke_hop_s, STROKE_APART_S))
        times.append(at * evidence.stroke_hop_s)
        channels.append(number * (len(SURE) + 1) + np.digitize(chance[at], SURE))
    time_s, channel = np.concatenate(times), np.concatenate(channels)
    order = np.argsort(time_s, kind="stable")
    return HeardStrokes(time_s[order], channel[order].astype(np.int64))


def first_stroke_s(
    strokes: HeardStrokes,
    near_s: float,
    after_s: float,
    until_s: float,
    alone: Times,
    reach_s: tuple[float, float] = FIRST_REACH_S,
) -> float:
    """First stroke of a stretch with tabla that begins about ``near_s``.

    Parameters
    ----------
    strokes : HeardStrokes
    near_s : float
    after_s, until_s : float
        Where what is outside begins, and where the stretch ends.
    alone : ndarray, shape (CHANNELS,)
        Rates of the lead alone.
    reach_s : tuple of float
        How far before and after ``near_s`` the stroke may lie.

    Returns
    -------
    float
        Its time; ``near_s`` where no stroke is heard within reach.
    """
    far_s = max(near_s, min(until_s, near_s + INSIDE_S[1]))
    inside = strokes.rates(max(near_s, min(near_s + INSIDE_S[0], far_s - INSIDE_S[0])), far_s)
    outside = strokes.rates(max(after_s, near_s - OUTSIDE_S[1]), max(after_s, near_s - OUTSIDE_S[0]))
    low_s, high_s = max(after_s, near_s - reach_s[0]), min(until_s, near_s + reach_s[1])
    within = (strokes.time_s >= low_s) & (strokes.time_s <= high_s)
    time_s, channel = strokes.time_s[within], strokes.channel[within]
    if not len(time_s):
        return near_s
    phases = [outside, np.full(CHANNELS, QUIET_RATE), alone, inside]
    return float(time_s[_first_inside(time_s - low_s, high_s - low_s, channel, phases)])


def last_stroke_s(strokes: HeardStrokes, near_s: float, after_s: float, until_s: float, alone: Times) -> float:
    """Last stroke of a stretch with tabla that ends about ``near_s``: `first_stroke_s` with time running backwards."""
    back = HeardStrokes(-strokes.time_s[::-1], strokes.channel[::-1])
    return -first_stroke_s(back, -near_s, -until_s, -after_s, alone, LAST_REACH_S)


def rests_s(strokes: HeardStrokes, first_s: float, last_s: float, alone: Times) -> list[tuple[float, float]]:
    """Rests of the tabla within a stretch, each from the stroke before it to the stroke after it, in order.

    Parameters
    ----------
    strokes : HeardStrokes
    first_s, last_s : float
        The stretch.
    alone : ndarray, shape (CHANNELS,)
        Rates of the lead alone.

    Returns
    -------
    list of (float, float)
        Those longer than `LEAST_REST_S` in which the lead alone is likelier by far than a tabla that plays as in the
        rest of the stretch.
    """
    within = (strokes.time_s >= first_s) & (strokes.time_s <= last_s)
    time_s, channel = strokes.time_s[within], strokes.channel[within]
    if len(time_s) < 2:
        return []
    playing = strokes.rates(first_s, last_s)
    before = _until(time_s - first_s, channel, alone, last_s - first_s)[:-1]
    before -= _until(time_s - first_s, channel, playing, last_s - first_s)[:-1]
    begins = before + np.log(alone / playing)[channel]  # the stroke before a rest is the tabla's
    lowest = np.minimum.accumulate(begins)
    ends = int((before[1:] - lowest[:-1]).argmax()) + 1
    start = int(begins[:ends].argmin())
    if before[ends] - begins[start] < SURE_REST or time_s[ends] - time_s[start] < LEAST_REST_S:
        return []
    rest = (float(time_s[start]), float(time_s[ends]))
    return [*rests_s(strokes, first_s, rest[0], alone), rest, *rests_s(strokes, rest[1], last_s, alone)]


def _first_inside(time_s: Times, length_s: float, channel: NDArray[np.int64], phases: Sequence[Times]) -> int:
    """Number of the stroke with which the last phase begins, after the first and one of those between, or none."""
    outside, *between, inside = (_until(time_s, channel, rates, length_s) for rates in phases)
    ends = inside[-1] - inside[:-1]  # [i]: from stroke i to the end
    best, first = -np.inf, 0
    for middle in between:
        from_any = np.maximum.accumulate(outside[:-1] - middle[:-1]) + middle[:-1]
        whole = from_any + ends
        if whole.max() > best:
            best, first = float(whole.max()), int(whole.argmax())
    return first


def _until(time_s: Times, channel: NDArray[np.int64], rates: Times, length_s: float) -> Times:
    """Log likelihood of a phase from the beginning to just before each stroke, and to the end; shape (n + 1,)."""
    strokes = np.concatenate([[0.0], np.cumsum(np.log(rates)[channel])])
    likelihood: Times = strokes - rates.sum() * np.append(time_s, length_s)
    return likelihood
