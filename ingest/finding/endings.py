"""How the pallas end: what tells the landing from the strokes beside it where the spacing is right.

The landing stroke ends the first and the second palla too, and the dam follows it there; a matra earlier the three
would still go on alike, a matra later the earlier pallas would have ended in their dams.

Conventions: ticks as in `lattice`; likeness as in `streams`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ingest.finding.scan import STREAMS
from ingest.finding.streams import Streams, Ticks

REACHES = ("a stroke", "two strokes", "a matra")
OF_ENDING: tuple[str, ...] = tuple(
    f"{stream} {name}"
    for stream in STREAMS
    for name in (
        "at the lesser end",
        "at the greater end",
        "at the end",
        *(f"{what} {reach}" for reach in REACHES for what in ("goes on alike", "dams alike", "ends alike")),
        "after the ends",
    )
)
"""What is measured of the endings, in order.

``at the ... end``: energy of the landing strokes of the first two pallas, and of the third; ``goes on alike``: likeness
of the less alike pair of what follows the three; ``dams alike``: of what follows the first two; ``ends alike``: of the
less alike pair of their last strokes; ``after the ends``: what sounds right after the first two.
"""


def measure_endings(
    streams: Streams, landing: Ticks, spacing: Ticks, unit: int, parts: int
) -> list[NDArray[np.float64]]:
    """What `OF_ENDING` names, a column each.

    Parameters
    ----------
    streams : Streams
    landing, spacing : ndarray of int64, shape (n,)
        Of the places.
    unit, parts : int
        Ticks of the shortest stroke and of a matra.
    """
    from scipy.ndimage import maximum_filter1d

    here = np.zeros_like(landing)
    columns: list[NDArray[np.float64]] = []
    for stream in range(len(STREAMS)):
        near = maximum_filter1d(streams.energy[stream], 3, mode="constant") / streams.usual[stream]
        first, second, third = (near[np.clip(landing - back * spacing, 0, len(near) - 1)] for back in (2, 1, 0))
        columns += [np.minimum(first, second), np.maximum(first, second), third]
        for reach in (unit, 2 * unit, parts):
            ahead = np.full_like(landing, reach)
            # two ticks belong to the landing stroke itself
            third_on, second_on = (
                streams.alike(stream, tick + reach, spacing, here, ahead - 2) if reach > 2 else np.zeros(len(landing))
                for tick in (landing, landing - spacing)
            )
            ends = [streams.alike(stream, tick, spacing, here, ahead) for tick in (landing, landing - spacing)]
            columns += [np.minimum(third_on, second_on), second_on, np.minimum(*ends)]
        after = [
            streams.busy(stream, landing - back * spacing + 2, landing - back * spacing + max(unit, 3))
            for back in (1, 2)
        ]
        columns.append(np.mean(after, axis=0))
    return columns
