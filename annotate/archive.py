"""The archive: a folder of recordings with their annotations, evidence and index.

::

    <archive>/
      archive.toml                        schema version; by which school's names the laya of gats is called
      recordings/<slug>/
        revisions/00000042.parquet        what each edit did; created exclusively, never changed
        snapshots/, ledger/               the state now and then; all revisions in one table; derived
        evidence/<kind>.parquet           made by ingest, can always be made again; the grid that follows is with it
        sound/                            the listening copy
      unfinished/                         what a taking in has done so far; nobody else reads it
      compositions/<key>/00000001.toml    tihais on paper that people keep (:mod:`annotate.compositions`)
      index/<table>.parquet               the present state of all recordings; derived

An edit is safe without locks: it creates revision parent + 1 exclusively. If somebody was faster, the archive looks
at what they did: when they touched other rows the edit is made again on top of theirs, else it is refused with both
versions. Opening an archive writes nothing.
"""

from __future__ import annotations

import contextlib
import difflib
import hashlib
import threading
from collections.abc import Callable, Collection, Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from annotate import evidence_store, levels_store, lookout, melody_store, revisions, snapshots
from annotate.card import has_card, school_of, write_card
from annotate.errors import (
    ArchiveError,
    BadAnnotation,
    BadName,
    CannotWrite,
    ConflictingEdit,
    DamagedRevision,
    NoSuchRecording,
    NotAnArchive,
    OnlyOnDisk,
)
from annotate.history import ledger
from annotate.history.ledger import Ledger
from annotate.kept import Kept
from annotate.levels_store import Waveform
from annotate.lookout import Seen
from annotate.records import Record
from annotate.revisions import Edit, Revision
from annotate.slugs import is_slug
from annotate.state import State, check_edits, empty, replay
from annotate.store.base import Store
from annotate.store.cache import home
from annotate.store.disk import DiskStore
from annotate.store.folder import Folder
from annotate.store.opening import store_at
from ingest.evidence import Evidence
from ingest.melody import Melody

if TYPE_CHECKING:
    import pandas as pd
    import pyarrow as pa

    from annotate.grid import RecordingGrid


