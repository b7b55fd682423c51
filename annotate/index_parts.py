"""The parts of an index table: small Parquet files, each with the rows of some of the recordings, whole.

``<number>-of-<count>.parquet`` holds the recordings whose slug's digest leaves ``number`` when it is divided by
``count``. Which revision and evidence of each recording is in a part stands in its metadata under the key ``layakosh``.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import re
from collections.abc import MutableMapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq

from annotate.revisions import BROKEN
from annotate.schema import INDEX_VERSION, index_schema
from annotate.store.base import Store

MOST_IN_A_PART = 512
"""Recordings in a part at most, on average; when a table is laid out anew there are half as many at most. An edit
writes one part anew, a search opens all of them."""

DAMAGED = "damaged parts"
"""Where the cache names the parts that cannot be read."""

_NOTE = b"layakosh"
_NAME = re.compile(r"(\d+)-of-(\d+)\.parquet")


class DamagedPart(Exception):
    """A part whose rows cannot be read although its end can."""

    def __init__(self, part: Part) -> None:
        self.part = part
        super().__init__(part.name)


@dataclass
class Part:
    """What is known of one part of a table without reading its rows."""

    name: str
    stamp: str = ""
    seen: dict[str, str] = field(default_factory=dict)
    stamps: dict[str, str] = field(default_factory=dict)
    rows: pa.Table | None = None
    """Only where the part could not be written."""


def write_part(
    store: Store, table: str, name: str, rows: pa.Table, seen: dict[str, str], stamps: dict[str, str]
) -> Part:
    """Write a part; where that cannot be done it is kept in memory, and the reader has its table all the same."""
    note = {"index": INDEX_VERSION, "seen": seen}
    if table == "recordings":
        note["stamps"] = stamps
    sink = pa.BufferOutputStream()
    pq.write_table(
        rows.replace_schema_metadata({_NOTE: json.dumps(note).encode()}),
        sink,
        compression="zstd",
        write_page_checksum=True,
    )
    try:
        store.replace(name, sink.getvalue().to_pybytes())
    except OSError:  # read-only or full: the reader has its table all the same
        return Part(name, "kept in memory " + hashlib.sha256(sink.getvalue()).hexdigest(), seen, stamps, rows)
    return Part(name, store.stamp(name), seen, stamps)


def rows_in(store: Store, table: str, part: Part, columns: Sequence[str]) -> pa.Table:
    """Return some columns of a part.

    Raises
    ------
    DamagedPart
        It cannot be read, or a page of it is not what was written.
    """
    if part.rows is not None:
        return part.rows.select(columns).replace_schema_metadata(None)
    schema = index_schema(table)
    try:
        with store.open(part.name) as source, pq.ParquetFile(source, page_checksum_verification=True) as file:
            rows = file.read(list(columns), use_threads=False)
        rows = rows.select(columns).replace_schema_metadata(None)
        wanted = pa.schema([schema.field(name) for name in columns])
        return rows if rows.schema.equals(wanted, check_metadata=True) else rows.cast(wanted)
    except BROKEN as error:
        raise DamagedPart(part) from error


def parts_there(store: Store, table: str, cache: MutableMapping[str, Any]) -> dict[tuple[int, int], Part]:
    """Return the parts of a table that are there, fit this version and can be read, by number and count."""
    known: dict[tuple[int, int], Part] = cache.get(f"parts of {table}", {})
    damaged: set[tuple[str, str]] = cache.get(DAMAGED, set())
    found = {key: part for key, part in known.items() if part.rows is not None}
    try:
        entries = store.files(f"index/{table}")
    except OSError:
        entries = []
    for entry in entries:
        if (match := _NAME.fullmatch(entry.last)) is None or (entry.name, entry.stamp) in damaged:
            continue
        key = int(match[1]), int(match[2])
        part = known.get(key)
        if part is None or part.stamp != entry.stamp:
            part = described(store, table, entry.name, entry.stamp)
        if part is not None and key[0] < key[1]:
            found[key] = part
    return found


def described(store: Store, table: str, name: str, stamp: str) -> Part | None:
    """Return what a file tells of itself; None for what is no part of this version."""
    try:
        with store.open(name) as source:
            schema = pq.read_schema(source)
        note = json.loads(schema.metadata[_NOTE])
        if note["index"] != INDEX_VERSION or not schema.equals(index_schema(table)):
            return None
        seen = {str(slug): str(text) for slug, text in note["seen"].items()}
        return Part(name, stamp, seen, {str(slug): str(text) for slug, text in note.get("stamps", {}).items()})
    except BROKEN:
        return None


def how_many(recordings: int, present: set[int]) -> int:
    """How many parts: as many as there are while they are of a good size, else a power of two."""
    for count in sorted(present, reverse=True):
        if (count == 1 or recordings / count >= MOST_IN_A_PART / 8) and recordings / count <= MOST_IN_A_PART:
            return count
    count = 1
    while recordings / count > MOST_IN_A_PART / 2:
        count *= 2
    return count


def sources_of(there: dict[tuple[int, int], Part], number: int, count: int) -> list[Part]:
    """Parts of other layouts that may hold recordings of this one: counts are powers of two, so numbers agree."""
    return [part for (n, of), part in there.items() if n % min(of, count) == number % min(of, count)]


def tidy(store: Store, table: str, old: Sequence[Part]) -> None:
    """Remove the parts of an older layout, and the single file of an older version, lest readers count rows twice."""
    with contextlib.suppress(OSError):
        for part in old:
            store.delete(part.name)
        store.delete(f"index/{table}.parquet")
        store.sweep(f"index/{table}")


def file_of(table: str, number: int, count: int) -> str:
    """Return the name of a part's file in the store."""
    return f"index/{table}/{number}-of-{count}.parquet"


@lru_cache(maxsize=1 << 16)
def part_of(slug: str, count: int) -> int:
    """Return the number of the part that a recording belongs to."""
    return int.from_bytes(hashlib.sha256(slug.encode()).digest()[:4], "big") % count
