"""Where the palla begins: of every stroke before the landing, how well it would do as the first.

From the first stroke on the three passages are alike in whatever plays them; before it lies the dam, in which they need
not be. For every length that can be counted in strokes this measures what speaks for it (`NAMES`); trees that were
learnt on rendered concerts choose.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ingest.finding.close_look import VIEWS
from ingest.finding.kernels import UNLIKE
from ingest.finding.lattice import Floats, Lattice
from ingest.finding.scan import STREAMS, units_of

OF_LENGTH = ("share", "gap strokes", "strokes", "s", "gap s", "gap matras", "counted in", "spacing counted in",
             "gap counted in")  # fmt: skip
OF_STREAM = ("below the top", "depth", "two strokes in", "two strokes on", "four strokes on", "begins", "begins in all")
OF_ALL = ("all below the top", "lead below the top", "all four strokes on")
NAMES = (
    *OF_LENGTH,
    *(f"{stream}: {name}" for stream in STREAMS for name in OF_STREAM),
    *OF_ALL,
    *(f"by {player}" for player in VIEWS),
    *(f"{view}: share" for view in VIEWS),
)
"""What is measured of a length, in order. ``depth``: evidence up to there that the three are alike; ``two strokes in``,
``on``: what the last two strokes inside it add, and the next ones beyond; ``begins``: how plainly something is struck
there, in the mean and in the least plain of the three; ``by ...``: who plays, as far as known."""


def lengths_of(lattice: Lattice, spacing: int) -> NDArray[np.int64]:
    """Every length of a palla that can be counted in strokes, in ticks."""
    counted = {n for unit in units_of(lattice) for n in range(unit, spacing, unit)}
    return np.array(sorted(counted), dtype=np.int64)


def measure_lengths(
    lattice: Lattice,
    landing: int,
    spacing: int,
    lengths: NDArray[np.int64],
    by: NDArray[np.float64],
    shares: NDArray[np.floating],
) -> Floats:
    """Measure what speaks for each length.

    Parameters
    ----------
    lattice : Lattice
    landing, spacing : int
        In ticks.
    lengths : ndarray of int64, shape (k,)
    by : ndarray of float64, shape (3,)
        Chances of each of `close_look.VIEWS` to be who plays.
    shares : ndarray of float, shape (3,)
        The palla's share of the spacing in each view (`close_look`).

    Returns
    -------
    ndarray of float32, shape (k, len(NAMES))
    """
    units = units_of(lattice)
    unit = units[-1]
    ends = landing - np.arange(3)[:, None] * spacing - np.arange(spacing)[None, :]  # (3, spacing)
    ends = np.clip(ends, 0, len(lattice) - 1)
    inside, two_on, four_on = (
        np.maximum(lengths - 2 * unit, 0), np.minimum(lengths + 2 * unit, spacing - 1),
        np.minimum(lengths + 4 * unit, spacing - 1),
    )  # fmt: skip
    gap = spacing - lengths
    counted = [_counted_in(each, units) / lattice.parts for each in (lengths, np.full_like(lengths, spacing), gap)]
    columns = [
        lengths / spacing, gap / unit, lengths / unit, lengths * lattice.tick_s, gap * lattice.tick_s,
        gap / lattice.parts, *counted,
    ]  # fmt: skip
    depths = []
    for rows in (lattice.tabla, lattice.pitch, lattice.plucks[:, None]):
        energy = np.square(rows).sum(axis=1)
        first, second, third = rows[ends[2]], rows[ends[1]], rows[ends[0]]
        shared = (first * second + second * third + first * third).sum(axis=1)
        depth = np.cumsum(shared - UNLIKE * energy[ends].sum(axis=0)) / 3 / (energy.mean() + 1e-4)
        depths.append(depth)
        near = np.sqrt(np.maximum(energy, np.maximum(np.append(energy[1:], 0), np.append(0, energy[:-1]))))[ends]
        columns += [
            depth[lengths] - depth.max(), depth[lengths], depth[lengths] - depth[inside],
            depth[two_on] - depth[lengths], depth[four_on] - depth[lengths], near.mean(axis=0)[lengths],
            near.min(axis=0)[lengths],
        ]  # fmt: skip
    whole, lead = sum(depths), depths[1] + depths[2]
    columns += [whole[lengths] - whole.max(), lead[lengths] - lead.max(), whole[four_on] - whole[lengths]]
    columns += [np.full(len(lengths), each) for each in (*by, *shares)]
    return np.stack(columns, axis=1).astype(np.float32)


def _counted_in(lengths: NDArray[np.int64], units: tuple[int, ...]) -> NDArray[np.int64]:
    """The longest stroke that each length is a multiple of; 0 for none."""
    return np.array([next((unit for unit in units if length % unit == 0), 0) for length in lengths])
