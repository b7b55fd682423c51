"""Where the content of a lost revision is kept a second time: in the ledger, in snapshots, in the index.

The ledger repeats every revision as it was. A snapshot and the index tell of the state at a later revision, from which
follows what the lost ones did to rows that nobody has touched since.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import pyarrow.compute as pc
import pyarrow.parquet as pq

from annotate import snapshots
from annotate.history import ledger
from annotate.index import seen_in
from annotate.layout import named
from annotate.records import MarkedSam, Record
from annotate.revisions import BROKEN, Revision
from annotate.rows import from_row
from annotate.schema import ANNOTATION_TABLES, annotation_columns
from annotate.store.base import Store
from annotate.store.folder import Folder


@dataclass(frozen=True)
class Witness:
    """The rows of some tables as of a revision, and what tells of them, in words."""

    number: int
    rows: Mapping[str, Mapping[str, Record]]
    words: str


def from_ledger(store: Store, slug: str) -> dict[int, Revision]:
    """Return the revisions that the newest whole ledger repeats, by number."""
    kept = ledger.kept(Folder(store, f"recordings/{slug}"), slug)
    best: dict[int, Revision] = {}
    for held, _stands in kept.values():
        try:
            if held is not None and held.latest > max(best, default=0):
                best = {revision.number: revision for revision in held.revisions()}
        except BROKEN:
            continue
    return best


@dataclass(frozen=True)
class Told:
    """A part of the index that holds rows of a recording as of a revision."""

    table: str
    part: str
    number: int


Index = Mapping[str, Sequence[Told]]
"""What the index tells, by recording."""


def told_by_index(store: Store) -> Index:
    """Return which parts of the index hold rows of each recording, and as of which revision; read once for all."""
    found: dict[str, list[Told]] = {}
    for entry in store.walk("index"):
        table = entry.name.split("/")[1]
        if named(entry.name).kind == "index" and table in ANNOTATION_TABLES:
            for slug, number in (seen_in(store, table, entry.name, entry.stamp) or {}).items():
                found.setdefault(slug, []).append(Told(table, entry.name, number))
    return found


def latest_named(store: Store, slug: str, index: Index) -> int:
    """Return the latest revision that anything is named after, or said to be of; cheap, and not to be relied on."""
    place = Folder(store, f"recordings/{slug}")
    told = [each.number for each in index.get(slug, ())]
    return max([0, ledger.bound(place), *snapshots.numbers(place), *told])


def witnesses(store: Store, slug: str, index: Index) -> list[Witness]:
    """Return the states that are told of elsewhere, by revision; of one revision a snapshot comes before the index."""
    place = Folder(store, f"recordings/{slug}")
    found: list[Witness] = []
    for number in snapshots.numbers(place):
        state, _stands = snapshots.held(place, slug, number)
        if state is not None:
            found.append(Witness(number, state.rows, f"the snapshot of revision {number}"))
    for told in index.get(slug, ()):  # a witness a table: they may be of different revisions
        try:
            rows = _rows(store, told.part, told.table, slug)
            found.append(Witness(told.number, {told.table: rows}, f"the index as of revision {told.number}"))
        except BROKEN:
            continue
    return sorted(found, key=lambda each: each.number)


def _rows(store: Store, name: str, table: str, slug: str) -> dict[str, Record]:
    columns = list(annotation_columns(table))
    with store.open(name) as source, pq.ParquetFile(source) as file:
        rows = file.read(["recording", *columns], use_threads=False)
    found: dict[str, Record] = {}
    for row in rows.filter(pc.equal(rows["recording"], slug)).select(columns).to_pylist():
        key = slug if table == "recordings" else str(row[columns[0]])
        if key:  # a tracked sam has none
            record = from_row(table, key, row)
            if isinstance(record, MarkedSam):  # the index tells the cycle of the grid, not what the person said
                record = MarkedSam(record.sam, record.section, record.sam_s)
            found[key] = record
    return found


def same(first: Record | None, second: Record | None) -> bool:
    """Tell whether two rows agree as far as the index can tell."""
    if isinstance(first, MarkedSam) and isinstance(second, MarkedSam):
        return (first.section, first.sam_s) == (second.section, second.sam_s)
    return first == second
