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

from annotate.files import replace

_NOTE = b"layakosh"

Arrays = dict[str, np.ndarray]


def write_arrays(path: Path, schema: pa.Schema, arrays: Mapping[str, np.ndarray], note: Mapping[str, Any]) -> None:
    """Write arrays of one length as the columns of a schema, over what was there."""
    columns = [_to_arrow(arrays[name], schema.field(name).type) for name in schema.names]
    table = pa.Table.from_arrays(columns, schema=schema.with_metadata({_NOTE: json.dumps(dict(note)).encode()}))
    sink = pa.BufferOutputStream()
    pq.write_table(table, sink, compression="zstd", use_dictionary=False)
    replace(path, sink.getvalue().to_pybytes())


def read_arrays(path: Path, schema: pa.Schema) -> tuple[Arrays, dict[str, Any]] | None:
    """Read what :func:`write_arrays` wrote; None when it is not there, or cannot be read (make it again then)."""
    try:
        table = pq.ParquetFile(path).read(use_threads=False)
        note = json.loads(table.schema.metadata[_NOTE])
        return {name: _to_numpy(table.column(name).combine_chunks()) for name in schema.names}, note
    except (pa.ArrowException, OSError, ValueError, KeyError, TypeError):
        return None


def has_arrays(path: Path, schema: pa.Schema) -> bool:
    """Tell whether a file has the columns of a schema, by looking at its end only."""
    try:
        return set(schema.names) <= set(pq.read_schema(path).names)
    except (pa.ArrowException, OSError):
        return False


def _to_arrow(values: np.ndarray, kind: pa.DataType) -> pa.Array:
    inner = kind.value_type if pa.types.is_fixed_size_list(kind) else kind
    flat = pa.array(np.ascontiguousarray(values, dtype=inner.to_pandas_dtype()).ravel())
    return pa.FixedSizeListArray.from_arrays(flat, kind.list_size) if pa.types.is_fixed_size_list(kind) else flat


def _to_numpy(column: pa.Array) -> np.ndarray:
    if pa.types.is_fixed_size_list(column.type):
        return np.asarray(column.flatten().to_numpy(zero_copy_only=False)).reshape(-1, column.type.list_size)
    return np.asarray(column.to_numpy(zero_copy_only=False))
