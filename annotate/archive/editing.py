"""Writing edits: each is one revision, created exclusively; of two who write at once one goes on top or is told."""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from datetime import UTC, datetime

from annotate import revisions, snapshots
from annotate.archive.measured import Measured
from annotate.errors import ArchiveError, BadAnnotation, CannotWrite, ConflictingEdit
from annotate.history import ledger
from annotate.records import Record
from annotate.revisions import Edit, Revision
from annotate.state import check_edits, replay


class Editing(Measured):
    """An archive that is written to."""

    def commit(
        self, slug: str, edits: Sequence[Edit], who: str, why: str, parent: int | None = None, *, undoes: int = 0
    ) -> int:
        """Write edits to one recording as one revision: all of them, durably, or none.

        Parameters
        ----------
        slug : str
            The recording; its first revision must add the recording itself.
        edits : sequence of Edit
            See :func:`annotate.revisions.add`, ``change`` and ``withdraw``.
        who, why : str
            Kept with the revision.
        parent : int, optional
            The revision that the edits were made on; the latest by default. When other people have written since, and
            touched none of these rows, the edits are made on top of theirs.
        undoes : int
            The revision that this takes back, kept with it.

        Returns
        -------
        int
            The number of the new revision.

        Raises
        ------
        ConflictingEdit
            Somebody changed one of these rows after ``parent``; it names both versions.
        BadAnnotation, NoSuchRow, NoSuchRecording, WithdrawnRecording
            The edits do not fit the present state. Nothing is written.
        CannotWrite
            The disk is full, the folder is read-only, the store cannot be reached. Nothing is written.
        """
        edits = tuple(edits)
        while True:
            state = self._state(slug)
            if state.revision == 0 and not any(edit.table == "recordings" and edit.action == "add" for edit in edits):
                self.state(slug)  # says that there is no such recording
            if state.withdrawn and undoes != state.revision:
                self.state(slug)  # says that it is withdrawn; only what takes that back is written
            parent = state.revision if parent is None else parent
            if parent > state.revision:
                raise BadAnnotation(
                    f"'{slug}' has no revision {parent}; its latest is {state.revision}. Read it again."
                )
            self._refuse_conflicts(slug, edits, parent, state.revision)
            check_edits(state, edits)
            now = datetime.now(UTC).replace(microsecond=0)
            revision = Revision(state.revision + 1, state.revision, who, now, why, edits, undoes)
            try:
                self.store.announce(f"recordings/{slug}")
                revisions.write(self._revisions(slug), slug, revision)
            except FileExistsError:
                continue  # somebody was faster: read what they did and look again
            except OSError as error:
                raise CannotWrite(f"The edit of '{slug}'", error) from error
            after = replay(state, [revision])
            if (self._states.get(slug) or state).revision <= state.revision:
                self._states.keep(slug, after)
            if after.revision % snapshots.EVERY == 0:
                snapshots.write(self._place(slug), after)
            self._keep_ledger(slug, after.revision)
            return revision.number

    def signature(self, who: str) -> str:
        """Return the name that what somebody writes is signed with; an archive that is shared asks who is at hand."""
        return who

    def withdraw(
        self, slug: str, table: str, key: str, *, who: str, why: str = "withdrawn", parent: int | None = None
    ) -> int:
        """Take a tihai, phrase, section or marked sam out of the present state; its history stays."""
        return self.commit(slug, [revisions.withdraw(table, key)], who, why, parent)

    def _keep_ledger(self, slug: str, revision: int) -> None:
        """Now and then bind what was added to a ledger; one that is far behind is left to whoever asks for history."""
        if revision % ledger.EVERY == ledger.EVERY // 2:
            with contextlib.suppress(ArchiveError, OSError):  # the edit is written, whatever comes of this
                if revision - ledger.bound(self._place(slug)) <= 2 * ledger.EVERY:
                    self.ledger(slug)

    def _refuse_conflicts(self, slug: str, edits: Sequence[Edit], parent: int, latest: int) -> None:
        mine: dict[tuple[str, str], Record | None] = {(edit.table, edit.key): edit.record for edit in edits}
        for revision in reversed(revisions.read_since(self._revisions(slug), parent, latest)):
            for theirs in revision.edits:
                if (theirs.table, theirs.key) in mine:
                    raise ConflictingEdit(
                        slug,
                        theirs.table,
                        theirs.key,
                        theirs=theirs.record,
                        mine=mine[theirs.table, theirs.key],
                        who=revision.who,
                        when=f"{revision.when:%Y-%m-%d %H:%M} UTC",
                        their_revision=revision.number,
                    )
