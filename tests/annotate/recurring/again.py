"""The small archive of `tests.annotate.desk` with a melody: in alap Desh's phrase, in the gat a mukhra in each avartan.

The mukhra takes five matras, from matra 12 on: m P N S' R', a note a matra. Elsewhere the line wanders by chance.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from annotate import evidence_store, melody_store
from annotate.archive import Archive
from annotate.revisions import add, change
from ingest.melody import Melody
from tests.annotate.desk import MATRA_S, SAMS_S, SLUG, make_archive, make_evidence
from tests.ingest.heard_melody import HOP_S, SA_HZ

DURATION_S = 100.0
MUKHRA = (5, 7, 11, 12, 14)
PAKAD = (2, 5, 7, 10, 9, 7, 5, 4, 2)  # R m P n D P m G R
NOTE_S = 0.24
"""Of the alap, in whole frames."""
WITHOUT = 4
"""The avartan that ends without the mukhra."""


def again_archive(folder: Path) -> Archive:
    """Make the archive; a second recording of the raga, "morning", has the phrase of the alap once."""
    archive = make_archive(folder)
    _heard(archive, SLUG, line_of_evening())
    recording = replace(archive.state(SLUG).recording, sa_hz=SA_HZ)
    archive.commit(SLUG, [change(recording)], "test", "Sa")
    archive.commit("morning", [add(replace(recording, slug="morning", title="Morning"))], "test", "made")
    notes = [(each, 0.4) for each in (*_wandering(40, 9), *PAKAD, *_wandering(60, 11))]
    _heard(archive, "morning", notes)
    return archive


def line_of_evening() -> list[tuple[int, float]]:
    """Semitones and seconds of every note."""
    notes = [(each, NOTE_S) for each in (*_wandering(4, 0), *PAKAD, *_wandering(5, 1), *PAKAD, *_wandering(4, 2))]
    notes += [(each, NOTE_S) for each in PAKAD]
    notes += [(0, 10.0 - NOTE_S * len(notes))]
    for cycle in range(len(SAMS_S) - 1):
        free = _wandering(11, 20 + cycle)
        ends = MUKHRA if cycle + 1 != WITHOUT else _wandering(5, 60)
        notes += [(each, MATRA_S) for each in (*free, *ends)]
    return [*notes, (0, 10.0)]


def _heard(archive: Archive, slug: str, notes: list[tuple[int, float]]) -> None:
    cents = np.repeat([100.0 * note for note, _ in notes], [round(each / HOP_S) for _, each in notes])
    voicing = np.full(len(cents), 0.95, np.float32)
    melody = Melody(HOP_S, (SA_HZ * 2 ** (cents / 1200)).astype(np.float32), voicing, voicing)
    melody_store.save(archive.evidence_folder(slug), melody)
    evidence_store.save(archive.evidence_folder(slug), make_evidence(DURATION_S))


def _wandering(count: int, seed: int) -> tuple[int, ...]:
    rng = np.random.default_rng(seed)
    scale, at, out = [0, 2, 4, 5, 7, 9, 11, 12, 14], int(rng.integers(9)), []
    for step in rng.choice([-2, -1, 1, 2, 3], count).tolist():
        at = (at + step) % len(scale)
        out.append(scale[at])
    return tuple(out)
