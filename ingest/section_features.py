"""What is heard every half second, gathered for telling kinds of sections apart.

Each feature is a mean over a short span (1.5 s to either side: where something begins) or a long one (6 s: how it
goes on), or tells the pulse of the eight seconds around. Groups:

* loudness against the recording's own loud moments, how much it moves, and how much within a tenth to a third of a
  second, the pace of syllables;
* colour: loudness in ten bands, its movement, and that of the low, middle and high ones;
* pitch: how many pitch classes sound at once, how like the recording's usual ones, how fast they change, and which
  stand out from the drone over three and eight seconds: in tuning it is one or two;
* whether the tune comes back after four to twenty-four seconds, as it does under a tabla solo;
* onsets in the bayan's and in the dayan's band: how hard, how many, at what distances and how even;
* pulse: the autocorrelation of the onsets, its height in seven ranges of period;
* strokes of tabla and plucks of strings, as `evidence.strokes` tells them.

Conventions: row ``i`` stands for the moment ``(i + 0.5) * STEP_S``; logarithms where a ratio is what matters.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ingest.evidence import Evidence

Column = NDArray[np.float64]

STEP_S = 0.5
SPANS_S = {"short": 1.5, "long": 6.0}
LOUDNESS_PER_DB = 0.02  # loudness is energy to the power 0.2, as in `onsets`
LOUD_PERCENTILE = 95
ONSET_AT = 0.1  # of the loudness: a rise that is an onset
APART_S = 0.04
SYLLABLE_S = (0.06, 0.35)
PITCH_SPANS_S = (3.0, 8.0)
DRONE_PERCENTILE = 30  # of a pitch class over the recording: what always sounds
PULSE_SPAN_S, PULSE_DRIFT_S = 8.0, 2.0
PERIODS_S = (0.07, 0.13, 0.2, 0.3, 0.45, 0.7, 1.1, 2.0)
RETURNS_S, RETURN_STEP_S, RETURN_SPAN_S = (4.0, 24.0), 0.25, 12.0
INTERVAL_SPAN_S = 4.0
STROKE_AT = 0.3  # chance from which a peak counts as a stroke
STROKE_APART_S = 0.05
NO_STROKES = 0.1  # a second: what is added before the logarithm


@dataclass(frozen=True)
class Features:
    """A row per half second, a named column per feature.

    Parameters
    ----------
    names : tuple of str
    values : ndarray of float64, shape (steps, features)
    """

    names: tuple[str, ...]
    values: NDArray[np.float64]

    @property
    def times_s(self) -> Column:
        """The moments that the rows stand for."""
        return _moments(len(self.values))


class _Gathered:
    """Columns as they are made."""

    def __init__(self, duration_s: float) -> None:
        self.times_s = _moments(max(1, round(duration_s / STEP_S)))
        self.columns: dict[str, Column] = {}

    def means(self, name: str, values: Column, hop_s: float, log_of: float | None = None) -> None:
        """Add the short and the long mean; ``log_of``: the logarithm of the mean and this much."""
        for span, half_s in SPANS_S.items():
            mean = mean_around(values, hop_s, self.times_s, half_s)
            self.columns[f"{name}, {span}"] = mean if log_of is None else np.log(mean + log_of)

    def movement(self, name: str, values: Column, hop_s: float) -> None:
        """Add the standard deviation over the short and the long span."""
        for span, half_s in SPANS_S.items():
            mean = mean_around(values, hop_s, self.times_s, half_s)
            square = mean_around(values**2, hop_s, self.times_s, half_s)
            self.columns[f"{name}, {span}"] = np.sqrt(np.maximum(square - mean**2, 0.0))


def _moments(count: int) -> Column:
    moments = (np.arange(count) + 0.5) * STEP_S
    return moments.astype(np.float64)


def section_features(evidence: Evidence) -> Features:
    """Gather the features of a recording."""
    gathered = _Gathered(evidence.duration_s)
    loudness = 10 ** (evidence.level_db.astype(np.float64) * LOUDNESS_PER_DB)
    loud = _loud(evidence)
    _loudness(gathered, np.log(np.maximum(loudness / loud, 1e-3)), evidence.hop_s)
    _colour(gathered, np.log(evidence.texture.astype(np.float64) / loud + 1e-3), evidence.texture_hop_s)
    _pitch(gathered, evidence.chroma.astype(np.float64), evidence.chroma_hop_s)
    bass, treble = evidence.bass.astype(np.float64) / loud, evidence.treble.astype(np.float64) / loud
    _onsets(gathered, bass, treble, evidence.hop_s)
    for name, strength in (("bass", bass), ("treble", treble)):
        _pulse(gathered, name, strength, evidence.hop_s)
    _strokes(gathered, evidence.strokes.astype(np.float64), evidence.stroke_hop_s)
    return Features(tuple(gathered.columns), np.stack(list(gathered.columns.values()), axis=1))


def _loud(evidence: Evidence) -> float:
    """Loudness of the recording's loud moments."""
    loudness = 10 ** (evidence.level_db.astype(np.float64) * LOUDNESS_PER_DB)
    return max(float(np.percentile(loudness, LOUD_PERCENTILE)), 1e-2) if len(loudness) else 1e-2


