"""Weights that gather the bins of a spectrum into mel bands and pitch classes.

The same as those of librosa (a test compares them), without importing it: that takes a second and 180 MB, most of it
for compilers that nothing here needs.

References
----------
M. Slaney, "Auditory Toolbox", Interval Research Technical Report 1998-010 (the mel scale, linear below 1 kHz).
D. P. W. Ellis, "Chroma feature analysis and synthesis", Columbia University, 2007 (the bumps of pitch classes).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Weights = NDArray[np.float32]
Values = NDArray[np.float64]

MEL_LINEAR_HZ = 200.0 / 3  # a mel band's width below the break
MEL_BREAK_HZ = 1000.0
MEL_STEP = np.log(6.4) / 27  # of the logarithm above the break

PITCH_CLASSES = 12
A0_HZ = 27.5
CENTRE_OCTAVE, OCTAVE_SPREAD = 5.0, 2.0  # of the weight of octaves, from A0 on


def mel_bands(rate_hz: int, window: int, bands: int, low_hz: float, high_hz: float) -> Weights:
    """Triangles of equal width on the mel scale, each with its peak at 1.

    Returns
    -------
    ndarray of float32, shape (bands, window // 2 + 1)
    """
    bin_hz = np.fft.rfftfreq(window, 1 / rate_hz)
    edge_hz = _hz_of_mel(np.linspace(_mel_of_hz(low_hz), _mel_of_hz(high_hz), bands + 2))
    width_hz = np.diff(edge_hz)
    distance_hz = edge_hz[:, None] - bin_hz
    rising = -distance_hz[:-2] / width_hz[:-1, None]
    falling = distance_hz[2:] / width_hz[1:, None]
    return np.maximum(0, np.minimum(rising, falling)).astype(np.float32)


def _mel_of_hz(hz: float) -> float:
    mel = hz / MEL_LINEAR_HZ
    if hz >= MEL_BREAK_HZ:
        mel = MEL_BREAK_HZ / MEL_LINEAR_HZ + float(np.log(hz / MEL_BREAK_HZ)) / MEL_STEP
    return mel


def _hz_of_mel(mel: Values) -> Values:
    above = mel - MEL_BREAK_HZ / MEL_LINEAR_HZ
    hz: Values = np.where(above < 0, mel * MEL_LINEAR_HZ, MEL_BREAK_HZ * np.exp(MEL_STEP * np.maximum(above, 0)))
    return hz


def pitch_classes(rate_hz: int, window: int) -> Weights:
    """A bump for every pitch class of equal temperament on A4 = 440 Hz, C first, the middle octaves weighing most.

    Returns
    -------
    ndarray of float32, shape (12, window // 2 + 1)
    """
    bin_hz = np.arange(1, window) * rate_hz / window
    semitone = PITCH_CLASSES * np.log2(bin_hz / A0_HZ)
    semitone = np.concatenate([[semitone[0] - 1.5 * PITCH_CLASSES], semitone])  # bin 0 belongs nowhere
    width = np.append(np.maximum(np.diff(semitone), 1.0), 1.0)
    half = PITCH_CLASSES / 2
    off = (semitone - np.arange(PITCH_CLASSES)[:, None] + half) % PITCH_CLASSES - half
    weights = np.exp(-0.5 * (2 * off / width) ** 2)
    weights /= np.sqrt((weights**2).sum(axis=0))
    weights *= np.exp(-0.5 * ((semitone / PITCH_CLASSES - CENTRE_OCTAVE) / OCTAVE_SPREAD) ** 2)
    return np.roll(weights, -3, axis=0)[:, : window // 2 + 1].astype(np.float32)
