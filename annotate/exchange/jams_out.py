"""JAMS, written as plain JSON: the published schema of JAMS 0.3 (Humphrey et al., JAMS: A JSON Annotated Music
Specification for Reproducible MIR Research, ISMIR 2014; ``jams_schema.json`` of the package ``jams``).

The matras of each section with a tala become ``beat_position`` (position: matra, measure: avartan), marked sams
``beat`` of value 1, sections ``segment_open``, tihais and phrases ``tag_open``. What these cannot hold stands in each
annotation's sandbox under ``layakosh``: the whole row of every observation, in the same order, rationals as ``n/d``,
times in seconds. :mod:`annotate.exchange.jams_in` reads it back.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import date
from typing import Any

from annotate.grid import Grid, RecordingGrid
from annotate.records import MarkedSam, PhraseRecord, Section, TihaiRecord
from annotate.rows import to_row
from annotate.state import State

JAMS_VERSION = "0.3.5"
LEFT_OUT = (
    "avartans numbered below 0; the history of every row; the name of the unit of the tala (a matra is written as a "
    "quarter)"
)
"""What the format cannot hold, or is not written into it."""

Observation = dict[str, Any]
Span = Section | MarkedSam | TihaiRecord | PhraseRecord


def jams(state: State, grid: RecordingGrid) -> str:
    """Return a recording's annotations as the text of a JAMS file."""
    recording = state.recording
    ends_s = [each.end_s for each in state.sections] + [each.end_s for each in state.phrases]
    ends_s += [each.landing_s for each in state.tihais]
    told = {
        "file_metadata": {
            "title": recording.title,
            "artist": ", ".join(name for _, name in recording.musicians),
            "release": "",
            "duration": recording.duration_s if recording.duration_s is not None else max(ends_s, default=0.0),
            "identifiers": {"layakosh": state.slug},
            "jams_version": JAMS_VERSION,
        },
        "annotations": [
            *(_beats(part) for part in grid.sections),
            _spans("beat", "sams", state.marked_sams),
            _spans("segment_open", "sections", state.sections),
            _spans("tag_open", "tihais", state.tihais),
            _spans("tag_open", "phrases", state.phrases),
        ],
        "sandbox": {"layakosh": {"recording": to_row(recording)}},
    }
    return json.dumps(told, ensure_ascii=False, indent=1, allow_nan=False, default=_plain) + "\n"


def _beats(part: Grid) -> dict[str, Any]:
    columns = (part.cycle, part.matra, part.matra_s, part.confidence)
    data = [
        _observation(
            matra_s,
            0.0,
            {"position": matra, "measure": cycle, "num_beats": part.tala.matras, "beat_units": 4},
            confidence,
        )
        for cycle, matra, matra_s, confidence in zip(*(column.tolist() for column in columns), strict=True)
        if cycle >= 0
    ]
    return _annotation("beat_position", data, {"table": "matras", "section": part.section, "tala": part.tala.key})


def _spans(namespace: str, table: str, rows: Sequence[Span]) -> dict[str, Any]:
    data = []
    for row in rows:
        value: str | int
        match row:
            case MarkedSam():
                start_s, end_s, value = row.sam_s, row.sam_s, 1
            case Section():
                start_s, end_s, value = row.start_s, row.end_s, row.section
            case TihaiRecord():
                start_s, end_s, value = row.palla_s[0], row.landing_s, row.palla or row.label or "tihai"
            case PhraseRecord():
                start_s, end_s, value = row.start_s, row.end_s, row.swaras
        data.append(_observation(start_s, end_s - start_s, value, None))
    return _annotation(namespace, data, {"table": table, "rows": [to_row(row) for row in rows]})


def _observation(time_s: float, duration_s: float, value: object, confidence: float | None) -> Observation:
    return {"time": time_s, "duration": duration_s, "value": value, "confidence": confidence}


def _annotation(namespace: str, data: list[Observation], sandbox: dict[str, Any]) -> dict[str, Any]:
    made = {"annotation_tools": "layakosh"}
    return {"namespace": namespace, "annotation_metadata": made, "data": data, "sandbox": {"layakosh": sandbox}}


def _plain(value: object) -> str:
    if isinstance(value, date):  # a datetime too
        return value.isoformat()
    raise TypeError(f"{type(value).__name__} has no form in JSON")
