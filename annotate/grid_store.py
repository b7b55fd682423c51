"""Fitting the grid of a recording, and keeping it until what it follows from has changed.

The grid of a section follows from the section's limits and tala, its marked sams, and the evidence: from the course of
its cycle without marks (`course_store`), which the marks then change. A digest of these is kept beside it; a reader
whose digest differs fits that section again, and only that one. With evidence the grid is kept in
``evidence/grid.parquet``; without (annotations of a recording whose sound is elsewhere) it is a matter of straight
lines, made when asked for.
"""

from __future__ import annotations

import hashlib
import json
import threading
from collections.abc import Callable, Sequence
from itertools import pairwise
from pathlib import Path

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq

from annotate import course_store, evidence_store
from annotate.grid import Grid, RecordingGrid
from annotate.records import MarkedSam, Section
from annotate.revisions import BROKEN
from annotate.schema import GRID
from annotate.state import State
from annotate.store.folder import Folder, as_folder
from ingest.bar_pointer import Path as Course
from ingest.cycle import CycleFit, fit_cycle, follow_unmarked, straight_cycle
from ingest.errors import ConflictingSams, NoPulse
from ingest.evidence import Evidence
from theory.talas import Tala, get_tala

FIT_VERSION = 3
"""Raised when the fit itself changes, so that kept grids are made again."""

_fitting = threading.Lock()
"""An hour's evidence and what is computed of it take 100 MB, so one thread fits at a time; the others find its grid."""
_NOTE = b"layakosh"
_ALWAYS = ("section", "cycle", "matra", "matra_s", "confidence", "solo")
"""Columns without a gap."""


def present_grid(
    state: State,
    evidence_folder: Path | Folder,
    known: RecordingGrid | None = None,
    *,
    strict: bool = False,
    share: Callable[[float], None] | None = None,
) -> RecordingGrid:
    """Return the grid that follows from a state and the evidence in a folder.

    Parameters
    ----------
    state : State
        Its sections and marked sams count.
    evidence_folder : Path or Folder
        The recording's ``evidence`` folder; may be missing.
    known : RecordingGrid, optional
        A grid made earlier; its sections are taken over where nothing changed.
    strict : bool
        Whether marks that no cycle can satisfy are an error (before they are written) or leave their section without a
        grid (afterwards: whatever was once written, the archive can be read).

    share : callable, optional
        Told the share done after every section that was fitted; what is fitted by then is kept at once.

    Raises
    ------
    ingest.errors.ConflictingSams
        Marked sams that no cycle can satisfy, when ``strict``.
    """
    stamp = evidence_store.stamp(evidence_folder)
    with_tala = [section for section in state.sections if section.tala]
    digests = _digests(state, stamp)
    if known is not None and known.digests == digests:
        return known
    on_disk = _load(as_folder(evidence_folder), with_tala) if stamp else None
    if on_disk is not None and on_disk.digests == digests:
        return on_disk
    with _fitting:
        if stamp:  # another thread may have fitted it meanwhile
            on_disk = _load(as_folder(evidence_folder), with_tala)
            if on_disk is not None and on_disk.digests == digests:
                return on_disk
        return _fitted(state, evidence_folder, stamp, digests, known or on_disk, strict=strict, share=share)


def follows(grid: RecordingGrid, state: State, evidence_folder: Path | Folder) -> bool:
    """Tell whether a grid is the one that follows from a state and the evidence in a folder."""
    return grid.digests == _digests(state, evidence_store.stamp(evidence_folder))


def _digests(state: State, stamp: str) -> dict[str, str]:
    return {each.section: _digest(each, _sams_of(state, each), stamp) for each in state.sections if each.tala}


