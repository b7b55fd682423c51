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

from collections.abc import Collection, Iterable, Mapping, MutableMapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

import pyarrow as pa
import pyarrow.compute as pc

from annotate.index_parts import (
    DAMAGED,
    DamagedPart,
    Part,
    described,
    file_of,
    how_many,
    part_of,
    parts_there,
    rows_in,
    sources_of,
    tidy,
    write_part,
)
from annotate.index_rows import rows_of
from annotate.lookout import Seen
from annotate.schema import INDEX_TABLES, index_schema
from annotate.store.base import Store

if TYPE_CHECKING:
    from annotate.archive.reading import Reading

FUTILE = 16
"""So many looks at recordings in which nothing had changed are worth writing their part again."""
FEW = 64
"""Reading more recordings than this is told of; where they are a good part of the archive, they are read once, for all
tables."""
READERS = 4
"""Parts read at the same time: a disk keeps two cores busy, and an object store takes its time over each."""
KEPT_BYTES = 64 << 20
"""Tables up to this size are kept in memory between reads."""


def up_to_date(
    archive: Reading,
    table: str,
    cache: MutableMapping[str, Any],
    columns: Sequence[str] | None = None,
    recordings: Collection[str] | None = None,
) -> pa.Table:
    """Return an index table with every revision in it, writing the parts in which something was unseen.

    Parameters
    ----------
    archive : Reading
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
        except DamagedPart as damaged:  # it is passed over from now on, and so made again
            cache.setdefault(DAMAGED, set()).add((damaged.part.name, damaged.part.stamp))
            cache.pop(f"parts of {table}", None)


def _up_to_date(
    archive: Reading,
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
            numbers = {part_of(slug, len(parts)) for slug in recordings}
            parts = [part for number, part in enumerate(parts) if number in numbers]
        read = [name for name in schema.names if name in wanted or (name == "recording" and recordings is not None)]
        with ThreadPoolExecutor(READERS) as pool:
            tables = list(pool.map(lambda part: rows_in(archive.store, table, part, read), parts))
        rows = pa.concat_tables([*tables, pa.schema([schema.field(name) for name in read]).empty_table()])
        if columns is None and recordings is None and rows.nbytes <= KEPT_BYTES:
            cache[table] = (stamps, rows)
    if recordings is not None:
        of = rows["recording"] if "recording" in rows.column_names else kept[1]["recording"]  # type: ignore[index]
        rows = rows.filter(pc.is_in(of, value_set=pa.array(list(recordings), pa.string())))
    return rows.select(wanted).cast(narrow)


def seen_before(store: Store) -> dict[str, Seen]:
    """Return what the index tells of recordings seen by earlier processes, as far as it still holds."""
    found: dict[str, Seen] = {}
    for part in parts_there(store, "recordings", {}).values():
        for slug, stamp in part.stamps.items():
            revision, _, evidence = part.seen.get(slug, "").partition(":")
            if revision.isdigit():
                found[slug] = Seen(stamp, True, int(revision), evidence)
    return found


def seen_in(store: Store, table: str, name: str, stamp: str) -> dict[str, int] | None:
    """Return which revision of each recording is in a part of a table; None for what is no part that can be read."""
    part = described(store, table, name, stamp)
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


def _refresh(archive: Reading, table: str, cache: MutableMapping[str, Any]) -> list[Part]:
    """Bring every part up to date and return them in order.

    Where a good part of the archive has to be read, it is read once, for all tables.
    """
    looked = archive.seen()
    plans = [_plan(archive.store, table, cache, looked)]
    unseen = plans[0].unseen if plans[0].stale else 0
    many = unseen > FEW
    if many and unseen > len(looked) / 4:  # after a few edits the other tables can wait until they are asked for
        plans += [_plan(archive.store, other, cache, looked) for other in INDEX_TABLES if other != table]
    steps = sorted(
        ((plan, number) for plan in plans for number in plan.stale), key=lambda step: step[1] / step[0].count
    )
    for done, (plan, number) in enumerate(steps):
        if many and archive.tell_reading is not None:
            archive.tell_reading(done / len(steps))
        part = plan.there.get((number, plan.count)) or Part(file_of(plan.table, number, plan.count))
        sources = [part] if part.stamp else sources_of(plan.there, number, plan.count)
        stamps = _settled(plan.wanted[number], looked)
        plan.parts[number] = _made_again(archive, plan.table, part.name, sources, plan.wanted[number], stamps)
    for plan in plans:
        cache[f"parts of {plan.table}"] = {(number, plan.count): part for number, part in plan.parts.items()}
        if plan.stale:
            tidy(archive.store, plan.table, [part for key, part in plan.there.items() if key[1] != plan.count])
    if many and archive.tell_reading is not None:
        archive.tell_reading(1.0)
    return [plans[0].parts[number] for number in range(plans[0].count)]


def _plan(store: Store, table: str, cache: MutableMapping[str, Any], looked: Mapping[str, Seen]) -> _Plan:
    there = parts_there(store, table, cache)
    count = how_many(len(looked), {of for _number, of in there})
    wanted: list[dict[str, str]] = [{} for _ in range(count)]
    for slug, seen in looked.items():
        wanted[part_of(slug, count)][slug] = f"{seen.revision}:{seen.evidence}"
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
    archive: Reading, table: str, name: str, sources: Sequence[Part], wanted: dict[str, str], stamps: dict[str, str]
) -> Part:
    """Take over the rows of recordings in which nothing changed, read the others, and write the part."""
    schema, kept, taken = index_schema(table), [], set()
    for source in sources:
        fresh = [slug for slug, seen in source.seen.items() if wanted.get(slug) == seen and slug not in taken]
        if fresh:
            rows = rows_in(archive.store, table, source, schema.names)
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
    return write_part(archive.store, table, name, rows, wanted, stamps)
