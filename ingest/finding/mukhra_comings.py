"""Where a section's mukhra really comes: of every avartan, whether its end is the mukhra, and how alike.

The mukhra is taken to be what the ends of the avartans have in common: their mean, made again from those that are like
it. An avartan whose end holds a tihai, a run or a solo is unlike it and is left out.

Conventions: ticks as in `lattice`; likeness is the cosine of the melody's pitches, octaves together, 0 to 1.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ingest.draft import Draft, draft
from ingest.finding.lattice import Floats, Lattice
from ingest.finding.mukhra import LEAST_CYCLES, Mukhra
from ingest.finding.scan import QUIET
from ingest.melody import Melody

LIKE_IT = 0.7
"""From what likeness on it is the mukhra."""
AGAIN = 3
STRUCK = 0.5
REFERENCE_HZ = 100.0


@dataclass(frozen=True)
class MukhraComing:
    """Once that a mukhra comes.

    Parameters
    ----------
    cycle : int
        The avartan whose end it is.
    start_s, end_s : float
        From its first matra to the sam that it leads to.
    begins : int
        The tick of its first matra.
    likeness : float
    """

    cycle: int
    start_s: float
    end_s: float
    begins: int
    likeness: float


def mukhra_comings(lattice: Lattice, mukhra: Mukhra) -> list[MukhraComing]:
    """Find where the mukhra comes, in order of time; nowhere with fewer than three avartans."""
    cycle, length = lattice.matras * lattice.parts, _length(lattice, mukhra)
    into = (mukhra.matra - 1 - lattice.first) * lattice.parts % cycle
    begins = np.arange(into, len(lattice) - length, cycle)
    if len(begins) < LEAST_CYCLES:
        return []
    rows = lattice.pitch[begins[:, None] + np.arange(length)].reshape(len(begins), -1)
    energy = np.maximum(np.sqrt(np.square(rows).sum(axis=1)), np.sqrt(QUIET * length))
    alike = (rows / energy[:, None]) @ (rows / energy[:, None]).T
    weight = np.square(np.clip(np.median(alike, axis=1), 0, None))
    like = np.zeros(len(begins))
    for _ in range(AGAIN):
        mean = weight @ (rows / energy[:, None])
        like = rows @ mean / (energy * max(float(np.linalg.norm(mean)), QUIET))
        weight = (like >= min(LIKE_IT, float(np.median(like)))).astype(np.float64)
    out = []
    for begin, each in zip(begins.tolist(), like.tolist(), strict=True):
        if each >= LIKE_IT:
            position = lattice.first + begin // lattice.parts
            start_s, end_s = float(lattice.time_s[begin]), float(lattice.time_s[begin + length])
            out.append(MukhraComing(position // lattice.matras + 1, start_s, end_s, begin, each))
    return out


def draft_mukhra(lattice: Lattice, mukhra: Mukhra, comings: list[MukhraComing], raga: tuple[str, ...] = ()) -> Draft:
    """The mukhra's notation, up to the sam, from all its comings together.

    What is heard in most of them is written, so that an ornament or a slip of once is not.
    """
    length = _length(lattice, mukhra)
    ticks = np.array([each.begins for each in comings])[:, None] + np.arange(length + 1)
    voiced, semitone = lattice.voiced[ticks], lattice.semitone[ticks]
    hz = REFERENCE_HZ * 2 ** (_weighted_median(semitone, voiced) / 12)
    hop_s = lattice.tick_s
    pooled = Melody(hop_s, hz.astype(np.float32), np.median(voiced, axis=0), voiced.mean(axis=0))
    plucks = lattice.plucks[ticks].mean(axis=0)
    peaks = np.flatnonzero((plucks[1:-1] >= plucks[:-2]) & (plucks[1:-1] > plucks[2:]) & (plucks[1:-1] > STRUCK)) + 1
    matra_s = np.arange(0, length + 1, lattice.parts, dtype=np.float64) * hop_s
    return draft(pooled, REFERENCE_HZ, matra_s.tolist(), raga, (peaks * hop_s).tolist())


def _length(lattice: Lattice, mukhra: Mukhra) -> int:
    """Ticks from the mukhra's first matra to sam."""
    return (lattice.matras - mukhra.matra + 1) * lattice.parts


def _weighted_median(values: Floats, weights: Floats) -> NDArray[np.float64]:
    """Median over the first axis, each value counting by its weight, shape of one row."""
    order = np.argsort(values, axis=0)
    ordered, weight = np.take_along_axis(values, order, 0), np.take_along_axis(weights, order, 0)
    reached = np.cumsum(weight, axis=0) >= 0.5 * weight.sum(axis=0)
    found: NDArray[np.float64] = np.take_along_axis(ordered, reached.argmax(axis=0)[None], 0)[0].astype(np.float64)
    return found
