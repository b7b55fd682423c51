"""JAMS from elsewhere, and our own: sections, sams, tihais and phrases out of its annotations.

Read are these namespaces; others are passed over, and it is told which:

* ``segment_open``: sections; ``beat_position``: the beats at position 1 are sams, their measure the avartan;
  ``beat``: those of value 1 are sams.
* ``tag_open``: by the label (:mod:`annotate.exchange.spans_in`).

A file that :mod:`annotate.exchange.jams_out` wrote holds each row whole in the annotation's sandbox. It is taken from
there, exact, as long as the observations still stand where the rows say; where another program moved or changed their
number, the observations count, with what they can hold. Then the matras are passed over: they follow from the sams.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from annotate.cells import COLUMNS, seconds
from annotate.csv_read import SAME_S, Row
from annotate.errors import BadTable
from annotate.exchange.spans import Span
from annotate.exchange.spans_in import Found, Read, rows_of
from annotate.text_in import MOST_ROWS, fault_of, read_text

Json = dict[str, Any]

_TABLE_OF_NAMESPACE = {"segment_open": "sections", "beat_position": "sams", "beat": "sams", "tag_open": None}


def read_jams(path: Path, table: str | None = None) -> Read:
    """Read JAMS; for ``table`` (of tags) see :func:`annotate.exchange.spans_in.rows_of`.

    Raises
    ------
    BadTable
        Names the file, and the annotation and observation with what came.
    """
    return _Reader(path.name, table).read(_annotations(path))


def _annotations(path: Path) -> list[Json]:
    text = read_text(path)
    try:
        content = json.loads(text)
    except json.JSONDecodeError as error:
        raise BadTable(path.name, error.lineno, None, f"The file is not JSON ({error.msg}).") from None
    except RecursionError:
        raise BadTable(path.name, None, None, "The file is nested too deeply to be JAMS.") from None
    except ValueError as error:  # a number of thousands of digits
        raise BadTable(path.name, None, None, f"The file is not JSON ({error}).") from None
    annotations = content.get("annotations") if isinstance(content, dict) else None
    if not isinstance(annotations, list) or not all(isinstance(each, dict) for each in annotations):
        raise BadTable(path.name, None, None, "The file is not JAMS: an object with a list of 'annotations' is needed.")
    return annotations


class _Reader:
    """Goes through the annotations of one file and gathers rows."""

    def __init__(self, file: str, table: str | None) -> None:
        self._file, self._table = file, table
        self._rows: dict[str, list[Row]] = {}
        self._passed_over: dict[str, int] = {}

    def read(self, annotations: list[Json]) -> Read:
        ours = [_sandbox(each).get("table") for each in annotations]
        count = 0
        for number, annotation in enumerate(annotations):
            place = f"annotations[{number}]"
            namespace = annotation.get("namespace")
            if not isinstance(namespace, str):
                raise self._bad(f"{place}.namespace", "Expected the name of a namespace.")
            if ours[number] == "matras" and "sams" in ours:
                continue
            if namespace not in _TABLE_OF_NAMESPACE:
                self._pass_over(f"annotations in {namespace[:60]}")
                continue
            observations = self._observations(annotation, place)
            count += len(observations)
            if count > MOST_ROWS:
                raise self._bad(place, f"The file has more than {MOST_ROWS} observations. Divide it.")
            self._take(annotation, namespace, observations, place)
        for rows in self._rows.values():
            rows.sort(key=lambda row: row.time_s("sam_s" if "sam_s" in row.cells else "start_s"))
        return Read(self._rows, self._passed_over)

    def _take(self, annotation: Json, namespace: str, observations: list[Json], place: str) -> None:
        spans = [self._span(each, f"{place}.data[{number}]") for number, each in enumerate(observations)]
        sandbox = _sandbox(annotation)
        table, rows = sandbox.get("table"), sandbox.get("rows")
        if table in COLUMNS and isinstance(rows, list) and all(isinstance(row, dict) for row in rows):
            found = [self._kept(table, row, f"{place}.sandbox.layakosh.rows[{i}]") for i, row in enumerate(rows)]
            if len(found) == len(spans) and all(map(_stands_there, found, spans)):
                self._rows.setdefault(table, []).extend(found)
                return
            self._pass_over("sandboxes that no longer fit their observations")
        if namespace in ("beat", "beat_position"):
            sams = self._sams(namespace, observations, spans, place)
            self._rows.setdefault("sams", []).extend(sams)
            return
        to = _TABLE_OF_NAMESPACE[namespace] or self._table or (table if table in COLUMNS else None)
        labelled = [self._labelled(each, span, f"{place}.data[{n}]") for n, (each, span) in
                    enumerate(zip(observations, spans, strict=True))]  # fmt: skip
        read = rows_of(self._file, labelled, to, SAME_S)
        for name, more in read.rows.items():
            self._rows.setdefault(name, []).extend(more)
        for what, how_many in read.passed_over.items():
            self._pass_over(what, how_many)

    def _sams(self, namespace: str, observations: list[Json], spans: list[Span], place: str) -> Iterator[Row]:
        for number, (each, span) in enumerate(zip(observations, spans, strict=True)):
            where = f"{place}.data[{number}]"
            value = each.get("value")
            if namespace == "beat_position":
                if not isinstance(value, dict):
                    raise self._bad(f"{where}.value", "Expected a position in the measure.")
                position, measure = value.get("position"), value.get("measure")
            else:
                position, measure = value, None
            if position == 1 and position is not True:
                cells = {"sam_s": seconds(span.start_s), "cycle": "" if measure is None else _text(measure)}
                yield self._row(0, cells, where)

    def _labelled(self, observation: Json, span: Span, place: str) -> Found:
        value = observation.get("value")
        if not isinstance(value, str):
            raise self._bad(f"{place}.value", f"Expected a text, but {_text(value)[:60]} came.")
        if fault := fault_of(value):
            raise self._bad(f"{place}.value", fault)
        return Found(Span(span.start_s, span.end_s, value.strip()), 0, place)

    def _span(self, observation: Json, place: str) -> Span:
        start_s = self._number(observation, "time", place)
        return Span(start_s, start_s + self._number(observation, "duration", place), "")

    def _number(self, observation: Json, name: str, place: str) -> float:
        value = observation.get(name)
        try:
            number = float(value) if isinstance(value, int | float) and not isinstance(value, bool) else math.nan
        except OverflowError:
            number = math.inf
        if not 0 <= number < 1e9:
            raise self._bad(f"{place}.{name}", f"Expected seconds from 0 on, but {_text(value)[:60]} came.")
        return number

    def _observations(self, annotation: Json, place: str) -> list[Json]:
        data = annotation.get("data")
        if not isinstance(data, list) or not all(isinstance(each, dict) for each in data):
            raise self._bad(f"{place}.data", "Expected a list of observations.")
        return data

    def _kept(self, table: str, row: Json, place: str) -> Row:
        """Return a row that a sandbox holds."""
        starts = row.get("palla_s")
        if table == "tihais" and isinstance(starts, list) and len(starts) in (1, 3):
            row = {**row, **dict(zip(("start_s", "second_s", "third_s"), starts, strict=False))}
        if table == "sections" and row.get("tala") == "":
            row = {**row, "tala": "none"}
        return self._row(0, {column: _text(row.get(column)) for column in COLUMNS[table]}, place)

    def _row(self, number: int, cells: dict[str, str], place: str) -> Row:
        for column, cell in cells.items():
            if fault := fault_of(cell):
                raise self._bad(f"{place}.{column}", fault)
        return Row(self._file, number, {column: cell.strip() for column, cell in cells.items()}, SAME_S, place)

    def _pass_over(self, what: str, how_many: int = 1) -> None:
        self._passed_over[what] = self._passed_over.get(what, 0) + how_many

    def _bad(self, place: str, why: str) -> BadTable:
        return BadTable(self._file, None, None, f"{place}: {why}")


def _sandbox(annotation: Json) -> Json:
    sandbox = annotation.get("sandbox")
    ours = sandbox.get("layakosh") if isinstance(sandbox, dict) else None
    return ours if isinstance(ours, dict) and isinstance(ours.get("table"), str) else {}


def _stands_there(row: Row, span: Span) -> bool:
    """Tell whether an observation still begins and ends where its row says."""
    ends = [row.cells[name] for name in ("landing_s", "end_s") if name in row.cells]
    told = [row.cells.get("start_s") or row.cells.get("sam_s") or "", *ends]
    try:
        times = [float(each) for each in told]
    except ValueError:
        return False
    return all(abs(a - b) < SAME_S for a, b in zip(times, (span.start_s, span.end_s), strict=False))


def _text(value: object) -> str:
    """Write a value of JSON as a cell."""
    if value is None:
        return ""
    if isinstance(value, float) and math.isfinite(value):
        return seconds(value)
    return value if isinstance(value, str) else str(value)[:200]
