"""Evidence on disk: what ingest measured, in ``evidence/<kind>.parquet``.

Evidence can always be made again from the sound, so it is replaced whole and never edited. ``frames.parquet`` is
written last: when it is there, the rest is.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from annotate.files import make_folders, replace
from annotate.schema import EVIDENCE
from ingest.evidence import Evidence

_NOTE = b"layakosh"


def save(folder: Path, evidence: Evidence) -> None:
    """Write the evidence of a recording into its ``evidence`` folder, over what was there."""
    make_folders(folder)
    note = {"duration_s": evidence.duration_s, "hop_s": evidence.hop_s, "chroma_hop_s": evidence.chroma_hop_s}
    note |= {"stroke_hop_s": evidence.stroke_hop_s, "texture_hop_s": evidence.texture_hop_s}
    for kind, schema in EVIDENCE.items():
        columns = [_to_arrow(getattr(evidence, name), schema.field(name).type) for name in schema.names]
        table = pa.Table.from_arrays(columns, schema=schema.with_metadata({_NOTE: json.dumps(note).encode()}))
        sink = pa.BufferOutputStream()
        pq.write_table(table, sink, compression="zstd", use_dictionary=False)
        replace(folder / f"{kind}.parquet", sink.getvalue().to_pybytes())


def load(folder: Path) -> Evidence | None:
    """Read the evidence of a recording; None when there is none, or when it cannot be read (measure again then)."""
    arrays: dict[str, np.ndarray] = {}
    note: dict[str, float] = {}
    try:
        for kind, schema in EVIDENCE.items():
            table = pq.ParquetFile(folder / f"{kind}.parquet").read(use_threads=False)
            note = json.loads(table.schema.metadata[_NOTE])
            for name in schema.names:
                arrays[name] = _to_numpy(table.column(name).combine_chunks())
        return Evidence(**note, **arrays)  # type: ignore[arg-type] # as saved: floats in the note, arrays beside
    except FileNotFoundError:
        return None
    except (pa.ArrowException, OSError, ValueError, KeyError, TypeError):
        return None


def stamp(folder: Path) -> str:
    """Return a text that changes whenever the evidence is replaced; empty when there is none."""
    try:
        status = (folder / "frames.parquet").stat()
    except OSError:
        return ""
    return f"{status.st_mtime_ns}-{status.st_size}"


def _to_arrow(values: np.ndarray, kind: pa.DataType) -> pa.Array:
    flat = pa.array(np.ascontiguousarray(values, dtype=np.float32).ravel())
    return pa.FixedSizeListArray.from_arrays(flat, kind.list_size) if pa.types.is_fixed_size_list(kind) else flat


def _to_numpy(column: pa.Array) -> np.ndarray:
    if pa.types.is_fixed_size_list(column.type):
        return np.asarray(column.flatten().to_numpy(zero_copy_only=False)).reshape(-1, column.type.list_size)
    return np.asarray(column.to_numpy(zero_copy_only=False))
