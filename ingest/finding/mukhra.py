"""Where the mukhra begins: the part of the cycle, up to sam, in which the melody comes back while the rest changes.

References
----------
That a gat's mukhra leads to sam and comes back unchanged is common practice, no source; how many matras it takes
differs from gat to gat, so it is looked for, and may be named by a person.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ingest.finding.lattice import Floats, Lattice
from ingest.finding.scan import QUIET

CYCLES_APART = (1, 2, 3)
LEAST_CYCLES = 3
LONGEST_SHARE = 0.75  # of the cycle
PLAIN = 0.15
"""How much more alike than the rest a mukhra has to be to be taken for one."""
WHERE_IT_COMES = 80
"""Per cent: a tihai or a long phrase takes the mukhra's place in many a cycle, so that it has to come back in some
pairs of cycles only."""


@dataclass(frozen=True)
class Mukhra:
    """A mukhra found.

    Parameters
    ----------
    matra : int
        On which it begins, from 1.
    contrast : float
        How much more alike from cycle to cycle it is than the rest, -1 to 1.
    likeness : float
        Mean likeness of its matras from cycle to cycle, 0 to 1.
    """

    matra: int
    contrast: float
    likeness: float


def find_mukhra(lattice: Lattice) -> Mukhra | None:
    """Find the mukhra of a section; None where nothing comes back more than the rest, or there are too few cycles."""
    by_pair = _by_matra(lattice, lattice.pitch)
    if by_pair is None:
        return None
    alike = by_pair.mean(axis=0)
    comes_back = (alike + np.percentile(by_pair, WHERE_IT_COMES, axis=0)) / 2
    best: Mukhra | None = None
    best_spread = 0.0
    for begins in range(int(np.ceil((1 - LONGEST_SHARE) * lattice.matras)), lattice.matras):
        contrast = _contrast(comes_back, begins)
        spread = begins * (lattice.matras - begins) * contrast**2
        if contrast > PLAIN and spread > best_spread:
            best, best_spread = Mukhra(begins + 1, _contrast(alike, begins), float(alike[begins:].mean())), spread
    return best


def contrast_by_matra(lattice: Lattice) -> Floats:
    """How much more alike from cycle to cycle the lead would be from each matra on than before it, shape (matras,).

    Pitches and plucks together; 0 for sam, which begins no part of the cycle, and where there are too few cycles.
    """
    contrast = np.zeros(lattice.matras, np.float32)
    pitch, plucks = (_by_matra(lattice, rows) for rows in (lattice.pitch, lattice.plucks[:, None]))
    if pitch is not None and plucks is not None:
        alike = (pitch * plucks).mean(axis=0)
        for begins in range(1, lattice.matras):
            contrast[begins] = _contrast(alike, begins)
    return contrast


def _contrast(alike: Floats, begins: int) -> float:
    """How much more alike the matras from ``begins`` on are than those before."""
    return float(alike[begins:].mean() - alike[:begins].mean())


def _by_matra(lattice: Lattice, values: Floats) -> Floats | None:
    """How alike each matra is in pairs of cycles, shape (pairs, matras); None with fewer than three cycles."""
    cycle = lattice.matras * lattice.parts
    begins = (-lattice.first * lattice.parts) % cycle
    count = (len(lattice) - begins) // cycle
    if count < LEAST_CYCLES:
        return None
    rows = values[begins : begins + count * cycle].reshape(count, lattice.matras, -1)
    energy = np.maximum(np.square(rows).sum(axis=2), QUIET * lattice.parts)
    found = [
        (rows[:-apart] * rows[apart:]).sum(axis=2) / np.sqrt(energy[:-apart] * energy[apart:])
        for apart in CYCLES_APART
        if apart < count
    ]
    return np.concatenate(found)
