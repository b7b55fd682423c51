"""What an archive says of its recordings: states, histories, grids, and the index of all."""

from __future__ import annotations

import difflib
import threading
from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

from annotate import revisions, snapshots
from annotate.archive.place import Place
from annotate.errors import DamagedRevision, NoSuchRecording, WithdrawnRecording
from annotate.history import ledger
from annotate.history.ledger import Ledger
from annotate.history.points import moment_words
from annotate.kept import Kept
from annotate.revisions import Revision
from annotate.slugs import is_slug
from annotate.state import State, empty, replay
from annotate.store.base import Store

if TYPE_CHECKING:
    import pandas as pd
    import pyarrow as pa

    from annotate.grid import RecordingGrid


class Reading(Place):
    """An archive as it is read; what was read is remembered as far as it still holds."""

    def __init__(self, store: Store) -> None:
        super().__init__(store)
        self._states: Kept[State] = Kept()
        self._ledgers: Kept[Ledger] = Kept()
        self._grids: Kept[RecordingGrid] = Kept()
        self._fitting = threading.Lock()
        self._index_cache: dict[str, object] = {}

    def __contains__(self, slug: object) -> bool:
        if not isinstance(slug, str) or not is_slug(slug):
            return False
        latest = self._latest(slug)
        return latest > 0 and not revisions.withdraws_all(self._revisions(slug), latest)

    def is_taken(self, slug: str) -> bool:
        """Tell whether a recording goes by a slug, a withdrawn one too."""
        return self._latest(slug) > 0

    def state(self, slug: str) -> State:
        """Return what people say of a recording, as of its latest revision.

        Raises
        ------
        NoSuchRecording
            With the nearest slugs.
        WithdrawnRecording
            It has been withdrawn; :meth:`state_or_withdrawn` returns its state all the same.
        DamagedRevision
            A revision file cannot be read.
        """
        state = self.state_or_withdrawn(slug)
        if state.withdrawn:
            last = revisions.read(self._revisions(slug), state.revision)
            raise WithdrawnRecording(slug, last.who, moment_words(last.when))
        return state

    def state_or_withdrawn(self, slug: str) -> State:
        """Return the same as :meth:`state`, also of a withdrawn recording, whose own row is then missing."""
        state = self._state(slug)
        if state.revision == 0:
            raise NoSuchRecording(slug, difflib.get_close_matches(slug, self.slugs(), n=3, cutoff=0.5))
        if not state.withdrawn and slug not in state.rows["recordings"]:
            raise DamagedRevision(
                f"{self.store.place}/recordings/{slug} has no revision that tells of the recording itself: the folder "
                "was given another name, or its first revision is not its own. Run 'layakosh check'."
            )
        return state

    def history(self, slug: str) -> list[Revision]:
        """Return every revision of a recording, also of a withdrawn one, oldest first."""
        return list(revisions.read_since(self._revisions(slug), 0, self.state_or_withdrawn(slug).revision))

    def ledger(self, slug: str) -> Ledger:
        """Return every revision of a recording as one table, which is quick after thousands of edits.

        Also of one that has been withdrawn.

        Raises
        ------
        NoSuchRecording, DamagedRevision
            As :meth:`state`.
        """
        latest = self.state_or_withdrawn(slug).revision
        known = self._ledgers.get(slug)
        present = ledger.up_to_date(self._place(slug), slug, latest, known)
        self._ledgers.keep(slug, present)
        return present

    def grid(self, slug: str) -> RecordingGrid:
        """Return the grid of a recording, fitted again when its sections, marked sams or evidence have changed."""
        from annotate.grid_store import follows, present_grid

        folder, known = self.evidence_folder(slug), self._grids.get(slug)
        if known is not None and follows(known, self.state(slug), folder):
            return known
        with self._fitting:  # who waited here goes by the latest state: it may have been fitted meanwhile
            grid = present_grid(self.state(slug), folder, self._grids.get(slug))
            self._grids.keep(slug, grid)
        return grid

    def index(
        self, table: str, columns: Sequence[str] | None = None, recordings: Collection[str] | None = None
    ) -> pd.DataFrame:
        """Return a table of the present state of all recordings (see :mod:`annotate.schema`), brought up to date.

        ``columns`` and ``recordings`` narrow it before it is read, which a large archive is grateful for.
        """
        return self.table(table, columns, recordings).to_pandas()

    def table(
        self, table: str, columns: Sequence[str] | None = None, recordings: Collection[str] | None = None
    ) -> pa.Table:
        """Return the same as :meth:`index`, as a table of Arrow."""
        from annotate.index import up_to_date

        return up_to_date(self, table, self._index_cache, columns, recordings)

    def _latest(self, slug: str) -> int:
        known = self._states.get(slug)
        return revisions.latest_number(self._revisions(slug), known.revision if known is not None else 0)

    def _state(self, slug: str) -> State:
        """Replay what this object has not seen yet, from a snapshot on where there is one."""
        known = self._states.get(slug) or empty(slug)
        latest = self._latest(slug)
        if latest < known.revision:  # the folder was put back from a backup
            known = empty(slug)
        if latest > known.revision:
            if latest - known.revision > snapshots.EVERY:
                snapshot = snapshots.newest(self._place(slug), slug, latest)
                known = snapshot if snapshot is not None and snapshot.revision > known.revision else known
            behind = latest - known.revision
            known = replay(known, revisions.read_since(self._revisions(slug), known.revision, latest))
            if behind >= 2 * snapshots.EVERY:
                snapshots.write(self._place(slug), known)  # the ones there were are lost or damaged
            self._states.keep(slug, known)
            for folder in ("revisions", "snapshots", "ledger"):
                self.store.sweep(f"recordings/{slug}/{folder}")
        return known
