"""Rows of older schemas brought to the present one, a step for every version.

A revision file is never changed: what an old one holds is carried over each time it is read. A step takes the row of a
table as version ``n`` has it and returns what version ``n + 1`` would have.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from annotate.schema import SCHEMA_VERSION

Row = Mapping[str, Any]


def _files_of_a_recording(table: str, row: Row) -> Row:
    """1 to 2: a recording names the files that it was taken in from; until then none were kept."""
    return {**row, "files": []} if table == "recordings" else row


STEPS: dict[int, Callable[[str, Row], Row]] = {1: _files_of_a_recording}
"""By the version that a step starts from."""


def to_present(table: str, row: Row, schema: int) -> Row:
    """Return a row of ``table`` as the present schema has it.

    Raises
    ------
    LookupError
        There never was such a version.
    """
    for version in range(schema, SCHEMA_VERSION):
        row = STEPS[version](table, row)
    return row
