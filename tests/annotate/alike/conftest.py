"""Two evenings whose melody and strokes are written down: the same phrase in both, and in the alap before one."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from annotate import evidence_store, melody_store
from annotate.archive import Archive
from annotate.records import Recording, Section
from annotate.revisions import add, change
from tests.annotate.desk import SLUG, at, make_archive, make_evidence
from tests.ingest.heard_melody import HOP_S, SA_HZ, written_melody

PHRASE = (500, 700, 1100, 1200, 700)  # m P N S' P
OTHER = "morning"
PLUCK = 6


def line_with(phrases: dict[float, tuple[tuple[int, ...], float]], seed: int) -> list[tuple[float, float, float]]:
    """A hundred seconds of any swaras, half a second each, and phrases: by start, their cents and the note's length."""
    rng = np.random.default_rng(seed)
    cents = np.repeat(rng.choice((0, 200, 400, 500, 700, 900, 1000, 1100), 200), round(0.5 / HOP_S)).astype(float)
    for start_s, (phrase, each_s) in phrases.items():
        for number, cent in enumerate(phrase):
            begins, ends = (round((start_s + each_s * (number + more)) / HOP_S) for more in (0, 1))
            cents[begins:ends] = cent
    return [(HOP_S, float(cent), 0.95) for cent in cents]


def hear(archive: Archive, slug: str, phrases: dict[float, tuple[tuple[int, ...], float]], seed: int) -> None:
    """Write down evidence and melody of a recording; the string is struck on every note of the phrases."""
    evidence = make_evidence(100.0)
    strokes = evidence.strokes.copy()
    for start_s, (phrase, each_s) in phrases.items():
        for number in range(len(phrase)):
            strokes[round((start_s + each_s * number) / evidence.stroke_hop_s), PLUCK] = 0.9
    evidence_store.save(archive.evidence_folder(slug), replace(evidence, strokes=strokes))
    melody_store.save(archive.evidence_folder(slug), written_melody(*line_with(phrases, seed)))


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """The phrase in avartans 3 and 7 of the evening and in its alap; a tone higher in the morning, without a grid."""
    archive = make_archive(tmp_path)
    recording = replace(archive.state(SLUG).recording, sa_hz=SA_HZ)
    archive.commit(SLUG, [change(recording)], "test", "Sa")
    rows = [
        Recording(OTHER, "Morning", raga="desh", duration_s=100.0, sa_hz=SA_HZ),
        Section("alap", "alap", 0.0, 100.0),
    ]
    archive.commit(OTHER, [add(row) for row in rows], "test", "made")
    hear(archive, SLUG, {at(3, 5): (PHRASE, 0.5), at(7, 3): (PHRASE, 0.5), 2.0: (PHRASE, 0.5)}, seed=3)
    hear(archive, OTHER, {40.0: (tuple(cent + 200 for cent in PHRASE), 0.5)}, seed=4)
    return archive
