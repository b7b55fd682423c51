"""Rendered concerts as the finder gets them: evidence and melody measured, the cycle followed from two marked sams.

A person marks two sams where the laya is in doubt (`layakosh doubts --laya`), so the first two of every section are
handed over; everything else is heard. What was measured is kept beside the sound.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from annotate import evidence_store, melody_store
from benchmarks.concerts.truth import SectionTruth
from benchmarks.finding.concert import rendered
from benchmarks.finding.truth import EventTruth
from benchmarks.scores import fit
from ingest.evidence import Evidence
from ingest.finding.lattice import Lattice, lay_out
from ingest.measure import measure
from ingest.melody import Melody, melody
from ingest.onset_times import onset_times
from ingest.tonic import sa_from_drone
from theory.talas import get_tala

NEAR_LANDING_S, NEAR_SPACING_TICKS = 0.1, 1.5


@dataclass(frozen=True, eq=False)
class HeardSection:
    """A section of a concert laid out on its grid, and what is true of it."""

    seed: int
    lattice: Lattice
    events: tuple[EventTruth, ...]
    duration_s: float
    onsets_s: NDArray[np.float64]

    def matching(self, event: EventTruth, landing: NDArray[np.int64], spacing: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Which places are an event's landing at its spacing."""
        lattice = self.lattice
        away_s = np.abs(landing - lattice.tick_of(event.landing_s)) * lattice.tick_s
        return (away_s < NEAR_LANDING_S) & (np.abs(spacing - ticks(event.period, lattice)) < NEAR_SPACING_TICKS)


def ticks(matras: Fraction, lattice: Lattice) -> float:
    """A length in ticks."""
    return float(matras * lattice.parts)


def heard(seed: int, cache_folder: Path, marked: bool = True) -> Iterator[HeardSection]:
    """The sections of a concert whose cycle could be followed."""
    evidence, found_melody, sections, events = measured(seed, cache_folder)
    sa_hz, onsets_s = sa_from_drone(evidence).hz, onset_times(evidence)
    for number, section in enumerate(sections):
        found = fit(evidence, section, section.sam_s[:2] if marked else ())[2]
        if found is None:
            continue
        tala = get_tala(section.tala)
        first = int((found.cycle[0] - 1) * tala.matras + found.matra[0] - 1)
        lattice = lay_out(evidence, found_melody, sa_hz, found.matra_s, first, tala.matras)
        own = tuple(event for event in events if event.section == number)
        yield HeardSection(seed, lattice, own, section.end_s - section.start_s, onsets_s)


def measured(seed: int, cache_folder: Path) -> tuple[Evidence, Melody, list[SectionTruth], list[EventTruth]]:
    """Evidence, melody, true sections and true events of a concert."""
    path, truth, events = rendered(seed, cache_folder)
    folder = path.with_suffix("")
    evidence: Evidence | None = evidence_store.load(folder) if folder.exists() else None
    found: Melody | None = melody_store.load(folder) if folder.exists() else None
    if evidence is None or found is None:
        folder.mkdir(exist_ok=True)
        evidence, found = measure(path), melody(path)
        melody_store.save(folder, found)
        evidence_store.save(folder, evidence)
    return evidence, found, truth.with_tala, events
