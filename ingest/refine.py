"""From the frames of a path to the times of the strokes.

Each matra's beginning is drawn to the stroke near it, if one stands out, and held by the evenness of the matras
around it; marked sams stay where they were marked. The times minimise

    sum of weight_i * (time_i - stroke_i)**2  +  EVENNESS * sum of (time_(i-1) - 2 time_i + time_(i+1))**2
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ingest.evidence import Evidence

REACH_S = 0.06
REACH_SHARE = 0.3  # of the matra: in drut the reach is shorter, lest the stroke between two matras be taken
EVENNESS = 0.15
PULL_TO_PATH = 0.02  # weight of the path's own time where no stroke stands out
FIRM = 1e6


def stroke_near(
    evidence: Evidence, time_s: NDArray[np.float64], reach_s: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Time of the strongest onset within reach of each time, and its prominence (0 to 1) against the strong ones."""
    hop_s = evidence.hop_s
    strength = evidence.strength
    found_s, height = time_s.copy(), np.zeros(len(time_s))
    for i, (centre_s, reach) in enumerate(zip(time_s, reach_s, strict=True)):
        low = max(1, int(np.ceil((centre_s - reach) / hop_s)))
        high = min(len(strength) - 1, int((centre_s + reach) / hop_s) + 1)
        if high <= low:
            continue
        part = strength[low:high]
        is_peak = (part > 0) & (part >= strength[low - 1 : high - 1]) & (part >= strength[low + 1 : high + 1])
        if not is_peak.any():
            continue
        # nearer onsets are preferred: half the weight at the edge of the reach
        nearness = 1 - 0.5 * np.abs(np.arange(low, high) * hop_s - centre_s) / reach
        peak = low + int(np.argmax(part * nearness * is_peak))
        left, middle, right = (float(v) for v in strength[peak - 1 : peak + 2])
        bend = left - 2 * middle + right
        found_s[i] = (peak + (0.5 * (left - right) / bend if bend < 0 else 0.0)) * hop_s
        height[i] = middle
    strong = np.percentile(height, 75) if len(height) else 0.0
    return found_s, np.clip(height / strong, 0, 1) if strong > 0 else height


def refine(
    evidence: Evidence, time_s: NDArray[np.float64], firm: NDArray[np.bool_]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Draw matra times to the strokes near them.

    Parameters
    ----------
    evidence : Evidence
    time_s : ndarray, shape (k,)
        Times from the path, ascending; those that are ``firm`` do not move.
    firm : ndarray of bool, shape (k,)

    Returns
    -------
    ndarray, shape (k,)
        Refined times, ascending.
    ndarray, shape (k,)
        Prominence of the stroke at each, 0 to 1.
    """
    from scipy.linalg import solveh_banded

    if len(time_s) < 3:
        return time_s, stroke_near(evidence, time_s, np.full(len(time_s), REACH_S))[1]
    matra_s = np.gradient(time_s)
    target_s, prominence = stroke_near(evidence, time_s, np.minimum(REACH_S, REACH_SHARE * matra_s))
    weight = prominence**2
    target_s = (weight * target_s + PULL_TO_PATH * time_s) / (weight + PULL_TO_PATH)
    weight = weight + PULL_TO_PATH
    target_s[firm], weight[firm] = time_s[firm], FIRM

    count = len(time_s)
    bands = np.zeros((3, count))  # upper form: main diagonal last
    bands[2] = weight
    for offset, coefficient in ((0, 1.0), (1, -2.0), (2, 1.0)):
        bands[2, offset : offset + count - 2] += EVENNESS * coefficient**2
    bands[1, 1:-1] += EVENNESS * -2.0
    bands[1, 2:] += EVENNESS * -2.0
    bands[0, 2:] += EVENNESS
    refined_s = solveh_banded(bands, weight * target_s)
    refined_s[firm] = time_s[firm]
    if np.any(np.diff(refined_s) <= 0):  # strokes crowded by a firm sam out of place: the path's own times are in order
        return time_s, prominence
    return refined_s, prominence
