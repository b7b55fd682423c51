"""Where the tabla's first and last strokes of a stretch lie, to the stroke, and where it rests for long.

What sounds like a stroke comes at a certain pace, and sounds in a certain way, while the tabla plays, and, by mistake,
at another pace and in another way outside it. The strokes heard near the edge are therefore read as a sequence of at
most three phases: what sounds outside (as far off as the tabla's own phase begins inside), a phase in which the lead
alone is heard or nothing at all, as in a mukhra or before applause, and the tabla. The likeliest division says which
stroke was the first.

A stroke is one event, though two drums may sound in it: what counts of it is how sure each drum is heard, and whether a
pluck is heard at the same time, of which it may be the mistaken half. Outside, events come by chance (a Poisson
process); the tabla has gaps of its own, short ones where it fills the matra and long ones where it lets it ring, and
the lengths of the gaps that it makes farther in say how unusual a gap near the edge is (a renewal process).

Conventions: seconds from the recording's start.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ingest.evidence import Evidence
from ingest.section_features import STROKE_APART_S, STROKE_AT, peaks

Times = NDArray[np.float64]
Spans = Sequence[tuple[float, float]]

COLUMNS = (0, 2, 3, 5)  # of evidence.strokes: bayan rings; dayan on the rim, on the sur, dead
PLUCK = 6
SURE = (STROKE_AT, 0.6, 0.85)
LEVELS = len(SURE) + 1
LIKELY_LEVEL = 2  # the level of a drum from which a stroke is more likely than not
PLUCKED = (0.2, 0.5, 0.85)
SIGNS = len(COLUMNS) + 1
ONE_STROKE_S = 0.04
# how far from where it was expected the edge may lie, outward and inward: a mukhra may be long, an ending is plain
FIRST_REACH_S, LAST_REACH_S = (8.0, 12.0), (8.0, 8.0)
OUTSIDE_S = (3.0, 23.0)  # from the expected edge: over which events are counted
INSIDE_S = (10.0, 40.0)  # farther in, for a slow gat's mukhra sounds like its beginning
USUAL_COUNT, USUAL_SPAN_S = 1.0, 3.0  # as if so many events had been counted besides
QUIET_RATE, SILENT_SHARE = 0.1, 0.2  # events a second; gaps in which the lead is silent
BETWEEN_PRICE = 2.0  # log likelihood: the lead alone, other than outside, before the tabla
LEAD_ALONE_SPAN_S = 20.0  # so much of a recording's own alap weighs as much as the usual lead
LEAST_REST_S = 10.0  # a tabla that rests for less goes on playing
SURE_REST = 4.0  # log likelihood ratio
AROUND_REST_S = 40.0  # before and after a rest: how the tabla plays there
LEAST_SHARE = 0.05  # of the tabla's strokes have any one level of a sign, however the lead sounds
GAP_EDGES_S = np.geomspace(0.04, LEAST_REST_S, 17)
GAPS_BY_CHANCE = 8.0  # a tabla's gaps are counted as if there were so many besides, drawn at its mean pace
LONG_GAPS = 1.0  # and as if so many more were of any length short of a rest
NEVER = 1e-3  # and only so many as long as one, whatever was counted

# The lead alone (alap and jor) and the tabla, as they are heard on the tuning evenings 1-32 and concerts 1-6 and 11-22:
# events a second, and the share of them with each level of bayan, dayan on the rim, on the sur, dead, and pluck.
LEAD_RATE = 0.75
LEAD_SIGNS = np.array(
    [[0.64, 0.22, 0.10, 0.04], [0.62, 0.27, 0.085, 0.025], [0.86, 0.11, 0.025, 0.005], [0.735, 0.19, 0.06, 0.015],
     [0.18, 0.04, 0.13, 0.65]]
)  # fmt: skip
TABLA_SIGNS = np.array(
    [[0.59, 0.06, 0.04, 0.31], [0.50, 0.09, 0.06, 0.35], [0.75, 0.09, 0.05, 0.11], [0.71, 0.12, 0.06, 0.11],
     [0.17, 0.10, 0.16, 0.57]]
)  # fmt: skip


@dataclass(frozen=True)
class Phase:
    """How events come and how they sound while something goes on.

    Attributes
    ----------
    rate : float
        Events a second.
    signs : ndarray, shape (SIGNS, LEVELS)
        Chance that an event has each level of each sign: the drums in the order of `COLUMNS`, and the pluck.
    gap_density : ndarray, shape (len(GAP_EDGES_S) + 1,), or None
        Chance a second of gaps by length; None where events come by chance.
    """

    rate: float
    signs: NDArray[np.float64]
    gap_density: NDArray[np.float64] | None = None

    def without(self, lead: Phase) -> Phase:
        """What is left when the lead's share is taken off: how the tabla's own strokes sound."""
        count = np.maximum(self.rate * self.signs - lead.rate * lead.signs, LEAST_SHARE * self.rate)
        return Phase(self.rate, count / count.sum(axis=1, keepdims=True))


@dataclass(frozen=True)
class HeardStrokes:
    """Everything that sounds like a stroke.

    Attributes
    ----------
    time_s : ndarray, shape (n,)
        Ascending.
    level : ndarray of int, shape (n, SIGNS)
        How sure each drum of `COLUMNS` is heard in it (0: not; 1 to 3 by `SURE`), and a pluck (by `PLUCKED`).
    """

    time_s: Times
    level: NDArray[np.int64]

    @property
    def sure_s(self) -> Times:
        """Those that are strokes more likely than not."""
        return self.time_s[self.level[:, :-1].max(axis=1, initial=0) >= LIKELY_LEVEL]

    def between(self, start_s: float, end_s: float) -> HeardStrokes:
        """Those from one time to another, both included."""
        within = (self.time_s >= start_s) & (self.time_s <= end_s)
        return HeardStrokes(self.time_s[within], self.level[within])

    def lead_alone(self, spans_s: Spans) -> Phase:
        """The lead when it is alone, from spans in which it is, and as it usually is."""
        count, signs, length_s = LEAD_RATE * LEAD_ALONE_SPAN_S, LEAD_RATE * LEAD_ALONE_SPAN_S * LEAD_SIGNS, 0.0
        for start_s, end_s in spans_s:
            own = self.between(start_s, end_s)
            count, length_s = count + len(own.time_s), length_s + end_s - start_s
            signs = signs + _counted(own.level)
        return Phase(count / (length_s + LEAD_ALONE_SPAN_S), signs / count)

    def outside(self, start_s: float, end_s: float, alone: Phase) -> Phase:
        """What goes on in a span, a little drawn to the lead alone."""
        own = self.between(start_s, end_s)
        count = len(own.time_s) + USUAL_COUNT
        signs = (_counted(own.level) + USUAL_COUNT * alone.signs) / count
        return Phase(count / (max(end_s - start_s, 0.0) + USUAL_SPAN_S), signs)

    def playing(self, start_s: float, end_s: float) -> Phase:
        """The tabla as it plays in a span, a little drawn to how it usually sounds."""
        own = self.between(start_s, end_s)
        count = len(own.time_s) + USUAL_COUNT
        rate = count / (max(end_s - start_s, 0.0) + USUAL_SPAN_S)
        signs = (_counted(own.level) + USUAL_COUNT * TABLA_SIGNS) / count
        edges_s = np.concatenate([[0.0], GAP_EDGES_S, [2 * GAP_EDGES_S[-1]]])
        by_chance = np.diff(np.exp(-rate * edges_s[:-1]), append=0.0) * -GAPS_BY_CHANCE
        gaps = np.bincount(np.digitize(np.diff(own.time_s), GAP_EDGES_S), minlength=len(edges_s) - 1) + by_chance
        gaps[1:-1] += LONG_GAPS / (len(GAP_EDGES_S) - 1)
        gaps[-1] = NEVER
        return Phase(rate, signs, gaps / gaps.sum() / np.diff(edges_s))


def heard_strokes(evidence: Evidence) -> HeardStrokes:
    """Everything in a recording that sounds like a stroke of the tabla."""
    from scipy.ndimage import maximum_filter1d

    hop_s = evidence.stroke_hop_s
    chances = evidence.strokes.astype(np.float64)
    loudest = chances[:, COLUMNS].max(axis=1) if len(chances) else np.zeros(0)
    at = np.flatnonzero(peaks(loudest, STROKE_AT, hop_s, STROKE_APART_S))
    if not len(at):
        return HeardStrokes(np.zeros(0), np.zeros((0, SIGNS), np.int64))
    near = 2 * round(ONE_STROKE_S / hop_s) + 1
    drums = [np.digitize(maximum_filter1d(chances[:, column], near)[at], SURE) for column in COLUMNS]
    pluck = np.digitize(maximum_filter1d(chances[:, PLUCK], near)[at], PLUCKED)
    time_s: Times = (at * hop_s).astype(np.float64)
    return HeardStrokes(time_s, np.stack([*drums, pluck], axis=1).astype(np.int64))


def _counted(level: NDArray[np.int64]) -> NDArray[np.float64]:
    return np.stack([np.bincount(each, minlength=LEVELS) for each in level.T]).astype(np.float64)


def first_stroke_s(
    strokes: HeardStrokes,
    near_s: float,
    after_s: float,
    until_s: float,
    alone: Phase,
    reach_s: tuple[float, float] = FIRST_REACH_S,
) -> float:
    """First stroke of a stretch with tabla that begins about ``near_s``.

    Parameters
    ----------
    strokes : HeardStrokes
    near_s : float
    after_s, until_s : float
        Where what is outside begins, and where the stretch ends.
    alone : Phase
        The lead alone.
    reach_s : tuple of float
        How far before and after ``near_s`` the stroke may lie.

    Returns
    -------
    float
        Its time; ``near_s`` where no stroke is heard within reach.
    """
    far_s = max(near_s, min(until_s, near_s + INSIDE_S[1]))
    inside = strokes.playing(max(near_s, min(near_s + INSIDE_S[0], far_s - INSIDE_S[0])), far_s)
    outside = strokes.outside(max(after_s, near_s - OUTSIDE_S[1]), max(after_s, near_s - OUTSIDE_S[0]), alone)
    low_s, high_s = max(after_s, near_s - reach_s[0]), min(until_s, near_s + reach_s[1])
    own = strokes.between(low_s, high_s)
    if not len(own.time_s):
        return near_s
    return float(own.time_s[_first_inside(own, (outside, alone, inside))])


def last_stroke_s(strokes: HeardStrokes, near_s: float, after_s: float, until_s: float, alone: Phase) -> float:
    """Last stroke of a stretch with tabla that ends about ``near_s``: `first_stroke_s` with time running backwards."""
    back = HeardStrokes(-strokes.time_s[::-1], strokes.level[::-1])
    return -first_stroke_s(back, -near_s, -until_s, -after_s, alone, LAST_REACH_S)


def rests_s(strokes: HeardStrokes, first_s: float, last_s: float, alone: Phase) -> list[tuple[float, float]]:
    """Rests of the tabla within a stretch, each from the stroke before it to the stroke after it, in order.

    Parameters
    ----------
    strokes : HeardStrokes
    first_s, last_s : float
        The stretch.
    alone : Phase
        The lead alone.

    Returns
    -------
    list of (float, float)
        Those longer than `LEAST_REST_S` in which the lead alone is likelier by far than a tabla that plays as in the
        rest of the stretch, and than one that plays as it does before, and as it does after.
    """
    own = strokes.between(first_s, last_s)
    if len(own.time_s) < 2:
        return []
    rest = _likeliest_rest(own, alone, strokes.playing(first_s, last_s))
    if rest is None:
        return []
    start_s, end_s = rest
    earlier = rests_s(strokes, first_s, start_s, alone)
    later = rests_s(strokes, end_s, last_s, alone)
    for playing in (
        strokes.playing(max(first_s, start_s - AROUND_REST_S), start_s),
        strokes.playing(end_s, min(last_s, end_s + AROUND_REST_S)),
    ):
        around = own.between(start_s, end_s)
        if _likeliest_rest(around, alone, playing) is None:
            return [*earlier, *later]
    return [*earlier, rest, *later]


def _likeliest_rest(own: HeardStrokes, alone: Phase, playing: Phase) -> tuple[float, float] | None:
    """Likeliest rest of at least `LEAST_REST_S`, from stroke to stroke; None where none is likely enough."""
    gaps = _gap_chances(own, alone) - _gap_chances(own, playing)
    whole = np.cumsum(_log_chances(own, alone) - _log_chances(own, playing))
    sure = _sign_chances(own, playing.without(alone)) - _sign_chances(own, playing)  # the strokes on either side
    until, since = np.append(0.0, whole[:-1]) + gaps + sure, sure - whole
    ends = np.searchsorted(
        own.time_s, own.time_s + LEAST_REST_S
    )  # of a rest that begins with each stroke, at the earliest
    best_end = np.append(np.maximum.accumulate(until[::-1])[::-1], -np.inf)
    gain = since + best_end[ends]
    start = int(gain.argmax())
    if gain[start] < SURE_REST:
        return None
    end = ends[start] + int(until[ends[start] :].argmax())
    return float(own.time_s[start]), float(own.time_s[end])


def _first_inside(own: HeardStrokes, phases: tuple[Phase, Phase, Phase]) -> int:
    """Number of the stroke with which the last phase begins, after the first and one of those between, or none."""
    outside, between, inside = (np.cumsum(_log_chances(own, phase)) for phase in phases)
    gaps = [np.append(0.0, _gap_chances(own, phase)[1:]) for phase in phases]
    before = np.append(0.0, outside[:-1]) + gaps[0]  # up to each event, the gap before it counted, not the event
    middle = np.append(0.0, between[:-1]) + gaps[1]
    begins = inside[-1] - inside + _sign_chances(own, phases[2].without(phases[1]))
    by_way_of = np.maximum.accumulate(before - middle) + middle - BETWEEN_PRICE
    return int((np.maximum(before, by_way_of) + begins).argmax())


def _log_chances(own: HeardStrokes, phase: Phase) -> Times:
    """Log likelihood of every event and of the gap before it, shape (n,); of the first event there is no gap."""
    chances: Times = _gap_chances(own, phase) + _sign_chances(own, phase)
    return chances


def _gap_chances(own: HeardStrokes, phase: Phase) -> Times:
    gaps_s = np.diff(own.time_s, prepend=own.time_s[:1])
    if phase.gap_density is None:
        often, seldom = (rate * np.exp(-rate * gaps_s) for rate in (phase.rate, QUIET_RATE))
        chances = np.log((1 - SILENT_SHARE) * often + SILENT_SHARE * seldom)
    else:
        chances = np.log(phase.gap_density[np.digitize(gaps_s, GAP_EDGES_S)])
    return np.where(np.arange(len(gaps_s)) > 0, chances, 0.0)


def _sign_chances(own: HeardStrokes, phase: Phase) -> Times:
    logs = np.log(phase.signs)
    chances: Times = np.sum([logs[sign, own.level[:, sign]] for sign in range(SIGNS)], axis=0)
    return chances
