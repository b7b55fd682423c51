"""From onset strengths to the chance that each drum is struck at a moment, and to likelihoods.

The strength of a band is compared with the strong strokes around it (the 70th percentile of the maxima of single
seconds over sixteen), so that loud and soft passages, and any gain, count alike. Where neither drum has been struck for
a while nothing is concluded: silence says nothing about the cycle.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ingest.evidence import Evidence

Frames = NDArray[np.float32]

REFERENCE_PERCENTILE = 70
REFERENCE_SPAN_S = 16
REFERENCE_LEAST = 0.2  # of the section's own reference: quieter stretches are not blown up beyond this
STROKE_AT = 0.5  # share of the reference at which a rise is as likely a stroke as not
STROKE_SOFTNESS = 0.12
REACH_S = 0.045  # how far from its place a stroke may fall, its evidence falling off to nothing
DENSITY_SPAN_S = 5.0
DENSITY_LEAST, DENSITY_MOST = 0.03, 0.6
LEAST_RATIO = -0.7  # strokes are left out, and the theka for whole stretches: missing strokes say no more than this
SILENCE_S = 1.25  # longer than this without a stroke, and nothing is concluded
AUDIBLE = 1e-3  # onset strength; real strokes are a hundred times stronger


@dataclass(frozen=True)
class Presence:
    """Soft decisions per frame (at `Evidence.hop_s`), each of shape (n,), from 0 to 1.

    Parameters
    ----------
    bass, treble : ndarray of float32
        Chance of a stroke within reach of the frame.
    bass_density, treble_density : ndarray of float32
        Local mean of the same: how likely a hit is by mere coincidence.
    playing : ndarray of float32
        1 where strokes have been heard lately, 0 in silence.
    """

    bass: Frames
    treble: Frames
    bass_density: Frames
    treble_density: Frames
    playing: Frames

    def log_ratio(self, bass_chance: float, treble_chance: float) -> Frames:
        """Log likelihood ratio of "the theka has a stroke here, heard with these chances" against coincidence."""
        ratio = _log_ratio(self.bass, self.bass_density, bass_chance)
        ratio += _log_ratio(self.treble, self.treble_density, treble_chance)
        return np.maximum(ratio, LEAST_RATIO) * self.playing


def presence(evidence: Evidence, start_s: float, end_s: float) -> Presence:
    """Soft stroke decisions for a section; frame 0 is the one nearest to ``start_s``."""
    from scipy.ndimage import grey_dilation, maximum_filter1d, uniform_filter1d

    hop_s = evidence.hop_s
    part = slice(max(0, round(start_s / hop_s)), max(0, round(end_s / hop_s)))
    reach = round(REACH_S / hop_s)
    falloff = -((np.arange(-reach, reach + 1) / reach) ** 2).astype(np.float32)
    sharp, soft, density = [], [], []
    for band in (evidence.bass[part], evidence.treble[part]):
        chance = _stroke_chance(band, hop_s)
        within_reach = grey_dilation(chance, structure=falloff, mode="nearest") if len(band) else chance
        sharp.append(chance)
        soft.append(np.maximum(within_reach, 0.0))
        mean = uniform_filter1d(soft[-1], round(DENSITY_SPAN_S / hop_s), mode="nearest") if len(band) else chance
        density.append(np.clip(mean, DENSITY_LEAST, DENSITY_MOST))
    lately = maximum_filter1d(np.maximum(*sharp), 2 * round(SILENCE_S / hop_s) + 1) if len(sharp[0]) else sharp[0]
    return Presence(soft[0], soft[1], density[0], density[1], lately)


def _stroke_chance(strength: Frames, hop_s: float) -> Frames:
    """Chance that a frame's rise is a stroke, by comparison with the strong strokes around it."""
    from scipy.ndimage import percentile_filter

    per_second = max(1, round(1 / hop_s))
    if not len(strength) or strength.max() < AUDIBLE:
        return np.zeros_like(strength)
    seconds = -(-len(strength) // per_second)
    maxima = np.pad(strength, (0, seconds * per_second - len(strength))).reshape(seconds, per_second).max(axis=1)
    around = percentile_filter(maxima, REFERENCE_PERCENTILE, size=REFERENCE_SPAN_S, mode="reflect")
    least = REFERENCE_LEAST * np.percentile(maxima, REFERENCE_PERCENTILE)
    centres = (np.arange(seconds) + 0.5) * per_second
    reference = np.interp(np.arange(len(strength)), centres, np.maximum(around, max(least, AUDIBLE)))
    return (1 / (1 + np.exp((STROKE_AT - strength / reference) / STROKE_SOFTNESS))).astype(np.float32)


def _log_ratio(heard: Frames, density: Frames, chance: float) -> Frames:
    return heard * np.log(chance / density) + (1 - heard) * np.log((1 - chance) / (1 - density))
