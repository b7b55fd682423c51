"""Revision files: what each edit did, one immutable Parquet file per edit.

``revisions/00000042.parquet`` holds one row per row touched (:data:`annotate.schema.REVISION`). Who, when, why and the
parent stand in the file's metadata under the key ``layakosh`` as JSON, with a digest of note and rows (none before
digests were kept). A file is created exclusively and durably: of two writers who build on the same parent one wins, and
the other gets ``FileExistsError``. No file is ever changed.
"""

from __future__ import annotations

import hashlib
import json
import re
import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Literal

import pyarrow as pa
import pyarrow.parquet as pq

from annotate.errors import DamagedRevision, NewerArchive
from annotate.migrations import to_present
from annotate.records import TABLE_OF, Record, key_of
from annotate.rows import from_row, to_row
from annotate.schema import REVISION, SCHEMA_VERSION
from annotate.store.folder import Folder, as_folder

Action = Literal["add", "change", "withdraw"]
_NAME = re.compile(r"(\d{8})\.parquet")
_NOTE = b"layakosh"
_WITHDRAWS = "withdraws the recording"
BROKEN = (
    pa.ArrowException,
    OSError,
    ArithmeticError,
    LookupError,
    ValueError,
    TypeError,
    AttributeError,
    MemoryError,
    RecursionError,
)
"""What comes of a Parquet file, or the JSON in it, that is damaged or made to do harm."""
TABLES = frozenset(TABLE_OF.values())


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
    undoes: int = 0
    """The revision that this one takes back; 0 for one that takes back none."""


def latest_number(folder: Path | Folder, known: int = 0) -> int:
    """Return the number of the latest revision in a ``revisions`` folder, 0 when there is none.

    ``known`` is one that was seen there earlier, and where the search begins.
    """
    place = as_folder(folder)
    after = file_of(known - 1) if known > 1 else ""
    numbers = [int(match[1]) for entry in place.files(after) if (match := _NAME.fullmatch(entry.last))]
    if known > 1 and known not in numbers:
        return latest_number(place)  # the folder was put back from a backup
    return max(numbers, default=0)


def file_of(number: int) -> str:
    """Return the name of a revision's file."""
    return f"{number:08d}.parquet"


def path_of(folder: Path, number: int) -> Path:
    """Return the path of a revision file in a folder on the disk."""
    return folder / file_of(number)


def write(folder: Path | Folder, slug: str, revision: Revision) -> None:
    """Create the revision's file, durably.

    Raises
    ------
    FileExistsError
        Somebody else made this number first. Nothing was written.
    """
    as_folder(folder).create_exclusively(file_of(revision.number), to_bytes(slug, revision))


def to_bytes(slug: str, revision: Revision) -> bytes:
    """Return the content of a revision's file; no two are alike, since each bears a number drawn by lot."""
    note = {
        "kind": "revision",
        "schema": SCHEMA_VERSION,
        "recording": slug,
        "revision": revision.number,
        "parent": revision.parent,
        "who": revision.who,
        "when": revision.when.isoformat(),
        "why": revision.why,
        "lot": secrets.token_hex(8),
    }
    if revision.undoes:
        note["undoes"] = revision.undoes
    if _withdraws_all(revision.edits):
        note[_WITHDRAWS] = True
    return pack(revision.edits, note)


def pack(edits: Sequence[Edit], note: Mapping[str, Any]) -> bytes:
    """Return edits and a note as the content of a Parquet file that tells when it is damaged."""
    table = pa.Table.from_pydict(columns_of(edits), schema=REVISION)
    told = {**note, "digest": _digest(note, table.to_pylist())}
    sink = pa.BufferOutputStream()
    with pq.ParquetWriter(
        sink,
        REVISION,
        compression="snappy",  # of sixty short columns; zstd takes twice as long and saves nothing
        store_schema=False,  # Arrow's own copy would be half of the file
        write_statistics=False,
        use_dictionary=False,
    ) as writer:
        writer.write_table(table)
        writer.add_key_value_metadata({_NOTE: json.dumps(told, ensure_ascii=False).encode()})
    return sink.getvalue().to_pybytes()


def columns_of(edits: Sequence[Edit]) -> dict[str, list[object]]:
    """Return edits as the columns of :data:`annotate.schema.REVISION`."""
    columns: dict[str, list[object]] = {name: [] for name in REVISION.names}
    for edit in edits:
        filled = {"table": edit.table, "key": edit.key, "action": edit.action}
        for name, values in columns.items():
            values.append(filled.get(name))
        if edit.record is not None:
            columns[edit.table][-1] = to_row(edit.record)
    return columns


