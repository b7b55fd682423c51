"""The rows of one recording in each index table: annotations with what follows from the grid and the arithmetic."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pyarrow as pa

from annotate.grid import RecordingGrid
from annotate.records import PhraseRecord
from annotate.rows import to_row
from annotate.schema import FRACTION_COLUMNS, index_schema
from annotate.search.derived import laya_columns, phrase_columns, symbols_of, tihai_columns
from annotate.state import State
from annotate.verify import Verdict, tala_of, verify
from theory.numbers import stored

GridOf = Callable[[], RecordingGrid]


def rows_of(table: str, state: State, grid_of: GridOf) -> pa.Table:
    """Return the rows of a recording in an index table.

    Parameters
    ----------
    table : str
        One of :data:`annotate.schema.INDEX_TABLES`.
    state : State
    grid_of : callable
        Gives the recording's grid; called only by tables that need it.
    """
    if table == "matras":
        return _matras(state.slug, grid_of())
    if table == "sams":
        return _sams(state, grid_of())
    rows = _ROWS[table](state, grid_of)
    for row in rows:
        row["recording"] = state.slug
    return pa.Table.from_pylist(rows, schema=index_schema(table))


def _recordings(state: State, _grid_of: GridOf) -> list[dict[str, Any]]:
    return [{**to_row(state.recording), "revision": state.revision}]


def _sections(state: State, _grid_of: GridOf) -> list[dict[str, Any]]:
    return [to_row(each) for each in state.sections]


def _tihais(state: State, grid_of: GridOf) -> list[dict[str, Any]]:
    if not state.tihais:
        return []
    grid = grid_of()
    rows = []
    for record in state.tihais:
        row = to_row(record)
        for name in FRACTION_COLUMNS:
            value = getattr(record, name)
            row[f"{name}_matras"] = None if value is None else float(value)
        verdict = verify(record, grid, tala_of(record, grid, state.recording), state.slug)
        row |= tihai_columns(record, verdict.paper, state.recording.raga)
        row |= laya_columns(grid, record.palla_s[0], record.landing_s)
        rows.append(row | _verdict_columns(verdict))
    return rows


def _verdict_columns(verdict: Verdict) -> dict[str, Any]:
    paper = verdict.paper
    return {
        "verdict": verdict.verdict,
        "landing_dev_ms": verdict.landing_dev_ms,
        "landing_dev_matras": verdict.landing_dev_matras,
        "paper_lands": None if paper is None else paper.lands,
        "paper_shortfall": None if paper is None else stored(paper.shortfall),
        "paper_shortfall_matras": None if paper is None else float(paper.shortfall),
        "sentence": verdict.sentence,
    }


def _phrases(state: State, grid_of: GridOf) -> list[dict[str, Any]]:
    if not state.phrases:
        return []
    grid = grid_of()
    return [to_row(each) | _phrase_columns(each, grid, state.recording.raga) for each in state.phrases]


def _phrase_columns(phrase: PhraseRecord, grid: RecordingGrid, raga: str) -> dict[str, Any]:
    section = grid.at(phrase.start_s)
    cycle, matra = section.position(phrase.start_s) if section is not None else (None, None)
    tala = section.tala.key if section is not None else ""
    symbols = symbols_of(phrase.swaras)
    place = {"symbols": symbols, "tala": tala, "cycle": cycle, "matra": matra}
    return place | phrase_columns(symbols, raga) | laya_columns(grid, phrase.start_s, phrase.end_s)


def _matras(slug: str, grid: RecordingGrid) -> pa.Table:
    schema = index_schema("matras")
    parts = []
    for each in grid.sections:
        columns = [each.cycle, each.matra, each.matra_s, each.confidence]
        names = [pa.repeat(pa.scalar(text), len(each.matra)) for text in (slug, each.section)]
        parts.append(pa.Table.from_arrays([*names, *(pa.array(column) for column in columns)], schema=schema))
    return pa.concat_tables(parts) if parts else schema.empty_table()


def _sams(state: State, grid: RecordingGrid) -> pa.Table:
    """Return every sam of the grid, with the key of the mark that fixed it, and marks where no grid was found."""
    rows: list[dict[str, Any]] = []
    unused = {(sam.section, sam.sam_s): sam for sam in state.marked_sams}
    for each in grid.sections:
        for cycle, sam_s, source, confidence in zip(
            each.sam_cycle.tolist(), each.sam_s.tolist(), each.sam_source, each.sam_confidence.tolist(), strict=True
        ):
            mark = unused.pop((each.section, sam_s), None)
            row = {"sam": mark.sam if mark else "", "section": each.section, "sam_s": sam_s, "cycle": cycle}
            rows.append(row | {"source": "marked" if mark else source, "confidence": 1.0 if mark else confidence})
    rows.extend(to_row(sam) | {"source": "marked", "confidence": 1.0} for sam in unused.values())
    for row in rows:
        row["recording"] = state.slug
    return pa.Table.from_pylist(sorted(rows, key=lambda row: row["sam_s"]), schema=index_schema("sams"))


_ROWS: dict[str, Callable[[State, GridOf], list[dict[str, Any]]]] = {
    "recordings": _recordings,
    "sections": _sections,
    "tihais": _tihais,
    "phrases": _phrases,
}
