"""Where, within a stretch with tabla, one gat ends and another begins: the pulse changes at once, or the tabla rests.

The strokes of the seconds before a moment and of those after it are each held against themselves at every shift from
an eighth of a second to three (autocorrelation, on a logarithmic scale). Within a gat the two curves have their peaks
at the same shifts, however the strokes are filled in or doubled, and a laya that quickens moves them by little; after
a change of laya or tala they do not. Six such likenesses (of the tabla's strokes and of all strokes, over 6, 10 and 16
seconds) and the longest gap between the tabla's strokes are weighed by `section_weights`.

Conventions: times in seconds from the recording's start, moments every `STEP_S`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ingest.evidence import Evidence
from ingest.section_features import STEP_S
from ingest.section_weights import SectionWeights
from ingest.tabla_edges import HeardStrokes

Times = NDArray[np.float64]

SHIFTS_S = np.exp(np.linspace(np.log(0.12), np.log(3.2), 230))
QUICKENS = 3  # of these steps, 1.4 per cent each, by which a laya may have moved from the one window to the other
WINDOWS_S = (6.0, 10.0, 16.0)
BLUR_FRAMES, DRIFT_S = 1.5, 2.0
LONGEST_GAP_S = 10.0
EDGE_S = 5.0  # so near to the ends of a stretch nothing is sought
APART_S = 20.0  # a gat is longer than this
CHANGE_AT = -0.5  # log odds
SNAP_S = 3.0
PAUSE_S = 2.5  # a gap between strokes that is a rest, not a slow matra
AFTER_LAST_S = 0.5


def pulse_change_features(evidence: Evidence, strokes: HeardStrokes, times_s: Times) -> NDArray[np.float64]:
    """Likenesses of the pulse before and after each time, and the gap around it; shape (times, 7)."""
    from scipy.ndimage import gaussian_filter1d, uniform_filter1d

    chances, hop_s = evidence.strokes.astype(np.float64), evidence.stroke_hop_s
    columns = []
    for signal in (chances[:, 0] + chances[:, 2:6].max(axis=1), chances.max(axis=1)):
        blurred = gaussian_filter1d(signal, BLUR_FRAMES)
        moving = blurred - uniform_filter1d(blurred, round(DRIFT_S / hop_s))
        columns += [_likeness(moving, hop_s, times_s, window_s) for window_s in WINDOWS_S]
    around = np.concatenate([[-np.inf], strokes.sure_s, [np.inf]])
    after = np.searchsorted(around, times_s)
    columns.append(np.minimum(around[after] - around[after - 1], LONGEST_GAP_S))
    return np.stack(columns, axis=1)


def pulse_changes(
    evidence: Evidence, strokes: HeardStrokes, start_s: float, end_s: float, weights: SectionWeights
) -> list[float]:
    """Times at which a stretch with tabla falls into gats, ascending; each a little after the last stroke of one."""
    times_s = np.arange(start_s + EDGE_S, end_s - EDGE_S, STEP_S)
    if not len(times_s):
        return []
    odds = pulse_change_features(evidence, strokes, times_s) @ weights.change_weight + weights.change_bias
    found = []
    while odds.max() > CHANGE_AT:
        at_s = float(times_s[odds.argmax()])
        found.append(_between_strokes(strokes, at_s))
        odds[np.abs(times_s - at_s) < APART_S] = -np.inf
    return sorted(found)


def _likeness(signal: Times, hop_s: float, times_s: Times, window_s: float) -> Times:
    before, after = (_shifted(signal, hop_s, times_s + side * window_s / 2, window_s) for side in (-1, 1))
    count = len(SHIFTS_S)
    best = np.full(len(times_s), -1.0)
    for move in range(-QUICKENS, QUICKENS + 1):
        one = before[:, max(0, move) : count + min(0, move)]
        other = after[:, max(0, -move) : count + min(0, -move)]
        best = np.maximum(best, (one * other).sum(axis=1))
    return best


def _shifted(signal: Times, hop_s: float, centres_s: Times, window_s: float) -> NDArray[np.float64]:
    """Autocorrelation at `SHIFTS_S` of the window around each centre, its mean taken off, its length 1."""
    import scipy.fft

    window = round(window_s / hop_s)
    taper = np.hanning(window)
    fade = np.maximum(np.correlate(taper, taper, "full")[window - 1 :] / np.sum(taper**2), 0.1)
    padded = np.pad(signal, window)
    views = np.lib.stride_tricks.sliding_window_view(padded, window)
    first = np.rint(centres_s / hop_s).astype(int) + window - window // 2
    first = np.clip(first, 0, len(views) - 1)
    at = SHIFTS_S / hop_s
    low = np.minimum(at.astype(int), window - 2)
    curves = np.empty((len(centres_s), len(SHIFTS_S)))
    for row, view in enumerate(first):
        spectrum = scipy.fft.rfft(views[view] * taper, 2 * window)
        own = scipy.fft.irfft(spectrum.real**2 + spectrum.imag**2)[:window]
        own = own / max(float(own[0]), 1e-9) / fade
        curves[row] = own[low] * (low + 1 - at) + own[low + 1] * (at - low)
    curves -= curves.mean(axis=1, keepdims=True)
    unit: NDArray[np.float64] = curves / np.maximum(np.linalg.norm(curves, axis=1, keepdims=True), 1e-9)
    return unit


def _between_strokes(strokes: HeardStrokes, at_s: float) -> float:
    """Where the tabla rests near a time, a little after the stroke before it; else the time itself."""
    sure = strokes.sure_s
    near = sure[(sure > at_s - SNAP_S - LONGEST_GAP_S) & (sure < at_s + SNAP_S + LONGEST_GAP_S)]
    begins, ends = near[:-1], near[1:]
    touching = (ends > at_s - SNAP_S) & (begins < at_s + SNAP_S) & (ends - begins > PAUSE_S)
    if not touching.any():
        return at_s
    widest = np.flatnonzero(touching)[(ends - begins)[touching].argmax()]
    return float(begins[widest] + AFTER_LAST_S)
