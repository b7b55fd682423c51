"""First look: where a passage comes again at equal spacing, so that a third time ends where something could land.

For every spacing that players may count, the likeness of each tick with the one that follows by that spacing is summed
over the passages before every place of landing. It counts by how far it stands above what this section is like at this
spacing anyway, and above what is found at the same place of other cycles: theka, mukhra and runs are like themselves
all the time. Where a spacing suits the theka so well that nothing can stand out of it, what counts is how unlike the
cycles around the passage is while being like itself.

Conventions: ticks as in `lattice`. A *spacing* is the way from a palla to the next. The *streams* that are compared are
the strokes of the tabla, the melody's pitch, and the lead's plucks, each alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from ingest.finding.lattice import Floats, Lattice

UNITS = tuple(Fraction(1, n) for n in (1, 2, 3, 4, 6, 8, 12, 16))
"""What a matra may be divided into, in strokes."""
QUICKEST_UNIT_S = 0.1
SPACING_S = (0.6, 20.0)
LANDINGS_APART_S = 0.22  # places of landing are matras, and their halves or quarters where these are so far apart
SPANS = (0.3, 0.5, 0.75, 1.0)  # of the spacing: how much of it may be palla
STREAMS = ("tabla", "melody", "plucks")
QUIET = 1e-3  # energy a tick below which two silences are not called alike
LEAST_SPREAD = 0.02
NO_SUCH = -5.0
CYCLES_AROUND = (-3, -2, -1, 1, 2, 3)
CYCLE_WEIGHT = 0.4
FRESH_SPANS = (0.75, 1.0)


@dataclass(frozen=True, eq=False)
class Scan:
    """The first look at a section: s streams, g spacings, t landings.

    Parameters
    ----------
    landings : ndarray of int64, shape (t,)
    spacings : ndarray of int64, shape (g,)
        Both in ticks.
    height : ndarray of float32, shape (s, g, t)
        Standard deviations by which the pallas are more alike than usual at that spacing.
    elsewhere : ndarray of float32, shape (s, g, t)
        Mean of the same at the same place of the cycles around.
    fresh : ndarray of float32, shape (s, g, t)
        How much more alike the pallas are among themselves than with the same place of the cycle before or after.
    """

    landings: NDArray[np.int64]
    spacings: NDArray[np.int64]
    height: Floats
    elsewhere: Floats
    fresh: Floats

    @property
    def score(self) -> Floats:
        """The best stream's height above the cycles around, shape (g, t)."""
        best: Floats = (self.height - CYCLE_WEIGHT * np.maximum(self.elsewhere, 0)).max(axis=0)
        return best

    def seeds(self, most: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Numbers of spacing and landing of the places that stand out most.

        Half of them for how they stand out, the likeliest first, half for being fresh.
        """
        score, fresh = self.score, self.fresh.max(axis=0)
        standing_out = _highest(score, most // 2)
        fresh_first = _highest(fresh, most)
        order = np.concatenate([standing_out, fresh_first[~np.isin(fresh_first, standing_out)][: most - most // 2]])
        order = order[score.ravel()[order] > NO_SUCH]
        spacing, landing = np.unravel_index(order, score.shape)
        return spacing, landing


def _highest(values: Floats, most: int) -> NDArray[np.int64]:
    """Flat numbers of the highest values, the highest first."""
    flat = values.ravel()
    most = min(most, len(flat))
    best = np.sort(np.argpartition(-flat, most - 1)[:most]) if most else np.zeros(0, np.int64)
    return best[np.argsort(-flat[best], kind="stable")]


def units_of(lattice: Lattice) -> tuple[int, ...]:
    """The parts of a matra that may be strokes here, in ticks, the longest first."""
    return tuple(
        int(unit * lattice.parts) for unit in UNITS if unit == 1 or lattice.matra_s * float(unit) >= QUICKEST_UNIT_S
    )


def spacings_of(lattice: Lattice) -> NDArray[np.int64]:
    """Every spacing that can be counted in strokes, ascending."""
    longest = int(min(SPACING_S[1] / lattice.tick_s, (len(lattice) - 1) / 2))
    least = SPACING_S[0] / lattice.tick_s
    counted = {n for unit in units_of(lattice) for n in range(unit, longest + 1, unit) if n >= least}
    return np.array(sorted(counted), dtype=np.int64)


def landings_of(lattice: Lattice) -> NDArray[np.int64]:
    """Where something may land."""
    parts = next((n for n in (4, 2) if lattice.matra_s / n >= LANDINGS_APART_S), 1)
    return np.arange(0, len(lattice), lattice.parts // parts, dtype=np.int64)


def scan(lattice: Lattice) -> Scan:
    """Look at every landing and spacing of a section."""
    landings, spacings = landings_of(lattice), spacings_of(lattice)
    streams = (lattice.tabla, lattice.pitch, lattice.plucks[:, None])
    cycle = lattice.matras * lattice.parts
    height = np.full((len(STREAMS), len(spacings), len(landings)), NO_SUCH, np.float32)
    fresh = np.full_like(height, -1.0)
    for stream, rows in enumerate(streams):
        energy = _running(rows, rows)
        by_cycle = _running(rows[:-cycle], rows[cycle:]) if len(rows) > cycle else np.zeros(1)
        for number, spacing in enumerate(spacings):
            shared = _running(rows[:-spacing], rows[spacing:])
            around = _as_cycles_around(by_cycle, energy, landings, cycle, int(2 * spacing))
            for share in SPANS:
                span = max(1, int(share * spacing))
                found, alike = _height(shared, energy, landings, int(spacing), span)
                np.maximum(height[stream, number], found, out=height[stream, number])
                if share in FRESH_SPANS:
                    np.maximum(fresh[stream, number], alike - around, out=fresh[stream, number])
    return Scan(landings, spacings, height, _elsewhere(height, lattice, landings), fresh)


def _running(one: Floats, other: Floats) -> NDArray[np.float64]:
    """Running sum of the products, a zero before it."""
    return np.concatenate([[0.0], np.cumsum(np.einsum("nk,nk->n", one, other), dtype=np.float64)])


def _height(
    shared: NDArray[np.float64], energy: NDArray[np.float64], landings: NDArray[np.int64], spacing: int, span: int
) -> tuple[Floats, Floats]:
    """How far the last ``span`` ticks of three pallas are more alike than usual, by landing, and how alike."""
    out, least_alike = np.full(len(landings), NO_SUCH, np.float32), np.full(len(landings), -1.0, np.float32)
    alike = _cosines(shared, energy, spacing, span)
    begins = landings - spacing - span + 1  # of the second palla; the first begins one spacing before
    possible = begins >= spacing
    if not len(alike) or not possible.any():
        return out, least_alike
    usual, spread = alike.mean(), max(float(alike.std()), LEAST_SPREAD)
    later, earlier = alike[begins[possible]], alike[begins[possible] - spacing]
    least, most = np.minimum(later, earlier), np.maximum(later, earlier)
    out[possible] = (least - usual) / spread + 0.5 * (most - usual) / spread
    least_alike[possible] = least
    return out, least_alike


def _as_cycles_around(
    by_cycle: NDArray[np.float64], energy: NDArray[np.float64], landings: NDArray[np.int64], cycle: int, span: int
) -> Floats:
    """How alike the ``span`` ticks before each landing are to the same place of the nearer one of two cycles."""
    out = np.zeros(len(landings), np.float32)
    alike = _cosines(by_cycle, energy, cycle, span)
    for begins in (landings - span + 1, landings - span + 1 - cycle):
        there = (begins >= 0) & (begins < len(alike))
        out[there] = np.maximum(out[there], alike[begins[there]])
    return out


def _cosines(shared: NDArray[np.float64], energy: NDArray[np.float64], lag: int, span: int) -> NDArray[np.float64]:
    """Likeness of the ``span`` ticks from each tick on with those ``lag`` later, from running sums."""
    if len(shared) <= span:
        return np.zeros(0)
    both, each = shared[span:] - shared[:-span], energy[span:] - energy[:-span]
    least = QUIET * span
    one, other = np.maximum(each[: len(both)], least), np.maximum(each[lag : lag + len(both)], least)
    cosines: NDArray[np.float64] = both / np.sqrt(one * other)
    return cosines


def _elsewhere(height: Floats, lattice: Lattice, landings: NDArray[np.int64]) -> Floats:
    """Mean height at the same place of the cycles around; 0 where there are none."""
    total, count = np.zeros_like(height), np.zeros(len(landings), np.float32)
    cycle = lattice.matras * lattice.parts // int(landings[1]) if len(landings) > 1 else 1
    for cycles in CYCLES_AROUND:
        away = cycles * cycle
        at = np.arange(max(0, -away), min(len(landings), len(landings) - away))
        total[:, :, at] += np.maximum(height[:, :, at + away], -3)
        count[at] += 1
    mean: Floats = (total / np.maximum(count, 1)).astype(np.float32)
    return mean
