"""Rows from elsewhere taken into a recording: all of them in one revision, or nothing.

Whatever format the rows come from, they are checked alike, those that are there already are passed over, and it is
told how many were. Columns: see :mod:`annotate.tables_in`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from annotate.archive import Archive
from annotate.cells import TABLES
from annotate.csv_read import Row
from annotate.grid_store import present_grid
from annotate.marking import trial
from annotate.records import PhraseRecord, Recording, TihaiRecord
from annotate.revisions import Edit, add
from annotate.state import State, empty, replay
from annotate.tables_grid import sam_edits, section_edits
from annotate.tables_played import phrase_edits, tihai_edits


@dataclass(frozen=True)
class Counts:
    """Of the rows of one table: how many came, were new, corrected one that was there, or were there already."""

    came: int
    new: int
    corrected: int
    there: int


@dataclass(frozen=True)
class Taken:
    """What rows did to a recording, or would do."""

    slug: str
    edits: tuple[Edit, ...]
    counts: Mapping[str, Counts]

    @property
    def withdrawn(self) -> int:
        """How many sections that ingest had proposed gave way."""
        return sum(each.action == "withdraw" for each in self.edits)


def take(
    archive: Archive,
    slug: str,
    rows: Mapping[str, Sequence[Row]],
    *,
    made: Recording | None = None,
    who: str = "",
    why: str = "",
    write: bool = True,
) -> Taken:
    """Take rows into a recording.

    Parameters
    ----------
    archive : Archive
    slug : str
        A recording of the archive, or that of ``made``.
    rows : mapping of table to rows
        Of ``sections``, ``sams``, ``tihais``, ``phrases``.
    made : Recording, optional
        The recording, where it is not in the archive yet.
    who, why : str
        For the revision.
    write : bool, optional
        Whether to write; if not, it is only said what would be.

    Raises
    ------
    BadTable
        Names the file and the place in it.
    ingest.errors.ConflictingSams
        No cycle can satisfy the sams.
    """
    edits: list[Edit] = []
    if made is None:
        state = archive.state(slug)
    else:
        edits.append(add(made))
        state = empty(slug)
        state = replay(state, [trial(state, edits)])
    base = 0 if made is not None else state.revision
    counts: dict[str, Counts] = {}
    for table in ("sections", "sams"):
        reader = section_edits if table == "sections" else sam_edits
        state = _take(state, table, rows, edits, counts, reader(state, rows[table]) if rows.get(table) else [])
    # the fit is tried before anything is written: marks that no cycle can satisfy are refused
    grid = present_grid(state, archive.evidence_folder(slug), strict=True)
    found = tihai_edits(state, rows["tihais"], grid) if rows.get("tihais") else []
    state = _take(state, "tihais", rows, edits, counts, found)
    found = phrase_edits(state, rows["phrases"]) if rows.get("phrases") else []
    state = _take(state, "phrases", rows, edits, counts, found)
    stamped = [_signed(edit, who) for edit in _with_main_tala(state, _merged(edits))]
    if stamped and write:
        archive.commit(slug, stamped, who, why, parent=base)
    return Taken(slug, tuple(stamped), {table: counts[table] for table in TABLES if rows.get(table)})


def _take(
    state: State,
    table: str,
    rows: Mapping[str, Sequence[Row]],
    edits: list[Edit],
    counts: dict[str, Counts],
    found: list[Edit],
) -> State:
    """Count the edits that a table asks for, put them to the others, and return the state after them."""
    came = len(rows.get(table, ()))
    new = sum(each.table == table and each.action == "add" for each in found)
    corrected = sum(each.table == table and each.action == "change" for each in found)
    counts[table] = Counts(came, new, corrected, came - new - corrected)
    edits.extend(found)
    return replay(state, [trial(state, found)])


def _merged(edits: list[Edit]) -> list[Edit]:
    """Leave one edit a row, where two tables touch the same one: the later values, added if the row is new."""
    merged: dict[tuple[str, str], Edit] = {}
    for edit in edits:
        earlier = merged.get((edit.table, edit.key))
        is_new = earlier is not None and earlier.action == "add"
        merged[edit.table, edit.key] = replace(edit, action="add") if is_new else edit
    return list(merged.values())


def _with_main_tala(state: State, edits: list[Edit]) -> list[Edit]:
    """Give a recording that is made the tala of its longest section, where none was named."""
    if not edits or not isinstance(edits[0].record, Recording) or edits[0].record.tala:
        return edits
    longest = max(
        (each for each in state.sections if each.tala), key=lambda each: each.end_s - each.start_s, default=None
    )
    return [add(replace(edits[0].record, tala=longest.tala if longest else "")), *edits[1:]]


def _signed(edit: Edit, who: str) -> Edit:
    if not isinstance(edit.record, TihaiRecord | PhraseRecord):
        return edit
    return replace(edit, record=replace(edit.record, who=who, at=datetime.now(UTC).replace(microsecond=0)))
