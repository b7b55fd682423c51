"""The history of a recording, of a table or of one row: every revision with what each row was before and after."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from annotate.archive import Archive
from annotate.errors import BadAnnotation, NoSuchRow
from annotate.history.chains import Chains
from annotate.history.changes import RowChange
from annotate.history.ledger import Head, Ledger
from annotate.history.ledger import Row as RowName
from annotate.records import WORD_FOR, Record
from annotate.revisions import Revision
from annotate.schema import ANNOTATION_TABLES


@dataclass(frozen=True)
class Entry:
    """A revision and what it did.

    ``kind`` is ``edit``, ``undo`` or ``redo``; ``taken_back_by`` is the revision that takes it back, 0 where none does.
    """

    head: Head
    kind: str
    taken_back_by: int
    changes: tuple[RowChange, ...]

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return {
            "revision": self.head.number,
            "who": self.head.who,
            "when": self.head.when.isoformat(),
            "why": self.head.why,
            "kind": self.kind,
            "undoes": self.head.undoes or None,
            "taken_back_by": self.taken_back_by or None,
            "rows": [change.to_json() for change in self.changes],
        }


def history(archive: Archive, slug: str, *, table: str = "", key: str = "", most: int = 0) -> list[Entry]:
    """Return what became of a recording, a table or a row of it, oldest first.

    Parameters
    ----------
    table, key : str
        Only what was done to this table, or row of it (see :func:`row_named`).
    most : int
        Only the latest so many revisions; 0 for all.

    Raises
    ------
    NoSuchRecording, DamagedRevision
        As :meth:`annotate.archive.Archive.state`.
    """
    ledger = archive.ledger(slug)
    chains = Chains.of(ledger)
    return [
        Entry(_head(revision), chains.kind(revision.number), chains.taken_back_by(revision.number), changes)
        for revision, changes in _with_changes(ledger, ledger.revisions(table=table, key=key, most=most))
    ]


def changes_by(ledger: Ledger, number: int) -> tuple[RowChange, ...]:
    """Return what one revision did, row by row in the order in which it was written."""
    ((_revision, changes),) = _with_changes(ledger, ledger.revisions(number - 1, number))
    return changes


def row_named(ledger: Ledger, name: str, table: str = "") -> RowName:
    """Return the table and key of a row that the recording has or had.

    Parameters
    ----------
    name : str
        A key (``t01``, a section's name), after the kind of row and a colon where it is needed: ``section:gat``. The
        recording's own slug names the recording's row.
    table : str
        Look only here.

    Raises
    ------
    NoSuchRow
        There never was such a row.
    BadAnnotation
        Rows of two kinds go by it.
    """
    word, colon, rest = name.partition(":")
    tables = [each for each in ANNOTATION_TABLES if not table or each == table]
    found = [each for each in tables if name in ledger.keys(each)]
    if not found and colon:
        found = [each for each in tables if WORD_FOR[each] == word and rest in ledger.keys(each)]
        name = rest if found else name
    if len(found) > 1:
        ways = " or ".join(f"{WORD_FOR[each]}:{name}" for each in found)
        raise BadAnnotation(f"'{ledger.slug}' has more than one row called '{name}'. Write {ways}.")
    if not found:
        known = [key for each in tables[1:] for key in sorted(ledger.keys(each))]
        raise NoSuchRow(WORD_FOR.get(table, "row"), name, ledger.slug, known)
    return found[0], name


def _head(revision: Revision) -> Head:
    return Head(revision.number, revision.who, revision.when, revision.why, revision.undoes)


def _with_changes(ledger: Ledger, revisions: Sequence[Revision]) -> list[tuple[Revision, tuple[RowChange, ...]]]:
    """Pair each revision with what each of its rows was before, and is after it."""
    if not revisions:
        return []
    touched = {(edit.table, edit.key) for revision in revisions for edit in revision.edits}
    before = ledger.state(revisions[0].number - 1, touched).rows
    present: dict[RowName, Record | None] = {(table, key): before[table].get(key) for table, key in touched}
    told = []
    for revision in revisions:
        changes = []
        for edit in revision.edits:
            changes.append(RowChange(edit.table, edit.key, present[edit.table, edit.key], edit.record))
            present[edit.table, edit.key] = edit.record
        told.append((revision, tuple(changes)))
    return told
