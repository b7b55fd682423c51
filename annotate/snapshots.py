"""Snapshots: the state of a recording at a revision, so that opening does not replay every edit from the first on.

``snapshots/00000128.parquet`` holds every row of the state as an edit that adds it, in the form of a revision file. It
is derived: one that cannot be read, or stands on a revision that is not the one there now, is passed over, and
revisions are replayed from an older one or from the first.
"""

from __future__ import annotations

import contextlib
import hashlib
import re

from annotate.errors import DamagedRevision, NewerArchive
from annotate.revisions import BROKEN, Edit, add, file_of, pack, unpack
from annotate.schema import ANNOTATION_TABLES, SCHEMA_VERSION
from annotate.state import State
from annotate.store.folder import Folder

EVERY = 64
"""Revisions from one snapshot to the next: so many are replayed at most, in some 50 ms."""
KEPT = 2
"""So many are kept: the older one is for the day when the newer is damaged."""

_NAME = re.compile(r"(\d{8})\.parquet")


def newest(recording: Folder, slug: str, latest: int) -> State | None:
    """Return the state of the newest snapshot that can be relied on, or None.

    Parameters
    ----------
    recording : Folder
        The recording's folder.
    slug : str
    latest : int
        The latest revision there is: a snapshot of a later one is of another history.
    """
    for number in reversed(numbers(recording)):
        state = read(recording, slug, number) if number <= latest else None
        if state is not None:
            return state
    return None


def numbers(recording: Folder) -> list[int]:
    """Return the revisions of which there are snapshots, in order."""
    found = (_NAME.fullmatch(entry.last) for entry in (recording / "snapshots").files())
    return [int(match[1]) for match in found if match]


def read(recording: Folder, slug: str, number: int) -> State | None:
    """Return the state that a snapshot holds; None when it cannot be relied on."""
    state, stands = held(recording, slug, number)
    return state if stands else None


def held(recording: Folder, slug: str, number: int) -> tuple[State | None, bool]:
    """Return what a snapshot holds (None where it is damaged), and whether it stands on the revision that is there."""
    try:
        note, edits = unpack((recording / "snapshots").read(file_of(number)))
        if note["kind"] != "snapshot" or note["recording"] != slug or note["revision"] != number:
            return None, False
        rows: dict[str, dict[str, object]] = {table: {} for table in ANNOTATION_TABLES}
        for edit in edits:
            rows[edit.table][edit.key] = edit.record
        spent = {str(table): int(count) for table, count in note["spent"].items()}
        state = State(slug, number, rows, spent)  # type: ignore[arg-type] # every edit of a snapshot adds a record
        stands_on = note["stands_on"]
    except (DamagedRevision, NewerArchive, *BROKEN):
        return None, False
    try:
        return state, stands_on == _stands_on(recording, number)
    except OSError:
        return state, False


def write(recording: Folder, state: State) -> None:
    """Write the snapshot of a state and remove all but the newest; a store that cannot be written goes without."""
    with contextlib.suppress(OSError):
        edits: list[Edit] = [add(record) for rows in state.rows.values() for record in rows.values()]
        note = {
            "kind": "snapshot",
            "schema": SCHEMA_VERSION,
            "recording": state.slug,
            "revision": state.revision,
            "stands_on": _stands_on(recording, state.revision),
            "spent": dict(state.spent),
        }
        folder = recording / "snapshots"
        folder.replace(file_of(state.revision), pack(edits, note))
        folder.store.sweep(folder.name)
        for number in numbers(recording)[:-KEPT]:
            folder.delete(file_of(number))


def _stands_on(recording: Folder, number: int) -> str:
    """Digest of the revision file that a snapshot follows."""
    return hashlib.sha256((recording / "revisions").read(file_of(number))).hexdigest()