def onsets_heard(evidence: Evidence) -> Column:
    """Onsets in the dayan's band, whoever struck them, seconds from the recording's start."""
    treble = evidence.treble.astype(np.float64) / _loud(evidence)
    at = np.flatnonzero(peaks(treble, ONSET_AT, evidence.hop_s, APART_S))
    return (at * evidence.hop_s).astype(np.float64)


def mean_around(values: Column, hop_s: float, times_s: Column, half_s: float) -> Column:
    """Mean of frames within ``half_s`` of each time; 0 where there are none."""
    total = np.concatenate([[0.0], np.cumsum(values, dtype=np.float64)])
    low = np.clip(np.rint((times_s - half_s) / hop_s).astype(int), 0, len(values))
    high = np.clip(np.rint((times_s + half_s) / hop_s).astype(int), 0, len(values))
    means: Column = (total[high] - total[low]) / np.maximum(high - low, 1)
    return means


def peaks(values: Column, least: float, hop_s: float, apart_s: float) -> NDArray[np.bool_]:
    """Which frames are the highest within ``apart_s`` to either side, and above ``least``."""
    from scipy.ndimage import maximum_filter1d

    if not len(values):
        return np.zeros(0, dtype=bool)
    around = maximum_filter1d(values, 2 * round(apart_s / hop_s) + 1)
    highest: NDArray[np.bool_] = (values == around) & (values > least)
    return highest


def _loudness(gathered: _Gathered, level: Column, hop_s: float) -> None:
    from scipy.ndimage import uniform_filter1d

    gathered.means("loudness", level, hop_s)
    gathered.movement("loudness moves", level, hop_s)
    quick, slow = (uniform_filter1d(level, max(1, round(span_s / hop_s))) for span_s in SYLLABLE_S)
    for span, half_s in SPANS_S.items():
        pace = mean_around((quick - slow) ** 2, hop_s, gathered.times_s, half_s)
        gathered.columns[f"syllables, {span}"] = np.log(np.sqrt(pace) + 1e-3)


def _colour(gathered: _Gathered, texture: NDArray[np.float64], hop_s: float) -> None:
    for number, band in enumerate(texture.T):
        gathered.means(f"band {number}", band, hop_s)
    for name, part in (("low", texture[:, :2]), ("middle", texture[:, 2:6]), ("high", texture[:, 6:])):
        gathered.movement(f"{name} bands move", part.mean(axis=1), hop_s)
    change = np.abs(np.diff(texture, axis=0, prepend=texture[:1])).mean(axis=1)
    gathered.means("colour changes", change, hop_s)


def _pitch(gathered: _Gathered, chroma: NDArray[np.float64], hop_s: float) -> None:
    shares = chroma / np.maximum(chroma.sum(axis=1, keepdims=True), 1e-9)
    usual = shares.mean(axis=0)
    likeness = shares @ usual / np.maximum(np.linalg.norm(shares, axis=1) * np.linalg.norm(usual), 1e-9)
    gathered.means("pitch classes", _entropy(shares), hop_s)
    gathered.means("pitch as usual", likeness, hop_s)
    gathered.means("pitch changes", np.abs(np.diff(shares, axis=0, prepend=shares[:1])).sum(axis=1), hop_s)
    moving = np.maximum(chroma - np.percentile(chroma, DRONE_PERCENTILE, axis=0), 0.0)
    leads = moving.argmax(axis=1)
    turns = np.diff(leads, prepend=leads[:1]) != 0
    movement = np.abs(np.diff(moving, axis=0, prepend=moving[:1])).sum(axis=1)
    for half_s in PITCH_SPANS_S:
        around = np.stack([mean_around(each, hop_s, gathered.times_s, half_s) for each in moving.T], axis=1)
        around /= np.maximum(around.sum(axis=1, keepdims=True), 1e-9)
        first, second = np.sort(around, axis=1)[:, :-3:-1].T
        span = f"{2 * half_s:.0f} s"
        gathered.columns[f"swaras in {span}"] = _entropy(around)
        gathered.columns[f"first swara's share of {span}"] = first
        gathered.columns[f"first two swaras' share of {span}"] = first + second
        gathered.columns[f"turns in {span}"] = mean_around(turns.astype(float), hop_s, gathered.times_s, half_s)
        gathered.columns[f"melody moves in {span}"] = mean_around(movement, hop_s, gathered.times_s, half_s)
    gathered.columns["tune comes back"] = _returns(moving, hop_s, gathered.times_s)


