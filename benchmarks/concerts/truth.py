"""What is known of a rendered concert, and how it is kept beside the sound (JSON).

Conventions: times in seconds from the recording's start; matras and cycles from 1. The matras are the players' common
pulse, about which the strokes scatter; onsets are the strokes' own.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

MELODY_HOP_S = 0.01
JOINED_GAP_S = 10.0  # tabla sections closer than this are one stretch with tabla


@dataclass(frozen=True)
class SectionTruth:
    """A section as played.

    Attributes
    ----------
    kind, tala : str
        As planned; tala '' without tabla.
    start_s, end_s : float
        With a tala: from its first sound to the landing of its last sam and a little more.
    mpm : tuple of float
        Laya at the start and the end.
    cycle, matra : list of int
    matra_s : list of float
        Every matra from the first sam to the last.
    solos : list of (float, float)
        From when to when the tabla leaves the theka.
    tihais : list of (float, float, float, float)
        The pulse's times of the three pallas' starts and of the landing.
    """

    kind: str
    tala: str
    start_s: float
    end_s: float
    mpm: tuple[float, float]
    cycle: list[int]
    matra: list[int]
    matra_s: list[float]
    solos: list[tuple[float, float]]
    tihais: list[tuple[float, float, float, float]]

    @property
    def sam_s(self) -> list[float]:
        """Times of the sams."""
        return [at for at, matra in zip(self.matra_s, self.matra, strict=True) if matra == 1]


@dataclass(frozen=True)
class Truth:
    """A concert as played.

    Attributes
    ----------
    plan : dict
        The concert's plan, for the record.
    sections : list of SectionTruth
    stroke_s, pluck_s : list of float
        Onsets of every stroke of the tabla and every pluck of the lead, ascending.
    melody_hz : list of float
        Fundamental of the lead every `MELODY_HOP_S`; 0 where it does not sound.
    """

    seed: int
    sa_hz: float
    duration_s: float
    plan: dict[str, Any]
    sections: list[SectionTruth]
    stroke_s: list[float]
    pluck_s: list[float]
    melody_hz: list[float]

    @property
    def with_tala(self) -> list[SectionTruth]:
        """The sections that have a tala."""
        return [section for section in self.sections if section.tala]

    def tabla_edges_s(self) -> list[float]:
        """Where stretches with tabla begin and end, by the strokes' onsets."""
        strokes: NDArray[np.float64] = np.array(self.stroke_s)
        gaps = np.flatnonzero(np.diff(strokes) > JOINED_GAP_S)
        return [strokes[0], *(float(t) for gap in gaps for t in strokes[gap : gap + 2]), strokes[-1]]


def write_truth(path: Path, truth: Truth) -> None:
    """Write as JSON; nothing half-written stays under the final name."""
    unfinished = path.with_suffix(".part")
    unfinished.write_text(json.dumps(asdict(truth)), encoding="utf-8")
    unfinished.replace(path)


def read_truth(path: Path) -> Truth:
    """Read what `write_truth` wrote."""
    read = json.loads(path.read_text(encoding="utf-8"))
    read["sections"] = [SectionTruth(**section) for section in read["sections"]]
    return Truth(**read)
