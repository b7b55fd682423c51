"""Paper against played: how far each palla's start and the landing lie from where they are written.

Conventions: ms, late is up. The band is the tolerance within which a landing lands. What is returned is drawn by
``assets/deviations.mjs``; places are seconds of the recording, from and to, that a click on a sign plays.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

BEFORE_S, AFTER_S = 0.6, 0.6
"""What is heard around a stroke that is clicked on: enough to hear it against its neighbours."""

_LATE = "played minus paper (ms), late is up"


@dataclass(frozen=True)
class Statement:
    """One start or the landing: its deviation in ms, and when it is heard, in s; None where there is no sound."""

    name: str
    dev_ms: float
    heard_s: float | None = None


def around(time_s: float | None) -> tuple[float, float] | None:
    """Return the stretch that is heard around a time, in s."""
    if time_s is None:
        return None
    return round(max(time_s - BEFORE_S, 0.0), 3), round(time_s + AFTER_S, 3)


def deviation_drawing(statements: Sequence[Statement], tolerance_ms: float | None) -> Mapping[str, Any]:
    """Tell what is drawn of the deviations of a tihai's statements.

    Parameters
    ----------
    statements : sequence of Statement
        In the order played; the last one is the landing.
    tolerance_ms : float or None
        Half the height of the band.
    """
    series = {
        "name": "",
        "values": [round(statement.dev_ms, 1) for statement in statements],
        "places": [around(statement.heard_s) for statement in statements],
        "landing": True,
    }
    return {
        "x_title": "statement, in the order played",
        "y_title": _LATE,
        "names": [statement.name for statement in statements],
        "band_ms": tolerance_ms,
        "stems": True,
        "series": [series],
    }


def strokes_drawing(
    names: Sequence[str],
    pallas: Sequence[Sequence[tuple[float, float | None] | None]],
    tolerance_ms: float | None,
) -> Mapping[str, Any]:
    """Tell what is drawn of the deviations of each stroke, palla over palla.

    Parameters
    ----------
    names : sequence of str
        The notes of one palla in order ("1 R", "2 m" ...), and what lands after it, if anything.
    pallas : sequence of sequence of (float, float or None) or None
        Per palla, the deviation of each note in ms and when it is heard in s (None without sound); None where no
        stroke was found.
    tolerance_ms : float or None
        Half the height of the band: within it a landing lands.
    """
    series = [
        {
            "name": f"palla {number}",
            "values": [None if told is None else round(told[0], 1) for told in palla],
            "places": [None if told is None else around(told[1]) for told in palla],
            "landing": number == len(pallas) and len(palla) == len(names),
        }
        for number, palla in enumerate(pallas, 1)
    ]
    return {
        "x_title": "note of the palla, in order",
        "y_title": _LATE,
        "names": list(names),
        "band_ms": tolerance_ms,
        "stems": False,
        "series": series,
    }
