"""A tihai inside each palla: it makes a chakradar of three bols that end in one, and a nauhakka of nine pallas.

Conventions: ticks as in `lattice`; palla and dam as in `find`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ingest.finding.lattice import Floats, Lattice
from ingest.finding.scan import QUIET, units_of

PLAIN = 0.5
"""So alike are the three of an inner tihai at least, in the mean over the outer ones."""
ABOVE_BESIDE = 0.1
"""And so much more alike than at spacings a stroke shorter or longer."""
LEAST_S = 0.3
WHOLE_SHARE = 0.95
"""An inner tihai that fills so much of its palla is all of it: nine equal pallas, a nauhakka."""
AGAINST_BESIDE, FOR_FILLING = 0.5, 0.15
"""Of several, that one is taken which stands out most and fills its palla best."""


@dataclass(frozen=True)
class Inner:
    """The tihai that each palla ends with: its spacing and its palla, in ticks, and how alike its three are."""

    spacing: int
    palla: int
    likeness: float
    fills: bool


def inner_tihai(lattice: Lattice, landing: int, spacing: int, palla: int, played_by: str) -> Inner | None:
    """The tihai that each of the three pallas ends with; None where there is none."""
    rows = _rows(lattice, played_by)
    units = units_of(lattice)
    unit = units[-1]
    longest = (palla - unit) // 2
    least = max(2 * unit, round(LEAST_S / lattice.tick_s))
    best, best_score = None, 0.0
    for lag in sorted({n for each in units for n in range(each, longest + 1, each) if n >= least}):
        room = palla - 2 * lag  # the inner palla is no longer
        span = min(lag - unit, room)
        if span < unit:
            continue
        here = _alike(rows, landing, spacing, lag, span)
        beside = max(_alike(rows, landing, spacing, lag + off, span) for off in (-unit, unit))
        fills = (2 * lag + span) / palla
        score = here - AGAINST_BESIDE * max(beside, 0.0) + FOR_FILLING * fills
        if here > PLAIN and here - beside > ABOVE_BESIDE and score > best_score:
            best, best_score = Inner(lag, span, here, fills >= WHOLE_SHARE), score
    return best


def _rows(lattice: Lattice, played_by: str) -> Floats:
    lead: NDArray[np.float32] = np.concatenate([lattice.pitch, lattice.plucks[:, None]], axis=1)
    if played_by == "tabla":
        return lattice.tabla
    return lead if played_by == "lead" else np.concatenate([lattice.tabla, lead], axis=1)


def _alike(rows: Floats, landing: int, spacing: int, lag: int, span: int) -> float:
    """How alike the passages ``lag`` apart are that end at each of three landings: the less alike pair, in the mean."""
    total = 0.0
    for outer in range(3):
        pairs = []
        for back in range(2):
            end = landing - outer * spacing - back * lag + 1
            one, other = rows[max(end - span - 1, 0) : end], rows[max(end - lag - span - 1, 0) : end - lag]
            size = min(len(one), len(other))
            one, other = one[len(one) - size :], other[len(other) - size :]
            least = QUIET * max(size, 1)
            energy = max(float(np.square(one).sum()), least) * max(float(np.square(other).sum()), least)
            pairs.append(float((one * other).sum()) / energy**0.5)
        total += min(pairs)
    return total / 3
