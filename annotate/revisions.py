"""Revision files: what each edit did, one immutable Parquet file per edit.

``revisions/00000042.parquet`` holds one row per row touched (:data:`annotate.schema.REVISION`). Who, when, why and the
parent stand in the file's metadata under the key ``layakosh`` as JSON. A file is created exclusively and durably: of
two writers who build on the same parent one wins, and the other gets ``FileExistsError``. No file is ever changed.
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Literal

import pyarrow as pa
import pyarrow.parquet as pq

from annotate.errors import DamagedRevision, NewerArchive
from annotate.files import STRAY_PREFIX, create_exclusively, make_folders, sweep_strays
from annotate.records import TABLE_OF, Record, key_of
from annotate.rows import from_row, to_row
from annotate.schema import REVISION, SCHEMA_VERSION

Action = Literal["add", "change", "withdraw"]
_NAME = re.compile(r"(\d{8})\.parquet")
_NOTE = b"layakosh"


@dataclass(frozen=True)
class Edit:
    """One row added, changed or withdrawn. ``record`` is None for a withdrawal."""

    action: Action
    table: str
    key: str
    record: Record | None = None


def add(record: Record) -> Edit:
    """Return the edit that adds a record."""
    return Edit("add", TABLE_OF[type(record)], key_of(record), record)


def change(record: Record) -> Edit:
    """Return the edit that gives an existing row new values."""
    return Edit("change", TABLE_OF[type(record)], key_of(record), record)


def withdraw(table: str, key: str) -> Edit:
    """Return the edit that takes a row out of the present state (its history stays)."""
    return Edit("withdraw", table, key)


@dataclass(frozen=True)
class Revision:
    """One revision: its number, the one it builds on, who made it, when and why, and what it did."""

    number: int
    parent: int
    who: str
    when: datetime
    why: str
    edits: tuple[Edit, ...]


def latest_number(folder: Path) -> int:
    """Return the number of the latest revision in a ``revisions`` folder, 0 when there is none.

    Files of writers that were killed are swept on the way.
    """
    latest, strays = 0, False
    try:
        with os.scandir(folder) as entries:
            for entry in entries:
                if match := _NAME.fullmatch(entry.name):
                    latest = max(latest, int(match[1]))
                else:
                    strays = strays or entry.name.startswith(STRAY_PREFIX)
    except (FileNotFoundError, NotADirectoryError):
        return 0
    if strays:
        sweep_strays(folder)
    return latest


def path_of(folder: Path, number: int) -> Path:
    """Return the path of a revision file."""
    return folder / f"{number:08d}.parquet"


def write(folder: Path, slug: str, revision: Revision) -> None:
    """Create the revision's file, durably.

    Raises
    ------
    FileExistsError
        Somebody else made this number first. Nothing was written.
    """
    columns: dict[str, list[object]] = {name: [] for name in REVISION.names}
    for edit in revision.edits:
        filled = {"table": edit.table, "key": edit.key, "action": edit.action}
        for name, values in columns.items():
            values.append(filled.get(name))
        if edit.record is not None:
            columns[edit.table][-1] = to_row(edit.record)
    note = {
        "kind": "revision",
        "schema": SCHEMA_VERSION,
        "recording": slug,
        "revision": revision.number,
        "parent": revision.parent,
        "who": revision.who,
        "when": revision.when.isoformat(),
        "why": revision.why,
    }
    schema = REVISION.with_metadata({_NOTE: json.dumps(note, ensure_ascii=False).encode()})
    sink = pa.BufferOutputStream()
    pq.write_table(
        pa.Table.from_pydict(columns, schema=schema),
        sink,
        compression="zstd",
        write_statistics=False,
        use_dictionary=False,
    )
    make_folders(folder)
    create_exclusively(path_of(folder, revision.number), sink.getvalue().to_pybytes())


def read(folder: Path, number: int) -> Revision:
    """Read one revision.

    Raises
    ------
    DamagedRevision
        The file is missing or cannot be read.
    NewerArchive
        It was written by a newer version of this program.
    """
    path = path_of(folder, number)
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        raise DamagedRevision(
            f"{path} is missing although later revisions are there. Put it back from a backup; nothing was changed."
        ) from None
    try:
        table = pq.ParquetFile(pa.BufferReader(content)).read(use_threads=False)
        note = json.loads(table.schema.metadata[_NOTE])
    except (pa.ArrowException, OSError, ValueError, KeyError, TypeError) as error:
        raise DamagedRevision(
            f"{path} cannot be read as a revision ({_first_line(error)}). Put it back from a backup; "
            "nothing was changed."
        ) from error
    if note["schema"] > SCHEMA_VERSION:
        raise NewerArchive(f"{path} was written by a newer version of this program. Install that version to open it.")
    return Revision(
        number=note["revision"],
        parent=note["parent"],
        who=note["who"],
        when=datetime.fromisoformat(note["when"]),
        why=note["why"],
        edits=_edits(table),
    )


def read_since(folder: Path, seen: int, latest: int) -> Sequence[Revision]:
    """Read the revisions after ``seen`` up to and including ``latest``, in order."""
    return [read(folder, number) for number in range(seen + 1, latest + 1)]


def _edits(table: pa.Table) -> tuple[Edit, ...]:
    edits = []
    for row in table.to_pylist():
        values = row[row["table"]]
        record = None if values is None else from_row(row["table"], row["key"], values)
        edits.append(Edit(row["action"], row["table"], row["key"], record))
    return tuple(edits)


def _first_line(error: BaseException) -> str:
    return (str(error).splitlines() or [type(error).__name__])[0]
