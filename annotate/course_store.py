"""Courses of the cycle without marks, kept in ``evidence/courses.parquet``: marks are fitted from there.

A course is known by a digest of what it follows from. Like the grid it can be made again at any time, so a file that
cannot be read counts as none, and one that cannot be written is done without.
"""

from __future__ import annotations

import contextlib
from collections.abc import Collection
from pathlib import Path as FilePath

import numpy as np

from annotate.array_files import read_arrays, write_arrays
from annotate.schema import COURSES
from annotate.store.folder import Folder
from ingest.bar_pointer import Path

FILE = "courses.parquet"

Courses = dict[str, Path]


def load(evidence_folder: FilePath | Folder) -> Courses:
    """Read the courses of a recording, by digest."""
    read = read_arrays(evidence_folder, FILE, COURSES)
    if read is None:
        return {}
    arrays, note = read
    found: Courses = {}
    try:
        for number, (digest, end, score) in enumerate(note["courses"]):
            rows = arrays["course"] == number
            frame, matra, solo = (arrays[name][rows] for name in ("frame", "matra", "solo"))
            if len(frame):
                found[str(digest)] = Path(
                    frame.astype(np.int64), matra.astype(np.int64), solo.astype(bool), int(end), float(score)
                )
    except (KeyError, TypeError, ValueError, OverflowError):
        return {}
    return found


def save(evidence_folder: FilePath | Folder, courses: Courses, wanted: Collection[str]) -> None:
    """Write those of the courses whose digest is wanted, over what was there."""
    kept = {digest: path for digest, path in courses.items() if digest in wanted}
    arrays = {
        "course": _joined([np.full(len(path.frame), number) for number, path in enumerate(kept.values())]),
        "frame": _joined([path.frame for path in kept.values()]),
        "matra": _joined([path.matra for path in kept.values()]),
        "solo": _joined([path.solo for path in kept.values()]),
    }
    note = {"courses": [(digest, int(path.end), float(path.score)) for digest, path in kept.items()]}
    with contextlib.suppress(OSError):  # read-only: followed again by the next reader
        write_arrays(evidence_folder, FILE, COURSES, arrays, note)


def _joined(parts: list[np.ndarray]) -> np.ndarray:
    return np.concatenate(parts) if parts else np.zeros(0, dtype=np.int64)
