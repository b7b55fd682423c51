"""Recordings with tihais in them that were never sounded: strokes written into the evidence, on a grid held by marks.

Teental at half a second a matra, as in `tests.annotate.desk`: two gats, from 10 to 50 s and from 50 to 90 s, sams every
eight seconds from 10 s on. The tabla plays whatever comes (by a seed), every matra and some halves, but for the tihais:
five strokes on half matras, half a matra of dam, from matra 9 to sam.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from annotate import evidence_store
from annotate.archive import Archive
from annotate.records import MarkedSam, Recording, Section
from annotate.revisions import add
from tests.annotate.desk import MATRA_S, SAMS_S, SLUG, at, make_evidence

PALLA = ((0, 2), (2,), (1, 5), (3,), (0, 4))
"""What is struck, a half matra each: numbers of `ingest.stroke_chances.STROKE_KINDS`."""
SPACING_MATRAS = 3.0
FIRST_LANDING_S, SECOND_LANDING_S = at(3, 1), at(8, 1)
LANDINGS_S = (FIRST_LANDING_S, SECOND_LANDING_S)
"""One in either gat."""
SURE = 0.95


def make_gats(archive: Archive, slug: str = SLUG, landings_s: tuple[float, ...] = LANDINGS_S, seed: int = 0) -> None:
    """Put a recording with tihais that land at these sams into an archive."""
    rows = [
        Recording(slug, f"The {slug}", raga="desh", tala="teental", lead="mandolin", duration_s=100.0),
        Section("alap", "alap", 0.0, 10.0),
        Section("gat", "gat", 10.0, 50.0, "teental"),
        Section("gat 2", "gat", 50.0, 90.0, "teental"),
        *(
            MarkedSam(f"s{number:02d}", "gat" if sam_s < 50 else "gat 2", sam_s, number)
            for number, sam_s in enumerate(SAMS_S, start=1)
        ),
    ]
    archive.commit(slug, [add(row) for row in rows], "test", "made")
    measure(archive, slug, landings_s, seed)


def measure(archive: Archive, slug: str, landings_s: tuple[float, ...], seed: int) -> None:
    """Put the evidence of such a recording in the place of what there was."""
    evidence = make_evidence(100.0)
    strokes = _strokes(evidence.strokes.shape, evidence.stroke_hop_s, landings_s, seed)
    evidence_store.save(archive.evidence_folder(slug), replace(evidence, strokes=strokes))


def _strokes(shape: tuple[int, ...], hop_s: float, landings_s: tuple[float, ...], seed: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    chances = rng.uniform(0, 0.03, shape).astype(np.float32)
    for number, time_s in enumerate(np.arange(10.0, 90.0, MATRA_S / 2)):
        on_matra = number % 2 == 0
        kinds = rng.choice(6, size=int(rng.integers(1, 3) if on_matra else rng.random() < 0.4), replace=False)
        if not any(begin_s - 0.01 < time_s < landing_s + 0.01 for begin_s, landing_s in _spans(landings_s)):
            chances[round(time_s / hop_s), kinds] = SURE
    for begin_s, _ in _spans(landings_s):
        for palla in range(3):
            for number, kinds in enumerate(PALLA):
                time_s = begin_s + (palla * SPACING_MATRAS + number / 2) * MATRA_S
                chances[round(time_s / hop_s), list(kinds)] = SURE
    return chances


def _spans(landings_s: tuple[float, ...]) -> list[tuple[float, float]]:
    return [(landing_s - 8 * MATRA_S, landing_s) for landing_s in landings_s]
