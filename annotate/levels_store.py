"""The waveform on disk: levels of lowest and highest samples, in ``evidence/levels.parquet``.

All levels stand in one file, the finest first, in groups of rows so small that any stretch at any zoom is read by
touching a few of them. Made by ingest, replaced whole, can always be made again from the sound.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
from numpy.typing import NDArray

from annotate.evidence_store import is_length_s
from annotate.revisions import BROKEN
from annotate.schema import LEVELS
from annotate.store.folder import Folder, as_folder
from ingest.close_up import close_up
from ingest.levels import FACTOR, FULL_SCALE, Levels, Waveform

__all__ = ["Waveform", "load", "save", "waveform"]

_NAME = "levels.parquet"
_NOTE = b"layakosh"
_GROUP = 1 << 15
"""Rows of a group: 130 kB before compression."""


CLOSE_UP_S = 30.0
"""Longest stretch drawn from the sound itself: some 30 ms of work."""


def save(folder: Path | Folder, levels: Levels) -> None:
    """Write the waveform of a recording into its ``evidence`` folder, over what was there."""
    note: dict[str, Any] = {"cell_s": levels.cell_s, "factor": FACTOR, "cells": [len(low) for low in levels.low]}
    schema = LEVELS.with_metadata({_NOTE: json.dumps(note).encode()})
    with (
        as_folder(folder).writing(_NAME) as out,
        pq.ParquetWriter(out, schema, compression="zstd", use_dictionary=False, write_page_checksum=True) as writer,
    ):
        for first in range(0, sum(note["cells"]), _GROUP):
            group = [_cut(part, first, first + _GROUP) for part in (levels.low, levels.high)]
            writer.write_table(pa.Table.from_arrays([pa.array(each) for each in group], schema=schema))


def _cut(parts: Sequence[NDArray[np.int16]], first: int, last: int) -> NDArray[np.int16]:
    """Rows ``first`` to ``last`` of arrays that are thought of as one after the other."""
    cut, begins = [], 0
    for part in parts:
        cut.append(part[max(0, first - begins) : max(0, last - begins)])
        begins += len(part)
    return np.concatenate(cut)


def load(folder: Path | Folder) -> Levels | None:
    """Read the whole waveform; None when there is none, or when it cannot be read (listen again then)."""
    try:
        with as_folder(folder).open(_NAME) as source, pq.ParquetFile(source, page_checksum_verification=True) as file:
            cell_s, _factor, cells = _note(file)
            low, high = (np.split(part, np.cumsum(cells)[:-1]) for part in _rows(file, 0, sum(cells)))
            return Levels(cell_s, tuple(low), tuple(high))
    except BROKEN:
        return None


def waveform(
    folder: Path | Folder, start_s: float, end_s: float, points: int, sound: Callable[[], Path | None] | None = None
) -> Waveform | None:
    """Read a stretch of the waveform.

    Parameters
    ----------
    folder : Path or Folder
        The recording's ``evidence`` folder.
    start_s, end_s : float
        The stretch; what lies outside the recording is left out.
    points : int
        As many points as are wanted. Without a sound fewer are given where a stretch has not so many cells of the
        finest level (3 ms).
    sound : callable, optional
        Gives the listening copy (which may have to be fetched), from which a stretch is drawn that is too short for
        the kept levels.

    Returns
    -------
    Waveform or None
        None when there is no waveform, or it cannot be read (listen again then).
    """
    try:
        with as_folder(folder).open(_NAME) as source, pq.ParquetFile(source, page_checksum_verification=True) as file:
            cell_s, factor, cells = _note(file)
            if sound is not None and 0 < end_s - start_s < min(points * cell_s, CLOSE_UP_S):
                copy = sound()
                near = close_up(copy, start_s, end_s, points) if copy is not None else None
                if near is not None:
                    return near
            level = _level(end_s - start_s, max(1, points), cell_s, factor, len(cells))
            cell_s *= factor**level
            first = min(max(0, int(start_s // cell_s)), cells[level])
            last = min(max(first, int(np.ceil(end_s / cell_s))), cells[level])
            before = sum(cells[:level])
            low, high = _rows(file, before + first, before + last)
    except BROKEN:
        return None
    step = max(1, -(-(last - first) // max(1, points)))
    begins = np.arange(0, last - first, step)
    edges = np.append(begins, last - first) + first
    if not len(begins):
        return Waveform(np.array([first * cell_s]), np.zeros(0, np.float32), np.zeros(0, np.float32))
    lowest, highest = np.minimum.reduceat(low, begins), np.maximum.reduceat(high, begins)
    return Waveform(edges * cell_s, _share(lowest), _share(highest))


def _note(file: pq.ParquetFile) -> tuple[float, int, list[int]]:
    """Seconds of the finest cell, how many of a level make one of the next, and the cells of each level."""
    note = json.loads(file.schema_arrow.metadata[_NOTE])
    cell_s, factor, cells = float(note["cell_s"]), int(note["factor"]), [int(count) for count in note["cells"]]
    right = is_length_s(cell_s) and factor > 1 and cells and min(cells) >= 0 and sum(cells) == file.metadata.num_rows
    if not right or any(file.schema_arrow.field(name).type != LEVELS.field(name).type for name in LEVELS.names):
        raise ValueError("no waveform")
    return cell_s, factor, cells


def _level(length_s: float, points: int, cell_s: float, factor: int, count: int) -> int:
    """The coarsest level that still has a cell for every point."""
    level = 0
    while level + 1 < count and length_s / (cell_s * factor ** (level + 1)) >= points:
        level += 1
    return level


def _share(cells: NDArray[np.int16]) -> NDArray[np.float32]:
    return (cells / FULL_SCALE).astype(np.float32)


def _rows(file: pq.ParquetFile, first: int, last: int) -> tuple[NDArray[np.int16], NDArray[np.int16]]:
    """Rows ``first`` to ``last`` of the file, only the groups read that hold them."""
    groups = list(range(first // _GROUP, -(-last // _GROUP))) if last > first else []
    table = file.read_row_groups(groups, use_threads=False)
    offset = groups[0] * _GROUP if groups else first
    low, high = (table.column(name).to_numpy()[first - offset : last - offset] for name in LEVELS.names)
    return low, high