def _returns(moving: NDArray[np.float64], hop_s: float, times_s: Column) -> Column:
    """How much more alike the melody is to itself at the best shift than at the usual one, around each time."""
    step = max(1, round(RETURN_STEP_S / hop_s))
    rows = -(-len(moving) // step)
    padded = np.pad(moving, ((0, rows * step - len(moving)), (0, 0)))
    slow = padded.reshape(rows, step, -1).mean(axis=1)
    slow = slow - slow.mean(axis=1, keepdims=True)
    unit = slow / np.maximum(np.linalg.norm(slow, axis=1, keepdims=True), 1e-6)
    shifts = range(round(RETURNS_S[0] / (step * hop_s)), round(RETURNS_S[1] / (step * hop_s)))
    alike = np.zeros((len(times_s), len(shifts)))
    for number, shift in enumerate(shifts):
        same = (unit[shift:] * unit[: max(0, rows - shift)]).sum(axis=1)
        middle = np.zeros(rows)  # a pair counts where its middle lies
        middle[shift // 2 : shift // 2 + len(same)] = same
        alike[:, number] = mean_around(middle, step * hop_s, times_s, RETURN_SPAN_S)
    best: Column = alike.max(axis=1) - np.median(alike, axis=1)
    return best


def _entropy(shares: NDArray[np.float64]) -> Column:
    entropy: Column = -(shares * np.log(shares + 1e-9)).sum(axis=1)
    return entropy


def _onsets(gathered: _Gathered, bass: Column, treble: Column, hop_s: float) -> None:
    for name, strength in (("bass", bass), ("treble", treble)):
        gathered.means(f"{name} drive", strength**2, hop_s, log_of=1e-6)
        onsets = peaks(strength, ONSET_AT, hop_s, APART_S) / hop_s
        gathered.means(f"{name} onsets", onsets, hop_s, log_of=0.2)
    for span in SPANS_S:
        both = gathered.columns[f"bass drive, {span}"] + gathered.columns[f"treble drive, {span}"]
        gathered.columns[f"both drive, {span}"] = both / 4
    at_s = np.flatnonzero(peaks(treble, ONSET_AT, hop_s, APART_S)) * hop_s
    first = np.searchsorted(at_s, gathered.times_s - INTERVAL_SPAN_S)
    last = np.searchsorted(at_s, gathered.times_s + INTERVAL_SPAN_S)
    interval, evenness = np.empty(len(first)), np.empty(len(first))
    for i, (low, high) in enumerate(zip(first, last, strict=True)):
        gaps_s = np.log(np.diff(at_s[low:high])) if high - low > 2 else np.log([2.0, 4.0])
        interval[i], evenness[i] = np.median(gaps_s), np.std(gaps_s)
    gathered.columns["interval of onsets"], gathered.columns["unevenness of onsets"] = interval, evenness


def _pulse(gathered: _Gathered, name: str, strength: Column, hop_s: float) -> None:
    """Height of the autocorrelation around each step in ranges of period."""
    import scipy.fft
    from scipy.ndimage import uniform_filter1d

    halved = np.sqrt(strength[: len(strength) // 2 * 2].reshape(-1, 2).max(axis=1))
    if not len(halved):
        halved = np.zeros(1)
    moving = halved - uniform_filter1d(halved, round(PULSE_DRIFT_S / (2 * hop_s)))
    window = 2 * round(PULSE_SPAN_S / (4 * hop_s))
    padded = np.pad(moving, window // 2)
    centres = np.clip(np.rint(gathered.times_s / (2 * hop_s)).astype(int), 0, len(moving) - 1)
    taper = np.hanning(window)
    fade = np.correlate(taper, taper, "full")[window - 1 :] / np.sum(taper**2)
    period_s = np.arange(window) * 2 * hop_s
    ranges = [(period_s >= low) & (period_s < high) for low, high in pairwise(PERIODS_S)]
    heights = np.empty((len(centres), len(ranges)))
    views = np.lib.stride_tricks.sliding_window_view(padded, window)
    for row, centre in enumerate(centres):  # one by one: an hour's windows at once would be 80 MB
        spectrum = scipy.fft.rfft(views[centre] * taper, 2 * window)
        own = scipy.fft.irfft(spectrum.real**2 + spectrum.imag**2)[:window]
        own = own / max(float(own[0]), 1e-9) / np.maximum(fade, 0.05)
        heights[row] = [own[each].max() for each in ranges]
    for number, (low, high) in enumerate(pairwise(PERIODS_S)):
        gathered.columns[f"{name} pulse of {low:g} to {high:g} s"] = heights[:, number]
    gathered.columns[f"{name} pulse"] = heights[:, 2:].max(axis=1)


def _strokes(gathered: _Gathered, chances: NDArray[np.float64], hop_s: float) -> None:
    from scipy.ndimage import maximum_filter1d

    for number, chance in enumerate(chances.T):
        gathered.means(f"stroke {number}", _counted(chance, STROKE_AT, hop_s), hop_s, log_of=NO_STROKES)
    near = 2 * round(STROKE_APART_S / (2 * hop_s)) + 1
    rings = np.minimum(maximum_filter1d(chances[:, 0], near), maximum_filter1d(chances[:, 2:5].max(axis=1), near))
    gathered.means("both drums ring", _counted(rings, STROKE_AT, hop_s), hop_s, log_of=NO_STROKES)


def _counted(chance: Column, least: float, hop_s: float) -> Column:
    """Strokes a second, frame by frame: the chance at its peaks."""
    counted: Column = np.where(peaks(chance, least, hop_s, STROKE_APART_S), chance, 0.0) / hop_s
    return counted