def _fitted(
    state: State,
    evidence_folder: Path | Folder,
    stamp: str,
    digests: dict[str, str],
    known: RecordingGrid | None,
    *,
    strict: bool,
    share: Callable[[float], None] | None,
) -> RecordingGrid:
    """Fit the sections whose digest is not that of the grid known, and keep the grid beside the evidence."""
    with_tala = [section for section in state.sections if section.tala]
    kept = {each.section: each for each in known.sections} if known is not None else {}
    seen = known.digests if known is not None else {}
    stale = [each for each in with_tala if seen.get(each.section) != digests[each.section]]
    evidence = evidence_store.load(evidence_folder) if stamp and stale else None
    courses = course_store.load(evidence_folder) if evidence is not None else {}
    spans = {each.section: _span(each, _sams_of(state, each)) for each in with_tala}
    course_of = {each.section: _course_digest(spans[each.section], each.tala, stamp) for each in with_tala}
    waiting = {section.section for section in stale}

    def so_far() -> RecordingGrid:
        grids = tuple(kept[each.section] for each in with_tala if each.section in kept)
        return RecordingGrid(grids, {name: digest for name, digest in digests.items() if name not in waiting})

    for number, section in enumerate(stale):
        kept.pop(section.section, None)
        course = course_of[section.section]
        if evidence is not None and course not in courses:
            path = follow_unmarked(evidence, *spans[section.section], get_tala(section.tala))
            if path is not None:
                courses[course] = path
                course_store.save(evidence_folder, courses, course_of.values())
        unmarked = courses.get(course)
        grid = _fit(section, _sams_of(state, section), spans[section.section], evidence, unmarked, strict=strict)
        if grid is not None:
            kept[section.section] = grid
        waiting.remove(section.section)
        if evidence is not None:
            evidence.let_go()
        if share is not None:
            if stamp and waiting:
                save_grid(evidence_folder, so_far())
            share((number + 1) / len(stale))
    fresh = so_far()
    if stamp:
        save_grid(evidence_folder, fresh)
    return fresh


def _sams_of(state: State, section: Section) -> list[MarkedSam]:
    return [sam for sam in state.marked_sams if sam.section == section.section]


def _digest(section: Section, sams: Sequence[MarkedSam], stamp: str) -> str:
    marks = [[sam.sam_s, sam.cycle] for sam in sams]
    told = [FIT_VERSION, section.start_s, section.end_s, section.tala, marks, stamp]
    return hashlib.sha256(json.dumps(told).encode()).hexdigest()


def _span(section: Section, sams: Sequence[MarkedSam]) -> tuple[float, float]:
    """Limits of a section in seconds; a sam may open or close it a little outside."""
    times_s = [sam.sam_s for sam in sams]
    return float(min([section.start_s, *times_s])), float(max([section.end_s, *times_s]))


def _course_digest(span_s: tuple[float, float], tala: str, stamp: str) -> str:
    return hashlib.sha256(json.dumps([FIT_VERSION, *span_s, tala, stamp]).encode()).hexdigest()


def _fit(
    section: Section,
    sams: Sequence[MarkedSam],
    span_s: tuple[float, float],
    evidence: Evidence | None,
    unmarked: Course | None,
    *,
    strict: bool,
) -> Grid | None:
    """Fit one section; None when nothing tells its matras: no strokes heard, fewer than two sams."""
    tala, times_s = get_tala(section.tala), [sam.sam_s for sam in sams]
    start_s, end_s = span_s
    try:
        if evidence is not None:
            fit = fit_cycle(evidence, start_s, end_s, tala, times_s, unmarked=unmarked)
        elif len(sams) >= 2:
            fit = straight_cycle(start_s, end_s, tala, every_sam(sams))
        else:
            return None
    except NoPulse:
        return None
    except ConflictingSams:
        if strict:
            raise
        return None
    return _as_grid(section, tala, fit, _cycle_shift(sams, fit)) if len(fit.matra_s) > 1 else None


def every_sam(sams: Sequence[MarkedSam]) -> list[float]:
    """Return the times of the marked sams, with those between two numbered ones put in at equal distances.

    A person who numbers sams 3 and 5 and leaves out 4 has said how many avartans lie between.
    """
    times_s: list[float] = []
    for left, right in pairwise(sams):
        avartans = right.cycle - left.cycle if left.cycle is not None and right.cycle is not None else 1
        times_s.extend(np.linspace(left.sam_s, right.sam_s, max(1, avartans), endpoint=False).tolist())
    return [*times_s, sams[-1].sam_s]


