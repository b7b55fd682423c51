"""A small archive to test with: one recording without sound, teental, every matra half a second long.

Section "gat" lasts from 10 to 90 s; its sams stand at 10, 18, 26 ... 90 s, so that matra m of cycle c is at
10 + 8 (c - 1) + (m - 1) / 2 s. Before it lies "alap" from 0 to 10 s.
"""

from __future__ import annotations

import hashlib
from fractions import Fraction
from pathlib import Path

import numpy as np

from annotate.archive import Archive
from annotate.records import MarkedSam, PhraseRecord, Recording, Section, TihaiRecord
from annotate.revisions import add
from ingest.evidence import DRONE_CELLS, Evidence
from ingest.stroke_chances import STROKE_KINDS

SLUG = "evening"
MATRA_S = 0.5
SAMS_S = tuple(10.0 + 8.0 * cycle for cycle in range(11))


def at(cycle: int, matra: float | Fraction) -> float:
    """Time of a position on the straight grid of the recording."""
    return 10.0 + 8.0 * (cycle - 1) + MATRA_S * (float(matra) - 1.0)


def make_archive(folder: Path) -> Archive:
    """Make an archive with the recording described above in it."""
    archive = Archive.create(folder / "archive")
    rows = [
        Recording(SLUG, "Evening", raga="desh", tala="teental", duration_s=100.0),
        Section("alap", "alap", 0.0, 10.0),
        Section("gat", "gat", 10.0, 90.0, "teental"),
        *(MarkedSam(f"s{n:02d}", "gat", sam_s) for n, sam_s in enumerate(SAMS_S, start=1)),
    ]
    archive.commit(SLUG, [add(row) for row in rows], "test", "made")
    return archive


def tihai(key: str = "t01", *, cycle: int = 2, dev_s: float = 0.0, **changes: object) -> TihaiRecord:
    """A tihai of 5 + 1 + 5 + 1 + 5 from sam to sam, its landing stroke played ``dev_s`` late."""
    starts = tuple(at(cycle, 1 + 6 * palla) for palla in range(3))
    values: dict[str, object] = {
        "tihai": key,
        "palla_s": starts,
        "landing_s": at(cycle + 1, 1) + dev_s,
        "tala": "teental",
        "start": Fraction(1),
        "palla": "S R G m P",
        "dam": Fraction(1),
    }
    return TihaiRecord(**{**values, **changes})  # type: ignore[arg-type]


def phrase(key: str = "p01", start_s: float = 20.0, end_s: float = 22.0, swaras: str = "R m P") -> PhraseRecord:
    """A phrase."""
    return PhraseRecord(key, start_s, end_s, swaras, "mukhra")


def fingerprint(archive: Archive) -> dict[str, str]:
    """Digest of every revision file: equal before and after means that no annotation changed."""
    return {
        str(path.relative_to(archive.path)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(archive.path.glob("recordings/*/revisions/*"))
    }


def _chances(strokes: np.ndarray) -> np.ndarray:
    """Chances of a stroke wherever one is: the bayan rings, and the dayan from the rim."""
    chances = np.full((len(strokes), len(STROKE_KINDS)), 0.01, np.float32)
    chances[strokes > 0, 0] = chances[strokes > 0, 2] = 0.99
    return chances


def make_evidence(duration_s: float) -> Evidence:
    """Evidence of a recording with a stroke on every matra of the straight grid; otherwise arbitrary numbers."""
    rng = np.random.default_rng(7)
    hop_s, chroma_hop_s = 0.01, 0.1
    frames, rows = int(duration_s / hop_s), int(duration_s / chroma_hop_s)
    strokes = np.zeros(frames, np.float32)
    strokes[:: round(MATRA_S / hop_s)] = 20
    return Evidence(
        duration_s=duration_s,
        hop_s=hop_s,
        bass=strokes + rng.random(frames, np.float32),
        treble=strokes + rng.random(frames, np.float32),
        strength=strokes + rng.random(frames, np.float32),
        level_db=-20 * rng.random(frames, np.float32),
        chroma_hop_s=chroma_hop_s,
        chroma=rng.random((rows, 12), np.float32),
        drone=rng.random(DRONE_CELLS, np.float32),
        stroke_hop_s=0.01,
        strokes=_chances(strokes),
        texture_hop_s=0.2,
        texture=rng.random((int(duration_s / 0.2), 10), np.float32),
    )