class Archive:
    """An archive that exists. Make one with :meth:`create`, open one with :meth:`open`.

    One object may be used from several threads: states are values, and each edit is one file.
    """

    def __init__(self, store: Store) -> None:
        self.store = store
        self._states: Kept[State] = Kept()
        self._seen: dict[str, Seen] = {}
        self._held = threading.local()
        self._ledgers: Kept[Ledger] = Kept()
        self._grids: Kept[RecordingGrid] = Kept()
        self._index_cache: dict[str, object] = {}
        self.tell_reading: Callable[[float], None] | None = None
        """Told the share done, 0 to 1, while the index is made of many recordings that it has not seen."""

    @classmethod
    def create(cls, path: str | Path, tempo_school: str = "") -> Archive:
        """Make an archive in a folder that is missing or empty, and open it; an archive that exists is opened.

        Raises
        ------
        NotAnArchive
            The path is a file, or a folder that holds something else. It is left as it was.
        """
        return cls.open(path, create=True, tempo_school=tempo_school)

    @classmethod
    def open(cls, path: str | Path, create: bool = False, tempo_school: str = "") -> Archive:
        """Open an archive. Nothing is written unless ``create`` is true and the folder is missing or empty.

        A new archive keeps ``tempo_school`` as its own, where one is given; see :attr:`tempo_school`.

        Raises
        ------
        NotAnArchive
            The folder is missing, empty (and ``create`` is false), or is something else.
        NewerArchive
            It was written by a newer version of this program.
        """
        store = store_at(path)
        if has_card(store):
            return cls(store)
        if isinstance(store, DiskStore) and store.folder.exists() and not store.folder.is_dir():
            raise NotAnArchive(f"{path} is a file, not an archive folder. Name another place with --archive.")
        if store.folders("") or store.files(""):
            raise NotAnArchive(
                f"{path} holds other files and no archive.toml, so it is not an archive. It was left as it is: "
                "name an archive, or a new or empty folder, with --archive."
            )
        if not create:
            state = "is empty" if not isinstance(store, DiskStore) or store.folder.exists() else "does not exist"
            raise NotAnArchive(
                f"The archive folder {path} {state}. Take a recording in to begin one, or name another with --archive."
            )
        try:
            write_card(store, tempo_school)
        except OSError as error:
            raise CannotWrite(f"The archive {path}", error) from error
        return cls(store)

    @property
    def tempo_school(self) -> str:
        """The school by whose names the laya of gats is called: what the archive's card says, else the usual one.

        Raises
        ------
        BadCard
            The card names a school that is not known.
        """
        return school_of(self.store)

    @property
    def path(self) -> Path:
        """The archive's folder on the disk.

        Raises
        ------
        OnlyOnDisk
            It is in an object store.
        """
        if not isinstance(self.store, DiskStore):
            raise OnlyOnDisk(
                f"This needs an archive in a folder on a disk, and {self.store.place} is in an object store."
            )
        return self.store.folder

    @property
    def workshop(self) -> Path:
        """A folder on this machine's disk for work that is not finished: the archive's own, where it lies on a disk."""
        if isinstance(self.store, DiskStore):
            return self.store.folder
        return home() / "work" / hashlib.sha256(self.store.place.encode()).hexdigest()[:24]

    # -- reading -----------------------------------------------------------------------------------------------

    def slugs(self) -> list[str]:
        """Return the slugs of all recordings, sorted."""
        return sorted(self.latest_revisions())

    def latest_revisions(self) -> dict[str, int]:
        """Return the number of the latest revision of every recording, by slug."""
        return {slug: seen.revision for slug, seen in self.seen().items()}

    def seen(self) -> dict[str, Seen]:
        """Return the latest revision of every recording and the stamp of its evidence, by slug in order."""
        held: dict[str, Seen] | None = getattr(self._held, "seen", None)
        if held is not None:
            return held
        if not self._seen:
            from annotate.index import seen_before

            self._seen = seen_before(self)
        self._seen = lookout.look(self.store, self._seen)
        return self._seen

    @contextlib.contextmanager
    def one_look(self) -> Iterator[None]:
        """Look once for what others have written, for all tables that this thread reads inside.

        A look at ten thousand recordings takes a tenth of a second, and what is counted from several tables had better
        be of one moment.
        """
        if getattr(self._held, "seen", None) is not None:
            yield
            return
        self._held.seen = self.seen()
        try:
            yield
        finally:
            self._held.seen = None

    def __contains__(self, slug: object) -> bool:
        return isinstance(slug, str) and is_slug(slug) and self._latest(slug) > 0

    def state(self, slug: str) -> State:
        """Return what people say of a recording, as of its latest revision.

        Raises
        ------
        NoSuchRecording
            With the nearest slugs.
        DamagedRevision
            A revision file cannot be read.
        """
        state = self._state(slug)
        if state.revision == 0:
            raise NoSuchRecording(slug, difflib.get_close_matches(slug, self.slugs(), n=3, cutoff=0.5))
        if slug not in state.rows["recordings"]:
            raise DamagedRevision(
                f"{self.store.place}/recordings/{slug} has no revision that tells of the recording itself: the folder "
                "was given another name, or its first revision is not its own. Run 'layakosh check'."
            )
        return state

    def history(self, slug: str) -> list[Revision]:
        """Return every revision of a recording, oldest first."""
        return list(revisions.read_since(self._revisions(slug), 0, self.state(slug).revision))

    def ledger(self, slug: str) -> Ledger:
        """Return every revision of a recording as one table, which is quick after thousands of edits.

        Raises
        ------
        NoSuchRecording, DamagedRevision
            As :meth:`state`.
        """
        latest = self.state(slug).revision
        known = self._ledgers.get(slug)
        present = ledger.up_to_date(self._place(slug), slug, latest, known)
        self._ledgers.keep(slug, present)
        return present

    def evidence(self, slug: str) -> Evidence | None:
        """Return what ingest measured; None for a recording without sound."""
        return evidence_store.load(self.evidence_folder(slug))

    def not_measured(self) -> list[str]:
        """Return the slugs of the recordings that have sound and no evidence at all; told without opening a file."""
        rows = self.table("recordings", ["recording", "audio_sha256"])
        sounds = dict(zip(rows["recording"].to_pylist(), rows["audio_sha256"].to_pylist(), strict=True))
        return [slug for slug, seen in self.seen().items() if sounds.get(slug) and not seen.evidence]

    def without_evidence(self) -> list[str]:
        """Return the slugs of the recordings that have sound, and no evidence or melody that this version can read.

        The end of every file is read: some milliseconds a recording.
        """
        folders = {slug: self.evidence_folder(slug) for slug in self.slugs()}
        return [
            slug
            for slug, folder in folders.items()
            if not (evidence_store.is_there(folder) and melody_store.is_there(folder))
            and self.state(slug).recording.audio_sha256
        ]

    def melody(self, slug: str) -> Melody | None:
        """Return the course of the lead's melody; None where it was not followed."""
        return melody_store.load(self.evidence_folder(slug))

    def waveform(self, slug: str, start_s: float, end_s: float, points: int) -> Waveform | None:
        """Return a stretch of the waveform, with so many points; None where there is none.

        What is too short for the kept levels is drawn from the listening copy, where there is one.
        """
        folder = self.evidence_folder(slug)
        return levels_store.waveform(folder, start_s, end_s, points, lambda: self.sound_path(slug))

    def sound_path(self, slug: str) -> Path | None:
        """Return the path of the listening copy, fetched from an object store; None when the archive keeps none."""
        audio_path = self.state(slug).recording.audio_path
        try:
            return self.store.local(audio_path) if audio_path else None
        except (FileNotFoundError, BadName):
            return None

    def has_sound(self, slug: str) -> bool:
        """Tell whether the archive keeps a listening copy, without fetching it."""
        audio_path = self.state(slug).recording.audio_path
        try:
            return bool(audio_path and self.store.stamp(audio_path))
        except BadName:
            return False

    def originals(self, slug: str) -> list[str]:
        """Return the names, in the store, of the files that the recording was taken in from, where they are kept."""
        entries = self.store.files(f"{self._place(slug).name}/sound")
        return [entry.name for entry in entries if "-original-" in entry.last]

    def grid(self, slug: str) -> RecordingGrid:
        """Return the grid of a recording, fitted again when its sections, marked sams or evidence have changed."""
        from annotate.grid_store import present_grid

        grid = present_grid(self.state(slug), self.evidence_folder(slug), self._grids.get(slug))
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

    def folder(self, slug: str) -> Path:
        """Return the folder of a recording on the disk, existing or not (see :attr:`path`)."""
        self._place(slug)
        return self.path / "recordings" / slug

    def evidence_folder(self, slug: str) -> Path | Folder:
        """Return where the evidence of a recording is kept, for the functions that read and write it."""
        return self.folder(slug) / "evidence" if isinstance(self.store, DiskStore) else self._place(slug) / "evidence"

    # -- writing -----------------------------------------------------------------------------------------------

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
        BadAnnotation, NoSuchRow, NoSuchRecording
            The edits do not fit the present state. Nothing is written.
        CannotWrite
            The disk is full, the folder is read-only, the store cannot be reached. Nothing is written.
        """
        edits = tuple(edits)
        while True:
            state = self._state(slug)
            if state.revision == 0 and not any(edit.table == "recordings" and edit.action == "add" for edit in edits):
                self.state(slug)  # says that there is no such recording
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

    # -- inside ------------------------------------------------------------------------------------------------

    def _place(self, slug: str) -> Folder:
        if not is_slug(slug):
            raise NoSuchRecording(slug)
        return Folder(self.store, f"recordings/{slug}")

    def _revisions(self, slug: str) -> Folder:
        return self._place(slug) / "revisions"

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