def _cycle_shift(sams: Sequence[MarkedSam], fit: CycleFit) -> int:
    """Return what to add to the fit's cycle numbers so that the first numbered sam keeps its number."""
    first = next((sam for sam in sams if sam.cycle is not None), None)
    if first is None or first.cycle is None:
        return 0
    sam_rows = np.flatnonzero(fit.matra == 1)
    nearest = sam_rows[np.argmin(np.abs(fit.matra_s[sam_rows] - first.sam_s))]
    return first.cycle - int(fit.cycle[nearest])


def _as_grid(section: Section, tala: Tala, fit: CycleFit, shift: int) -> Grid:
    return Grid(
        section.section,
        section.start_s,
        section.end_s,
        tala,
        (fit.cycle + shift).astype(np.int32),
        fit.matra.astype(np.int32),
        fit.matra_s.astype(np.float64),
        fit.confidence.astype(np.float32),
        tuple(fit.sam_source),
        np.asarray(fit.sam_confidence, dtype=np.float32),
        fit.solo,
    )


def save_grid(evidence_folder: Path | Folder, grid: RecordingGrid) -> None:
    """Write a grid with its digests into the recording's ``evidence`` folder, over what was there."""
    columns: dict[str, list[np.ndarray]] = {name: [] for name in GRID.names}
    for each in grid.sections:
        count, sam = len(each.matra), each.matra == 1
        source = np.full(count, None, dtype=object)
        source[sam] = each.sam_source
        confidence = np.full(count, np.nan, dtype=np.float32)
        confidence[sam] = each.sam_confidence
        columns["section"].append(np.full(count, each.section, dtype=object))
        columns["sam_source"].append(source)
        columns["sam_confidence"].append(confidence)
        for name in ("cycle", "matra", "matra_s", "confidence", "solo"):
            columns[name].append(getattr(each, name))
    arrays = [
        pa.array(np.concatenate(columns[field.name]) if grid.sections else [], type=field.type, from_pandas=True)
        for field in GRID
    ]
    schema = GRID.with_metadata({_NOTE: json.dumps(dict(grid.digests), ensure_ascii=False).encode()})
    sink = pa.BufferOutputStream()
    pq.write_table(pa.Table.from_arrays(arrays, schema=schema), sink, compression="zstd", write_page_checksum=True)
    try:
        as_folder(evidence_folder).replace("grid.parquet", sink.getvalue().to_pybytes())
    except OSError:
        return  # a read-only archive: the grid is made again by the next reader


def _load(folder: Folder, sections: Sequence[Section]) -> RecordingGrid | None:
    try:
        with folder.open("grid.parquet") as source, pq.ParquetFile(source, page_checksum_verification=True) as file:
            table = file.read(use_threads=False)
        digests = {str(name): str(digest) for name, digest in json.loads(table.schema.metadata[_NOTE]).items()}
        if not table.schema.equals(GRID) or any(table[name].null_count for name in _ALWAYS):
            return None
        return _grids(table.to_pandas(), sections, digests)
    except BROKEN:
        return None  # derived: whatever cannot be read is made again


def _grids(frame: pd.DataFrame, sections: Sequence[Section], digests: dict[str, str]) -> RecordingGrid:
    columns = {str(name): frame[name].to_numpy() for name in frame}
    grids = []
    for section in sections:
        rows = np.flatnonzero(columns["section"] == section.section)
        if not len(rows):
            continue
        part = {name: column[rows] for name, column in columns.items()}
        sams = part["matra"] == 1
        grids.append(
            Grid(
                section.section,
                section.start_s,
                section.end_s,
                get_tala(section.tala),
                part["cycle"].astype(np.int32),
                part["matra"].astype(np.int32),
                part["matra_s"].astype(np.float64),
                part["confidence"].astype(np.float32),
                tuple(part["sam_source"][sams]),
                part["sam_confidence"][sams].astype(np.float32),
                part["solo"].astype(np.bool_),
            )
        )
    return RecordingGrid(tuple(grids), digests)
