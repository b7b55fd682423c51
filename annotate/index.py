"""The index: the present state of all recordings in one Parquet file per table, for pandas, DuckDB or anything else.

Derived. Whoever reads a table brings it up to date: each file says in its metadata which revision (and which
evidence) of every recording is in it, so only recordings with something unseen are read again. A file that is
missing, unreadable or of another version is made again from the revisions. Written by replacing the file; in a
read-only archive the table is only kept in memory.
"""

from __future__ import annotations

import contextlib
import json
from collections.abc import MutableMapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, cast

import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

from annotate import evidence_store
from annotate.files import make_folders, replace
from annotate.index_rows import rows_of
from annotate.schema import INDEX_TABLES, INDEX_VERSION, index_schema

if TYPE_CHECKING:
    from annotate.archive import Archive

_NOTE = b"layakosh"


def up_to_date(archive: Archive, table: str, cache: MutableMapping[str, object]) -> pa.Table:
    """Return an index table with every revision in it, writing it when something was unseen.

    Parameters
    ----------
    archive : Archive
    table : str
        One of :data:`annotate.schema.INDEX_TABLES`.
    cache : mutable mapping
        Kept by the archive object between calls.
    """
    if table not in INDEX_TABLES:
        raise KeyError(f"no index table {table!r}; there are {', '.join(INDEX_TABLES)}")
    path = archive.path / "index" / f"{table}.parquet"
    wanted = _stamps(archive)
    rows = cast("pa.Table | None", cache.get(table))
    seen = _seen(rows)
    if rows is None or seen != wanted:
        on_disk = _read(path, table)
        if on_disk is not None:
            rows, seen = on_disk, _seen(on_disk)
    if rows is None:
        rows, seen = index_schema(table).empty_table(), {}
    if seen != wanted or rows.schema.metadata is None:
        rows = _with_unseen(archive, table, rows, seen, wanted)
        _write(path, rows)
    cache[table] = rows
    return rows


def _stamps(archive: Archive) -> dict[str, str]:
    """What the derived rows of each recording follow from: its latest revision and its evidence."""
    return {
        slug: f"{number}:{evidence_store.stamp(archive.folder(slug) / 'evidence')}"
        for slug, number in sorted(archive.latest_revisions().items())
    }


def _with_unseen(
    archive: Archive, table: str, rows: pa.Table, seen: dict[str, str], wanted: dict[str, str]
) -> pa.Table:
    stale = [slug for slug in seen if wanted.get(slug) != seen[slug]]
    unseen = [slug for slug in wanted if wanted[slug] != seen.get(slug)]
    if stale:
        rows = rows.filter(pc.invert(pc.is_in(rows["recording"], value_set=pa.array(stale, pa.string()))))
    schema = index_schema(table)
    fresh = [rows_of(table, archive.state(slug), partial(archive.grid, slug)) for slug in unseen]
    joined = pa.concat_tables([each.cast(schema) for each in (rows, *fresh)]).combine_chunks()
    note = json.dumps({"index": INDEX_VERSION, "seen": wanted})
    return joined.replace_schema_metadata({_NOTE: note.encode()})


def _seen(rows: pa.Table | None) -> dict[str, str]:
    if rows is None or not rows.schema.metadata:
        return {}
    return cast(dict[str, str], json.loads(rows.schema.metadata[_NOTE])["seen"])


def _read(path: Path, table: str) -> pa.Table | None:
    try:
        rows = pq.ParquetFile(path).read()
        note = json.loads(rows.schema.metadata[_NOTE])
    except (OSError, pa.ArrowException, ValueError, KeyError, TypeError):
        return None
    fits = note.get("index") == INDEX_VERSION and rows.schema.equals(index_schema(table))
    return rows if fits else None


def _write(path: Path, rows: pa.Table) -> None:
    sink = pa.BufferOutputStream()
    pq.write_table(rows, sink, compression="zstd")
    with contextlib.suppress(OSError):  # read-only or full: the reader has its table all the same
        make_folders(path.parent)
        replace(path, sink.getvalue().to_pybytes())
