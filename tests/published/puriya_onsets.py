"""The published concert laid out for the finder: no sound, only when lead and tabla struck nearest to each matra."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from ingest.finding.lattice import PARTS, REACH_S, TABLA_KINDS, TICK_S, Lattice

DATA = Path(__file__).parents[1] / "data" / "puriya_sitar_concert"
MATRAS = 16
SECTIONS = ("vilambit", "drut")


@dataclass(frozen=True)
class Marked:
    """A tihai or cadence as the expert marked it."""

    start_s: float
    end_s: float
    label: str


@cache
def rows_of(name: str) -> list[dict[str, str]]:
    """The rows of a published table."""
    with (DATA / name).open(newline="") as lines:
        return list(csv.DictReader(lines))


def sams_of(section: str) -> NDArray[np.float64]:
    """Times of a section's sams."""
    return np.array([float(row["sam_s"]) for row in rows_of("sam.csv") if row["section"] == section])


def marked() -> list[Marked]:
    """The tihais and cadences of the sections with a tala."""
    begins_s = sams_of("vilambit")[0]
    return [
        Marked(float(row["start_s"]), float(row["end_s"]), row["label"])
        for row in rows_of("events.csv")
        if any(word in row["label"].lower() for word in ("tihai", "cadence")) and float(row["start_s"]) > begins_s
    ]


def lattice_of(section: str) -> Lattice:
    """A section with straight lines between its sams: plucks where the lead struck, a stroke of no kind for the tabla.

    What cannot be told from onsets, pitch and loudness, is silent.
    """
    sam_s = sams_of(section)
    matra_s = np.interp(np.arange((len(sam_s) - 1) * MATRAS + 1), np.arange(len(sam_s)) * MATRAS, sam_s)
    parts = next(parts for parts in PARTS if np.median(np.diff(matra_s)) / parts <= TICK_S)
    time_s = np.interp(np.arange((len(matra_s) - 1) * parts + 1) / parts, np.arange(len(matra_s)), matra_s)
    tabla, plucks = (_struck(section, column, time_s) for column in ("tabla_s", "melody_s"))
    silent = np.zeros(len(time_s), np.float32)
    kinds = np.repeat(tabla[:, None], TABLA_KINDS, axis=1) / np.sqrt(np.float32(TABLA_KINDS))
    pitch = np.zeros((len(time_s), 12), np.float32)
    return Lattice(MATRAS, 0, parts, time_s, kinds, plucks, pitch, silent, silent, np.maximum(tabla, plucks))


def _struck(section: str, column: str, time_s: NDArray[np.float64]) -> NDArray[np.float32]:
    """1 at a published onset, less up to the reach of players' scatter about it, shape (n,)."""
    at_s = np.array(
        sorted({float(row[column]) for row in rows_of("onsets.csv") if row["section"] == section and row[column]})
    )
    after = np.clip(np.searchsorted(at_s, time_s), 1, len(at_s) - 1)
    away_s = np.minimum(np.abs(at_s[after] - time_s), np.abs(at_s[after - 1] - time_s))
    return np.clip(1 - (away_s / REACH_S) ** 2, 0, 1).astype(np.float32)
