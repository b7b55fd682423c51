"""When strings and drums were struck, from the onset strengths of the evidence.

An onset is a peak of the onset strengths that stands out from what is around it and from the recording's own quiet:
plucks and the dayan have treble, the bayan's open strokes bass, a drone little of either.

Conventions: times in seconds from the recording's start, ascending. The constants were chosen on the bench's concerts
1 to 6 and 11 to 16, where F at +-25 ms changes by less than 0.01 when they are a fifth smaller or greater.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ingest.evidence import Evidence

BASS_SHARE = 0.25  # of the bass beside the treble: the bayan's swell moves for long, its beginning only should count
PEAK_S = 0.03  # nothing stronger so near: two drums struck together are one onset
AROUND_S = 0.14
CUT_S = 0.03  # where a recording is cut off there is a click that nobody struck
STANDS_OUT, LOUD_PERCENTILE = 0.23, 97.0


def onset_times(evidence: Evidence) -> NDArray[np.float64]:
    """When something was struck.

    Parameters
    ----------
    evidence : Evidence

    Returns
    -------
    ndarray of float64, shape (k,)
        To a part of a frame: the top of the parabola through the three highest values.
    """
    from scipy.ndimage import maximum_filter1d, median_filter

    hop_s = evidence.hop_s
    strength = evidence.treble.astype(np.float64) + BASS_SHARE * evidence.bass
    if len(strength) < 3:
        return np.zeros(0)
    highest = maximum_filter1d(strength, 2 * round(PEAK_S / hop_s) + 1)
    floor = median_filter(strength, 2 * round(AROUND_S / 2 / hop_s) + 1)
    floor += STANDS_OUT * np.percentile(strength, LOUD_PERCENTILE)
    peaks = np.flatnonzero((strength == highest) & (strength > floor))
    peaks = peaks[np.diff(peaks, prepend=-2) > 1]  # of a level top the first frame
    left, right = strength[np.maximum(peaks - 1, 0)], strength[np.minimum(peaks + 1, len(strength) - 1)]
    bend = left - 2 * strength[peaks] + right
    off = np.divide(0.5 * (left - right), bend, out=np.zeros_like(bend), where=bend < 0)
    times_s = np.maximum((peaks + np.clip(off, -0.5, 0.5)) * hop_s, 0.0)
    return times_s[times_s < evidence.duration_s - CUT_S]
