"""The index: the present state of all recordings in Parquet files, for pandas, DuckDB, polars or anything else.

::

    index/phrases/0-of-1.parquet         a small archive
    index/phrases/0-of-64.parquet ...    a large one: each part holds the rows of some of the recordings, whole

Derived. Whoever reads a table brings it up to date: each part says in its metadata which revision (and which evidence)
of every recording is in it, so only recordings with something unseen are read again, and only their parts written. A
part is replaced in one step, so any reader sees each recording once. A part that is missing, unreadable or of another
version is made again from the revisions; in a read-only archive it is kept in memory.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import re
from collections.abc import Collection, Iterable, Mapping, MutableMapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache, partial
from typing import TYPE_CHECKING, Any

import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

from annotate.index_rows import rows_of
from annotate.lookout import Seen
from annotate.revisions import BROKEN
from annotate.schema import INDEX_TABLES, INDEX_VERSION, index_schema
from annotate.store.base import Store

if TYPE_CHECKING:
    from annotate.archive import Archive

MOST_IN_A_PART = 256
"""Recordings in a part at most, on average; when a table is laid out anew there are a quarter as many."""
FUTILE = 16
"""So many looks at recordings in which nothing had changed are worth writing their part again."""
FEW = 64
"""Up to so many recordings are read for the one table that is asked for; more are read once, for all tables."""
KEPT_BYTES = 64 << 20
"""Tables up to this size are kept in memory between reads."""

_NOTE = b"layakosh"
_NAME = re.compile(r"(\d+)-of-(\d+)\.parquet")


_DAMAGED = "damaged parts"


class _DamagedPart(Exception):
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


def up_to_date(
    archive: Archive,
    table: str,
    cache: MutableMapping[str, Any],
    columns: Sequence[str] | None = None,
    recordings: Collection[str] | None = None,
) -> pa.Table:
    """Return an index table with every revision in it, writing the parts in which something was unseen.

    Parameters
    ----------
    archive : Archive
    table : str
        One of :data:`annotate.schema.INDEX_TABLES`.
    cache : mutable mapping
        Kept by the archive object between calls.
    columns : sequence of str, optional
        Only these columns.
    recordings : collection of str, optional
        Only the rows of these recordings; the other parts are not read.
    """
    if table not in INDEX_TABLES:
        raise KeyError(f"no index table {table!r}; there are {', '.join(INDEX_TABLES)}")
    while True:
        try:
            return _up_to_date(archive, table, cache, columns, recordings)
        except _DamagedPart as damaged:  # it is passed over from now on, and so made again
            cache.setdefault(_DAMAGED, set()).add((damaged.part.name, damaged.part.stamp))
            cache.pop(f"parts of {table}", None)


def _up_to_date(
    archive: Archive,
    table: str,
    cache: MutableMapping[str, Any],
    columns: Sequence[str] | None,
    recordings: Collection[str] | None,
) -> pa.Table:
    parts = _refresh(archive, table, cache)
    schema = index_schema(table)
    wanted = schema.names if columns is None else list(columns)
    narrow = pa.schema([schema.field(name) for name in wanted])
    stamps = tuple((part.name, part.stamp, part.rows is None) for part in parts)
    kept = cache.get(table)
    if kept is not None and kept[0] == stamps:
        rows = kept[1].select(wanted)
    else:
        if recordings is not None:
            numbers = {_part_of(slug, len(parts)) for slug in recordings}
            parts = [part for number, part in enumerate(parts) if number in numbers]
        read = {*wanted, *(["recording"] if recordings is not None else [])}
        tables = [_rows(archive.store, table, part, [name for name in schema.names if name in read]) for part in parts]
        rows = pa.concat_tables([*tables, pa.schema([f for f in schema if f.name in read]).empty_table()])
        if columns is None and recordings is None and rows.nbytes <= KEPT_BYTES:
            cache[table] = (stamps, rows)
    if recordings is not None:
        of = rows["recording"] if "recording" in rows.column_names else kept[1]["recording"]  # type: ignore[index]
        rows = rows.filter(pc.is_in(of, value_set=pa.array(list(recordings), pa.string())))
    return rows.select(wanted).cast(narrow)


def seen_before(archive: Archive) -> dict[str, Seen]:
    """Return what the index tells of recordings seen by earlier processes, as far as it still holds."""
    found: dict[str, Seen] = {}
    for part in _parts_there(archive.store, "recordings", {}).values():
        for slug, stamp in part.stamps.items():
            revision, _, evidence = part.seen.get(slug, "").partition(":")
            if revision.isdigit():
                found[slug] = Seen(stamp, True, int(revision), evidence)
    return found


def seen_in(store: Store, table: str, name: str, stamp: str) -> dict[str, int] | None:
    """Return which revision of each recording is in a part of a table; None for what is no part that can be read."""
    part = _described(store, table, name, stamp)
    if part is None:
        return None
    told = {slug: text.partition(":")[0] for slug, text in part.seen.items()}
    return {slug: int(revision) for slug, revision in told.items() if revision.isdigit()}


@dataclass
class _Plan:
    """What is to be done to a table: its parts by number, and which of them have to be made again."""

    table: str
    count: int
    there: dict[tuple[int, int], Part]
    wanted: list[dict[str, str]]
    parts: dict[int, Part]
    stale: list[int]

    @property
    def unseen(self) -> int:
        """How many recordings have to be read."""
        known = {(slug, seen) for part in self.there.values() for slug, seen in part.seen.items()}
        return sum(pair not in known for number in self.stale for pair in self.wanted[number].items())


def _refresh(archive: Archive, table: str, cache: MutableMapping[str, Any]) -> list[Part]:
    """Bring every part up to date and return them in order.

    Where many recordings have to be read, they are read once, for all tables.
    """
    looked = archive.seen()
    plans = [_plan(archive.store, table, cache, looked)]
    many = bool(plans[0].stale) and plans[0].unseen > FEW
    if many:
        plans += [_plan(archive.store, other, cache, looked) for other in INDEX_TABLES if other != table]
    steps = sorted(
        ((plan, number) for plan in plans for number in plan.stale), key=lambda step: step[1] / step[0].count
    )
    for done, (plan, number) in enumerate(steps):
        if many and archive.tell_reading is not None:
            archive.tell_reading(done / len(steps))
        part = plan.there.get((number, plan.count)) or Part(_file(plan.table, number, plan.count))
        sources = [part] if part.stamp else _sources(plan.there, number, plan.count)
        stamps = _settled(plan.wanted[number], looked)
        plan.parts[number] = _made_again(archive, plan.table, part.name, sources, plan.wanted[number], stamps)
    for plan in plans:
        cache[f"parts of {plan.table}"] = {(number, plan.count): part for number, part in plan.parts.items()}
        if plan.stale:
            _tidy(archive.store, plan.table, [part for key, part in plan.there.items() if key[1] != plan.count])
    if many and archive.tell_reading is not None:
        archive.tell_reading(1.0)
    return [plans[0].parts[number] for number in range(plans[0].count)]


def _plan(store: Store, table: str, cache: MutableMapping[str, Any], looked: Mapping[str, Seen]) -> _Plan:
    there = _parts_there(store, table, cache)
    count = _how_many(len(looked), {of for _number, of in there})
    wanted: list[dict[str, str]] = [{} for _ in range(count)]
    for slug, seen in looked.items():
        wanted[_part_of(slug, count)][slug] = f"{seen.revision}:{seen.evidence}"
    parts = {number: part for (number, of), part in there.items() if of == count}
    stale = []
    for number in range(count):
        part = parts.get(number)
        if part is None or part.seen != wanted[number] or not part.stamp or _futile(table, part, looked):
            stale.append(number)
    return _Plan(table, count, there, wanted, parts, stale)


def _futile(table: str, part: Part, looked: Mapping[str, Seen]) -> bool:
    """Tell whether too many recordings are looked at again by every process although nothing has changed in them."""
    if table != "recordings":
        return False
    settled = _settled(part.seen, looked)
    return sum(part.stamps.get(slug) != stamp for slug, stamp in settled.items()) >= FUTILE


def _settled(slugs: Iterable[str], looked: Mapping[str, Seen]) -> dict[str, str]:
    return {slug: looked[slug].stamp for slug in slugs if slug in looked and looked[slug].settled}


def _made_again(
    archive: Archive, table: str, name: str, sources: Sequence[Part], wanted: dict[str, str], stamps: dict[str, str]
) -> Part:
    """Take over the rows of recordings in which nothing changed, read the others, and write the part."""
    schema, kept, taken = index_schema(table), [], set()
    for source in sources:
        fresh = [slug for slug, seen in source.seen.items() if wanted.get(slug) == seen and slug not in taken]
        if fresh:
            rows = _rows(archive.store, table, source, schema.names)
            if len(fresh) < len(source.seen):
                rows = rows.filter(pc.is_in(rows["recording"], value_set=pa.array(fresh, pa.string())))
            kept.append(rows)
            taken.update(fresh)
    unseen = [
        rows_of(table, archive.state(slug), partial(archive.grid, slug)).cast(schema)
        for slug in wanted
        if slug not in taken
    ]
    rows = pa.concat_tables([*kept, *unseen, schema.empty_table()]).combine_chunks()
    note = {"index": INDEX_VERSION, "seen": wanted}
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
        archive.store.replace(name, sink.getvalue().to_pybytes())
    except OSError:  # read-only or full: the reader has its table all the same
        return Part(name, "kept in memory " + hashlib.sha256(sink.getvalue()).hexdigest(), wanted, stamps, rows)
    return Part(name, archive.store.stamp(name), wanted, stamps)


def _rows(store: Store, table: str, part: Part, columns: Sequence[str]) -> pa.Table:
    if part.rows is not None:
        return part.rows.select(columns).replace_schema_metadata(None)
    schema = index_schema(table)
    try:
        with store.open(part.name) as source, pq.ParquetFile(source, page_checksum_verification=True) as file:
            rows = file.read(list(columns))
        rows = rows.select(columns).replace_schema_metadata(None)
        return rows.cast(pa.schema([schema.field(name) for name in columns]))
    except BROKEN as error:
        raise _DamagedPart(part) from error


def _parts_there(store: Store, table: str, cache: MutableMapping[str, Any]) -> dict[tuple[int, int], Part]:
    """Return the parts of a table that are there, fit this version and can be read, by number and count."""
    known: dict[tuple[int, int], Part] = cache.get(f"parts of {table}", {})
    damaged: set[tuple[str, str]] = cache.get(_DAMAGED, set())
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
            part = _described(store, table, entry.name, entry.stamp)
        if part is not None and key[0] < key[1]:
            found[key] = part
    return found


def _described(store: Store, table: str, name: str, stamp: str) -> Part | None:
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


def _how_many(recordings: int, present: set[int]) -> int:
    """How many parts: as many as there are while they are of a good size, else a power of two."""
    for count in sorted(present, reverse=True):
        if (count == 1 or recordings / count >= MOST_IN_A_PART / 16) and recordings / count <= MOST_IN_A_PART:
            return count
    count = 1
    while recordings / count > (MOST_IN_A_PART if count == 1 else MOST_IN_A_PART / 4):
        count *= 2
    return count


def _sources(there: dict[tuple[int, int], Part], number: int, count: int) -> list[Part]:
    """Parts of other layouts that may hold recordings of this one: counts are powers of two, so numbers agree."""
    return [part for (n, of), part in there.items() if n % min(of, count) == number % min(of, count)]


def _tidy(store: Store, table: str, old: Sequence[Part]) -> None:
    """Remove the parts of an older layout, and the single file of an older version, lest readers count rows twice."""
    with contextlib.suppress(OSError):
        for part in old:
            store.delete(part.name)
        store.delete(f"index/{table}.parquet")
        store.sweep(f"index/{table}")


def _file(table: str, number: int, count: int) -> str:
    return f"index/{table}/{number}-of-{count}.parquet"


@lru_cache(maxsize=1 << 16)
def _part_of(slug: str, count: int) -> int:
    return int.from_bytes(hashlib.sha256(slug.encode()).digest()[:4], "big") % count