def unpack(content: bytes) -> tuple[dict[str, Any], tuple[Edit, ...]]:
    """Return the note and the edits of a file's content.

    Raises
    ------
    DamagedRevision
        It cannot be read, or is not what was written; the message says why.
    NewerArchive
        It was written by a newer version of this program.
    """
    try:
        with pq.ParquetFile(pa.BufferReader(content)) as file:
            table = file.read(use_threads=False)
        note = json.loads(table.schema.metadata[_NOTE])
        schema = int(note["schema"])
        if schema <= SCHEMA_VERSION:
            rows = table.to_pylist()
            if "digest" in note and note["digest"] != _digest(note, rows):
                raise DamagedRevision("what it holds is not what was written")
            return note, tuple(edit_of(row, schema) for row in rows)
    except DamagedRevision:
        raise
    except BROKEN as error:
        raise DamagedRevision(_first_line(error)) from error
    raise NewerArchive(f"schema {schema} is newer than this program's ({SCHEMA_VERSION})")


def from_bytes(content: bytes) -> tuple[str, Revision]:
    """Return the recording's slug and the revision that a file's content holds.

    Raises
    ------
    DamagedRevision
        It cannot be read, or is not what was written; the message says why.
    NewerArchive
        It was written by a newer version of this program.
    """
    note, edits = unpack(content)
    try:
        if note["kind"] != "revision":
            raise DamagedRevision(f"it is a {note['kind']}")
        return str(note["recording"]), Revision(
            number=int(note["revision"]),
            parent=int(note["parent"]),
            who=str(note["who"]),
            when=datetime.fromisoformat(note["when"]),
            why=str(note["why"]),
            edits=edits,
            undoes=int(note.get("undoes", 0)),
        )
    except (LookupError, ValueError, TypeError, ArithmeticError) as error:
        raise DamagedRevision(_first_line(error)) from error


def read(folder: Path | Folder, number: int) -> Revision:
    """Read one revision.

    Raises
    ------
    DamagedRevision
        The file is missing or cannot be read.
    NewerArchive
        It was written by a newer version of this program.
    """
    place = as_folder(folder)
    where = place.words(file_of(number))
    mend = "Put it back from a backup, or run 'layakosh check'; nothing was changed."
    try:
        content = place.read(file_of(number))
    except FileNotFoundError:
        raise DamagedRevision(f"{where} is missing although later revisions are there. {mend}") from None
    except OSError as error:
        raise DamagedRevision(f"{where} cannot be read ({_first_line(error)}). {mend}") from error
    try:
        _of, revision = from_bytes(content)
        if revision.number != number:
            raise DamagedRevision(f"it says that it is revision {revision.number}")
        return revision
    except NewerArchive:
        raise NewerArchive(
            f"{where} was written by a newer version of this program. Install that version to open it."
        ) from None
    except DamagedRevision as error:
        raise DamagedRevision(f"{where} cannot be read as a revision ({_first_line(error)}). {mend}") from error


def read_since(folder: Path | Folder, seen: int, latest: int) -> Sequence[Revision]:
    """Read the revisions after ``seen`` up to and including ``latest``, in order."""
    return [read(folder, number) for number in range(seen + 1, latest + 1)]


def withdraws_all(folder: Path | Folder, number: int) -> bool:
    """Tell whether a revision withdraws the recording itself; one that cannot be read does not.

    No other revision follows one that does, but the one that brings the recording back. Its note says so in plain
    bytes, so that of ten thousand recordings those few alone have to be read as tables.
    """
    try:
        content = as_folder(folder).read(file_of(number))
        return _WITHDRAWS.encode() in content and _withdraws_all(unpack(content)[1])
    except (DamagedRevision, NewerArchive, OSError):
        return False


def edit_of(row: Mapping[str, Any], schema: int = SCHEMA_VERSION) -> Edit:
    """Return the edit that a row of :data:`annotate.schema.REVISION` holds, of whatever schema.

    Raises
    ------
    ValueError, LookupError, TypeError
        It holds none.
    """
    table, key, action = row["table"], row["key"], row["action"]
    if action not in ("add", "change", "withdraw") or table not in TABLES or not isinstance(key, str):
        raise ValueError(f"a row of table {table!r}, key {key!r}, action {action!r}")
    values = row[table]
    if (values is None) != (action == "withdraw"):
        raise ValueError(f"a row with action {action!r} and {'no' if values is None else 'new'} values")
    record = None if values is None else from_row(table, key, to_present(table, values, schema))
    return Edit(action, table, key, record)


def _withdraws_all(edits: Sequence[Edit]) -> bool:
    return len(edits) == 1 and edits[0].table == "recordings" and edits[0].action == "withdraw"


def _digest(note: Mapping[str, Any], rows: Sequence[Mapping[str, Any]]) -> str:
    told = [{name: value for name, value in note.items() if name != "digest"}, rows]
    return hashlib.sha256(json.dumps(told, default=str, sort_keys=True).encode()).hexdigest()


def _first_line(error: BaseException) -> str:
    return (str(error).splitlines() or [type(error).__name__])[0]
