"""The pallas one above the other: each one's sound from its own start, with the written notes and the strokes heard.

Aim
    Three times the same should look three times the same. Beginnings stand in one line, so whatever is pulled or
    rushed shows as strokes that do not stand below each other.

Conventions: seconds from each palla's own start. Loudness as a share of the loudest of the passage, so that the rows
can be compared.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating]


@dataclass(frozen=True)
class PallaSound:
    """One row.

    Attributes
    ----------
    name : str
    from_s, to_s : float
        Where the palla begins and ends in the recording.
    edge_s : ndarray, shape (n + 1,)
        Limits of the waveform's points, in seconds from the palla's start.
    low, high : ndarray, shape (n,)
    written : sequence of (float, str)
        Where each note is due by the paper, in seconds from the palla's start, and the note.
    played_s : sequence of float
        Strokes that were told, from the palla's start.
    """

    name: str
    from_s: float
    to_s: float
    edge_s: Floats
    low: Floats
    high: Floats
    written: Sequence[tuple[float, str]] = ()
    played_s: Sequence[float] = ()


def pallas_drawing(rows: Sequence[PallaSound]) -> Mapping[str, Any]:
    """Tell what is drawn of the pallas one above the other, by ``assets/waves.mjs``."""
    loudest = max((float(np.abs([row.low, row.high]).max()) for row in rows if len(row.low)), default=0.0) or 1.0
    return {
        "x_title": "time from the palla's own start (s)",
        "y_title": "sound (share of the loudest)",
        "length_s": round(max((float(row.edge_s[-1]) for row in rows if len(row.edge_s)), default=0.0), 3),
        "rows": [
            {
                "name": row.name,
                "from_s": round(row.from_s, 3),
                "to_s": round(row.to_s, 3),
                "edge_s": row.edge_s.round(4).tolist(),
                "low": (row.low / loudest).round(3).tolist(),
                "high": (row.high / loudest).round(3).tolist(),
                "written": [[round(at_s, 3), symbol] for at_s, symbol in row.written],
                "played_s": [round(at_s, 3) for at_s in row.played_s],
            }
            for row in rows
        ],
    }
