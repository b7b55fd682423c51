"""The ledger of a recording: all its revisions in one table, so that its history is read at once.

A recording edited for years has thousands of revision files, and reading them one by one takes seconds. The ledger
holds what they hold, a row per row touched (:data:`annotate.schema.LEDGER`), in
``ledger/<latest revision>-<digest of the file>.parquet``. It is derived from the revision files: one that is damaged,
or does not stand on the revision that is there now, is passed over, and the files are read again. It lacks the newest
revisions, which are read from their files; when :data:`EVERY` of them have gathered it is written anew.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import re
from collections.abc import Collection, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import cached_property
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

from annotate import revisions
from annotate.records import EPOCH
from annotate.revisions import BROKEN, Edit, Revision, columns_of, edit_of, file_of
from annotate.schema import LEDGER, SCHEMA_VERSION
from annotate.state import State, empty, replay
from annotate.store.folder import Folder

EVERY = 64
"""So many revisions are read from their own files at most, some 50 ms."""
AT_ONCE = 8
"""Revision files read at the same time, where each waits for an object store."""

_FILE = re.compile(r"(\d{8})-([0-9a-f]{32})\.parquet")
_NOTE = b"layakosh"
_HEAD = ["revision", "parent", "who", "when", "why", "undoes"]

Row = tuple[str, str]
"""A row of a recording: its table and its key."""


@dataclass(frozen=True)
class Head:
    """What is known of a revision without its rows."""

    number: int
    who: str
    when: datetime
    why: str
    undoes: int


@dataclass(frozen=True)
class Ledger:
    """The revisions of a recording up to ``latest``; of them, ``bound`` are in a ledger file."""

    slug: str
    latest: int = 0
    bound: int = 0
    table: pa.Table = field(default_factory=LEDGER.empty_table, repr=False)

    @cached_property
    def heads(self) -> tuple[Head, ...]:
        """Who, when and why of every revision, in order."""
        firsts = np.flatnonzero(np.diff(self.table["revision"].to_numpy(), prepend=0))
        part = self.table.select(["revision", "who", "when", "why", "undoes"]).take(firsts)
        return tuple(map(Head, *(part[name].to_pylist() for name in part.column_names)))

    def revisions(
        self, since: int = 0, until: int | None = None, *, table: str = "", key: str = "", most: int = 0
    ) -> list[Revision]:
        """Return the revisions after ``since``, up to and including ``until`` (by default the latest), in order.

        Parameters
        ----------
        since, until : int
        table, key : str
            Only what was done to this table, or row; revisions that did nothing to it are left out.
        most : int
            Only so many, the latest; 0 for all.
        """
        start = self._rows_up_to(since)
        part = self.table.slice(start, self._rows_up_to(self.latest if until is None else until) - start)
        if table:
            wanted = pc.equal(part["table"], table)
            part = part.filter(pc.and_(wanted, pc.equal(part["key"], key)) if key else wanted)
        if most:
            numbers = np.unique(part["revision"].to_numpy())[-most:]
            part = part.filter(pc.is_in(part["revision"], pa.array(numbers, pa.int32())))
        return _revisions_of(part.to_pylist())

    def state(self, number: int, only: Collection[Row] | None = None) -> State:
        """Return the state as of a revision; with ``only``, it holds no other rows and knows of no other keys."""
        part = self.table.slice(0, self._rows_up_to(number))
        if only is not None:
            keys = pa.array(sorted({key for _table, key in only}), pa.string())
            part = part.filter(pc.is_in(part["key"], keys))
        places = part.select(["table", "key"]).append_column("place", pa.array(np.arange(len(part))))
        last = np.sort(places.group_by(["table", "key"]).aggregate([("place", "max")])["place_max"].to_numpy())
        edits = [edit_of(row) for row in part.take(last).select(LEDGER.names[len(_HEAD) :]).to_pylist()]
        edits = [edit for edit in edits if only is None or (edit.table, edit.key) in only]
        return replay(empty(self.slug), [Revision(number, number - 1, "", EPOCH, "", tuple(edits))])

    def touching(self, rows: Collection[Row], since: int) -> dict[Row, list[int]]:
        """Return, for each of some rows, the revisions after ``since`` that touched it."""
        part = self.table.slice(self._rows_up_to(since)).select(["revision", "table", "key"])
        part = part.filter(pc.is_in(part["key"], pa.array(sorted({key for _table, key in rows}), pa.string())))
        found: dict[Row, list[int]] = {row: [] for row in rows}
        for number, table, key in zip(*(part[name].to_pylist() for name in part.column_names), strict=True):
            if (table, key) in found:
                found[table, key].append(number)
        return found

    @cached_property
    def withdrawals(self) -> frozenset[int]:
        """The revisions that withdrew the recording itself."""
        ours = pc.and_(pc.equal(self.table["table"], "recordings"), pc.equal(self.table["action"], "withdraw"))
        return frozenset(self.table.filter(ours)["revision"].to_pylist())

    def keys(self, table: str) -> set[str]:
        """Return every key that a row of a table has ever had."""
        return set(pc.unique(self.table.filter(pc.equal(self.table["table"], table))["key"]).to_pylist())

    def extended(self, later: Sequence[Revision]) -> Ledger:
        """Return the ledger with further revisions."""
        if not later:
            return self
        columns: dict[str, list[Any]] = columns_of([edit for revision in later for edit in revision.edits])
        for name in _HEAD:
            attribute = "number" if name == "revision" else name
            columns[name] = [getattr(each, attribute) for each in later for _ in each.edits]
        table = pa.concat_tables([self.table, pa.Table.from_pydict(columns, schema=LEDGER)])
        longer = replace(self, latest=later[-1].number, table=table.combine_chunks())
        if "heads" in vars(self):  # what was read once need not be read again
            new = (Head(each.number, each.who, each.when, each.why, each.undoes) for each in later)
            vars(longer)["heads"] = (*self.heads, *new)
        return longer

    def _rows_up_to(self, number: int) -> int:
        return int(np.searchsorted(self.table["revision"].to_numpy(), number, side="right"))


def up_to_date(recording: Folder, slug: str, latest: int, known: Ledger | None = None) -> Ledger:
    """Return the ledger of a recording, and bind it anew when many revisions have been added.

    Parameters
    ----------
    recording : Folder
        The recording's folder.
    slug : str
    latest : int
        The latest revision there is.
    known : Ledger, optional
        What was read earlier.

    Raises
    ------
    DamagedRevision, NewerArchive
        A revision file cannot be read.
    """
    ledger = known if known is not None and known.latest <= latest else Ledger(slug)
    if latest - ledger.latest >= EVERY:
        there = _newest(recording, slug, latest)
        ledger = there if there is not None and there.latest > ledger.latest else ledger
    ledger = ledger.extended(_read_since(recording / "revisions", ledger.latest, latest))
    if latest - ledger.bound >= EVERY:
        _write(recording, ledger)
        ledger = replace(ledger, bound=latest)
    return ledger


def bound(recording: Folder) -> int:
    """Return up to which revision the newest ledger file goes; 0 where there is none."""
    return max((number for number, _digest, _file in _files(recording)), default=0)


def kept(recording: Folder, slug: str) -> dict[str, tuple[Ledger | None, bool]]:
    """Return what each ledger file holds, and whether it stands on the revision that is there now.

    What it holds is None where the file is damaged; files of an older schema are left out, since they are never read.
    """
    found: dict[str, tuple[Ledger | None, bool]] = {}
    for number, digest, file in _files(recording):
        try:
            content = (recording / "ledger").read(file)
            table = pq.read_table(pa.BufferReader(content), use_threads=False)
            note = json.loads(table.schema.metadata[_NOTE])
            if note["schema"] != SCHEMA_VERSION:
                continue
            right = _digest(content) == digest and note["recording"] == slug
            ledger = Ledger(slug, number, number, table.combine_chunks()) if right else None
        except BROKEN:
            ledger, note = None, {}
        stands = False
        with contextlib.suppress(OSError):
            stands = note.get("stands_on") == _stands_on(recording, number)
        found[file] = ledger, stands
    return found


def _read_since(folder: Folder, seen: int, latest: int) -> list[Revision]:
    numbers = range(seen + 1, latest + 1)
    if len(numbers) < AT_ONCE:
        return [revisions.read(folder, number) for number in numbers]
    with ThreadPoolExecutor(AT_ONCE) as pool:
        return list(pool.map(lambda number: revisions.read(folder, number), numbers))


def _revisions_of(rows: Sequence[dict[str, Any]]) -> list[Revision]:
    made: list[Revision] = []
    edits: list[Edit] = []
    for row in rows:
        if not made or made[-1].number != row["revision"]:
            edits = []
            made.append(
                Revision(row["revision"], row["parent"], row["who"], row["when"], row["why"], (), row["undoes"])
            )
        edits.append(edit_of(row))
        made[-1] = replace(made[-1], edits=tuple(edits))
    return made


def _files(recording: Folder) -> list[tuple[int, str, str]]:
    """Return the ledger files there are: latest revision, digest, name."""
    found = (_FILE.fullmatch(entry.last) for entry in (recording / "ledger").files())
    return [(int(match[1]), match[2], match[0]) for match in found if match]


def _newest(recording: Folder, slug: str, latest: int) -> Ledger | None:
    for number, digest, file in reversed(_files(recording)):
        if number <= latest:
            with contextlib.suppress(OSError, ValueError, LookupError, pa.ArrowException):
                return _read(recording, slug, number, digest, file)
    return None


def _read(recording: Folder, slug: str, number: int, digest: str, file: str) -> Ledger:
    content = (recording / "ledger").read(file)
    if _digest(content) != digest:
        raise ValueError("damaged")
    table = pq.read_table(pa.BufferReader(content), use_threads=False)
    right = {"schema": SCHEMA_VERSION, "recording": slug, "stands_on": _stands_on(recording, number)}
    if json.loads(table.schema.metadata[_NOTE]) != right:
        raise ValueError("of another history, or an older schema")
    return Ledger(slug, number, number, table.combine_chunks())


def _write(recording: Folder, ledger: Ledger) -> None:
    """Write the ledger and remove the others; a store that cannot be written goes without."""
    with contextlib.suppress(OSError):
        note = {
            "schema": SCHEMA_VERSION,
            "recording": ledger.slug,
            "stands_on": _stands_on(recording, ledger.latest),
        }
        sink = pa.BufferOutputStream()
        table = ledger.table.replace_schema_metadata({_NOTE: json.dumps(note).encode()})
        pq.write_table(table, sink, compression="zstd")
        content = sink.getvalue().to_pybytes()
        folder, file = recording / "ledger", f"{ledger.latest:08d}-{_digest(content)}.parquet"
        folder.replace(file, content)
        folder.store.sweep(folder.name)
        for number, _of, other in _files(recording):
            if other != file and number <= ledger.latest:
                folder.delete(other)


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()[:32]


def _stands_on(recording: Folder, number: int) -> str:
    """Digest of the revision file that a ledger ends with."""
    return hashlib.sha256((recording / "revisions").read(file_of(number))).hexdigest()
