"""Arrays in Parquet files: one column each, with a note in JSON; made by ingest, replaced whole.

The columns are those of a schema of :mod:`annotate.schema`; a matrix is a column of lists of one length.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from annotate.revisions import BROKEN
from annotate.store.folder import Folder, as_folder
from ingest.spool import let_go, room_for

_NOTE = b"layakosh"
_GROUP = 1 << 18
"""Rows written and read at a time: 7 MB of strokes, 50 minutes of them."""

IN_MEMORY = 16 << 20
"""Bytes from which on an array is read into a file (two hours of strokes)."""

Arrays = dict[str, np.ndarray]


def write_arrays(
    folder: Path | Folder, file: str, schema: pa.Schema, arrays: Mapping[str, np.ndarray], note: Mapping[str, Any]
) -> None:
    """Write arrays of one length as the columns of a schema, over what was there."""
    schema = schema.with_metadata({_NOTE: json.dumps(dict(note)).encode()})
    rows = {len(arrays[name]) for name in schema.names}
    if len(rows) != 1:
        raise ValueError(f"Columns of one length were expected for {file}; {sorted(rows)} came.")
    with (
        as_folder(folder).writing(file) as out,
        pq.ParquetWriter(out, schema, compression="zstd", use_dictionary=False, write_page_checksum=True) as writer,
    ):
        for first in range(0, rows.pop(), _GROUP):
            part = [_to_arrow(arrays[name][first : first + _GROUP], schema.field(name).type) for name in schema.names]
            writer.write_table(pa.Table.from_arrays(part, schema=schema))
            let_go(*arrays.values())


def read_arrays(folder: Path | Folder, file: str, schema: pa.Schema) -> tuple[Arrays, dict[str, Any]] | None:
    """Read what :func:`write_arrays` wrote; None when it is not there, or cannot be read (make it again then).

    What comes back has the types of the schema, no gaps, and no value that is not a finite number.
    """
    try:
        with (
            as_folder(folder).open(file) as source,
            pq.ParquetFile(source, page_checksum_verification=True) as parquet,
        ):
            here = parquet.schema_arrow
            note = json.loads(here.metadata[_NOTE])
            if not isinstance(note, dict) or any(
                here.field(name).type != schema.field(name).type for name in schema.names
            ):
                return None
            rows = parquet.metadata.num_rows
            arrays = {name: _room_for(rows, here.field(name).type) for name in schema.names}
            filled = 0
            for batch in parquet.iter_batches(_GROUP, columns=schema.names, use_threads=False):
                for name in schema.names:
                    arrays[name][filled : filled + len(batch)] = _to_numpy(batch.column(name))
                filled += len(batch)
        return (arrays, note) if filled == rows else None
    except BROKEN:
        return None


def has_arrays(folder: Path | Folder, file: str, schema: pa.Schema) -> bool:
    """Tell whether a file has the columns of a schema, by looking at its end only."""
    try:
        with as_folder(folder).open(file) as source:
            return set(schema.names) <= set(pq.read_schema(source).names)
    except BROKEN:
        return False


def _to_arrow(values: np.ndarray, kind: pa.DataType) -> pa.Array:
    inner = kind.value_type if pa.types.is_fixed_size_list(kind) else kind
    flat = pa.array(np.ascontiguousarray(values, dtype=inner.to_pandas_dtype()).ravel())
    return pa.FixedSizeListArray.from_arrays(flat, kind.list_size) if pa.types.is_fixed_size_list(kind) else flat


def _room_for(rows: int, kind: pa.DataType) -> np.ndarray:
    if pa.types.is_fixed_size_list(kind):
        return room_for((rows, kind.list_size), kind.value_type.to_pandas_dtype(), IN_MEMORY)
    return room_for((rows,), kind.to_pandas_dtype(), IN_MEMORY)


def _to_numpy(column: pa.Array) -> np.ndarray:
    values = column.flatten() if pa.types.is_fixed_size_list(column.type) else column
    if column.null_count or values.null_count:
        raise ValueError("a value is missing")
    array = np.asarray(values.to_numpy(zero_copy_only=False))
    if array.dtype.kind == "f" and not np.isfinite(array).all():
        raise ValueError("a value is not a finite number")
    return array.reshape(-1, column.type.list_size) if pa.types.is_fixed_size_list(column.type) else array
