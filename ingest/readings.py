"""Several readings of one section, held against each other: in which tala, and at which laya.

A reading's score is the log likelihood of its course of the cycle against coincidence, so that scores of one section
may be compared whatever the tala and the laya. How far apart they must be to be sure cannot be told from them alone:
neighbouring strokes are not independent, and a tala that is played otherwise than its theka stands is none of these.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ingest.cycle import FASTEST_MPM, SLOWEST_MPM, CycleFit, fit_cycle
from ingest.errors import ConflictingSams, NoPulse
from ingest.evidence import Evidence
from theory.talas import Tala

OTHER_LAYAS = (0.5, 2.0)
AROUND = 1.3  # how far the laya may lie from twice or half, as a ratio
CLOSE_PER_MATRA = 0.35  # of the score of the better reading's matras: nearer than this and both are worth a look


@dataclass(frozen=True)
class Reading:
    """A section read in a tala: the course of its cycle, and its score."""

    tala: Tala
    fit: CycleFit

    @property
    def score(self) -> float:
        """Log likelihood against coincidence; minus infinity where nothing was followed."""
        return self.fit.score if np.isfinite(self.fit.score) else float("-inf")


def choose_tala(
    evidence: Evidence, start_s: float, end_s: float, talas: Sequence[Tala], marked_sams_s: Sequence[float] = ()
) -> list[Reading]:
    """Read a section in each of several talas.

    Parameters
    ----------
    evidence : Evidence
    start_s, end_s : float
    talas : sequence of Tala
        The candidates.
    marked_sams_s : sequence of float
        Sams named by a person.

    Returns
    -------
    list of Reading
        Best first. Talas that cannot be followed (no theka known, marks that they cannot meet) are left out; empty when
        no strokes are heard.
    """
    readings = []
    for tala in talas:
        try:
            readings.append(Reading(tala, fit_cycle(evidence, start_s, end_s, tala, marked_sams_s)))
        except (NoPulse, ConflictingSams):
            continue
    return sorted(readings, key=lambda reading: -reading.score)


def other_layas(evidence: Evidence, start_s: float, end_s: float, tala: Tala, fit: CycleFit) -> list[Reading]:
    """Read a section at half and at twice the laya it was followed at; the readings that come near it, best first.

    Parameters
    ----------
    fit : CycleFit
        As followed, with at least two matras.
    """
    length_s = float(np.median(np.diff(fit.matra_s)))
    near = []
    for ratio in OTHER_LAYAS:
        mpm = 60 / length_s * ratio
        low, high = max(SLOWEST_MPM, mpm / AROUND), min(FASTEST_MPM, mpm * AROUND)
        if low * 1.05 > high:
            continue
        try:
            reading = Reading(tala, fit_cycle(evidence, start_s, end_s, tala, (), (low, high)))
        except NoPulse:
            continue
        if fit.score - reading.score < CLOSE_PER_MATRA * len(fit.matra_s):
            near.append(reading)
    return sorted(near, key=lambda reading: -reading.score)
