"""Records to rows of Arrow values and back, without loss.

A row is a dict with the annotation columns of its table (:func:`annotate.schema.annotation_columns`). A recording's
slug is not in its row: it is the folder's name.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from fractions import Fraction
from typing import Any

from annotate.records import TABLE_OF, Record, SourceFile
from annotate.schema import FRACTION_COLUMNS, annotation_columns
from theory.numbers import stored
from theory.tihai import LandingRule

Row = dict[str, Any]

_TYPES = {table: kind for kind, table in TABLE_OF.items()}


def to_row(record: Record) -> Row:
    """Return the annotation columns of a record."""
    row = {name: getattr(record, name) for name in annotation_columns(TABLE_OF[type(record)])}
    for name, value in row.items():
        if isinstance(value, Fraction):
            row[name] = stored(value)
        elif isinstance(value, LandingRule):
            row[name] = value.value
        elif name == "musicians":
            row[name] = [{"role": role, "name": person} for role, person in value]
        elif name == "files":
            row[name] = [asdict(file) for file in value]
        elif isinstance(value, tuple):
            row[name] = list(value)
    return row


def from_row(table: str, key: str, row: Mapping[str, Any]) -> Record:
    """Return the record that a row of ``table`` holds; ``key`` is the recording's slug for ``recordings``."""
    values = dict(row)
    for name in FRACTION_COLUMNS:
        if values.get(name) is not None:
            values[name] = Fraction(values[name])
    if table == "recordings":
        values["slug"] = key
        values["musicians"] = tuple((each["role"], each["name"]) for each in values["musicians"])
        values["files"] = tuple(SourceFile(**each) for each in values["files"])
    if table == "tihais":
        values["palla_s"] = tuple(values["palla_s"])
        values["rule"] = LandingRule(values["rule"])
    return _TYPES[table](**values)
