"""The archive: a folder of recordings with their annotations, evidence and index.

::

    <archive>/
      archive.toml                        name, schema version
      recordings/<slug>/
        revisions/00000042.parquet        what each edit did; created exclusively, never changed
        evidence/<kind>.parquet           made by ingest, can always be made again; the grid that follows is with it
        sound/                            the listening copy
      unfinished/                         what a taking in has done so far; nobody else reads it
      index/<table>.parquet               the present state of all recordings; derived

An edit is safe without locks: it creates revision parent + 1 exclusively. If somebody was faster, the archive looks
at what they did: when they touched other rows the edit is made again on top of theirs, else it is refused with both
versions. Opening an archive writes nothing.
"""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from annotate import evidence_store, levels_store, melody_store, revisions
from annotate.errors import BadAnnotation, ConflictingEdit, NewerArchive, NoSuchRecording, NotAnArchive
from annotate.files import STRAY_PREFIX, create_exclusively, make_folders
from annotate.levels_store import Waveform
from annotate.records import Record
from annotate.revisions import Edit, Revision
from annotate.schema import SCHEMA_VERSION
from annotate.slugs import is_slug
from annotate.state import State, check_edits, empty, replay
from ingest.evidence import Evidence
from ingest.melody import Melody

if TYPE_CHECKING:
    import pandas as pd

    from annotate.grid import RecordingGrid

_CARD = "archive.toml"


class Archive:
    """An archive that exists on disk. Make one with :meth:`create`, open one with :meth:`open`.

    One object may be used from several threads: states are values, and each edit is one file.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._states: dict[str, State] = {}
        self._grids: dict[str, RecordingGrid] = {}
        self._index_cache: dict[str, object] = {}

    @classmethod
    def create(cls, path: str | Path) -> Archive:
        """Make an archive in a folder that is missing or empty, and open it; an archive that exists is opened.

        Raises
        ------
        NotAnArchive
            The path is a file, or a folder that holds something else. It is left as it was.
        """
        return cls.open(path, create=True)

    @classmethod
    def open(cls, path: str | Path, create: bool = False) -> Archive:
        """Open an archive. Nothing is written unless ``create`` is true and the folder is missing or empty.

        Raises
        ------
        NotAnArchive
            The folder is missing, empty (and ``create`` is false), or is something else.
        NewerArchive
            It was written by a newer version of this program.
        """
        path = Path(path)
        card = path / _CARD
        if path.exists() and not path.is_dir():
            raise NotAnArchive(f"{path} is a file, not an archive folder. Name another place with --archive.")
        if card.is_file():
            _check_card(card)
            return cls(path)
        if path.exists() and any(not entry.name.startswith(STRAY_PREFIX) for entry in path.iterdir()):
            raise NotAnArchive(
                f"{path} holds other files and no {_CARD}, so it is not an archive. It was left as it is: "
                "name an archive, or a new or empty folder, with --archive."
            )
        if not create:
            state = "is empty" if path.exists() else "does not exist"
            raise NotAnArchive(
                f"The archive folder {path} {state}. Take a recording in to begin one, or name another with --archive."
            )
        _write_card(path)
        return cls(path)

    # -- reading -----------------------------------------------------------------------------------------------

    def slugs(self) -> list[str]:
        """Return the slugs of all recordings, sorted."""
        return sorted(self.latest_revisions())

    def latest_revisions(self) -> dict[str, int]:
        """Return the number of the latest revision of every recording, by slug."""
        folder = self.path / "recordings"
        names = [entry.name for entry in folder.iterdir()] if folder.is_dir() else []
        latest = {name: self._latest(name) for name in names if is_slug(name)}
        return {name: number for name, number in latest.items() if number > 0}

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
        return state

    def history(self, slug: str) -> list[Revision]:
        """Return every revision of a recording, oldest first."""
        return list(revisions.read_since(self._revisions(slug), 0, self.state(slug).revision))

    def evidence(self, slug: str) -> Evidence | None:
        """Return what ingest measured; None for a recording without sound."""
        return evidence_store.load(self.folder(slug) / "evidence")

    def without_evidence(self) -> list[str]:
        """Return the slugs of the recordings that have sound, and no evidence or melody that this version can read."""
        folders = {slug: self.folder(slug) / "evidence" for slug in self.slugs()}
        return [
            slug
            for slug, folder in folders.items()
            if not (evidence_store.is_there(folder) and melody_store.is_there(folder))
            and self.state(slug).recording.audio_sha256
        ]

    def melody(self, slug: str) -> Melody | None:
        """Return the course of the lead's melody; None where it was not followed."""
        return melody_store.load(self.folder(slug) / "evidence")

    def waveform(self, slug: str, start_s: float, end_s: float, points: int) -> Waveform | None:
        """Return a stretch of the waveform, with so many points; None where there is none.

        What is too short for the kept levels is drawn from the listening copy, where there is one.
        """
        return levels_store.waveform(self.folder(slug) / "evidence", start_s, end_s, points, self.sound_path(slug))

    def sound_path(self, slug: str) -> Path | None:
        """Return the path of the listening copy; None when the archive keeps none."""
        audio_path = self.state(slug).recording.audio_path
        path = self.path / audio_path
        return path if audio_path and path.is_file() and path.resolve().is_relative_to(self.path.resolve()) else None

    def grid(self, slug: str) -> RecordingGrid:
        """Return the grid of a recording, fitted again when its sections, marked sams or evidence have changed."""
        from annotate.grid_store import present_grid

        state, evidence_folder = self.state(slug), self.folder(slug) / "evidence"
        grid = present_grid(state, evidence_folder, self._grids.get(slug))
        self._grids[slug] = grid
        return grid

    def index(self, table: str) -> pd.DataFrame:
        """Return a table of the present state of all recordings (see :mod:`annotate.schema`), brought up to date."""
        from annotate.index import up_to_date

        return up_to_date(self, table, self._index_cache).to_pandas()

    def folder(self, slug: str) -> Path:
        """Return the folder of a recording, existing or not."""
        if not is_slug(slug):
            raise NoSuchRecording(slug)
        return self.path / "recordings" / slug

    # -- writing -----------------------------------------------------------------------------------------------

    def commit(self, slug: str, edits: Sequence[Edit], who: str, why: str, parent: int | None = None) -> int:
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
            revision = Revision(state.revision + 1, state.revision, who, now, why, edits)
            try:
                revisions.write(self._revisions(slug), slug, revision)
            except FileExistsError:
                continue  # somebody was faster: read what they did and look again
            if self._states.get(slug, state).revision <= state.revision:
                self._states[slug] = replay(state, [revision])
            return revision.number

    def withdraw(
        self, slug: str, table: str, key: str, *, who: str, why: str = "withdrawn", parent: int | None = None
    ) -> int:
        """Take a tihai, phrase, section or marked sam out of the present state; its history stays."""
        return self.commit(slug, [revisions.withdraw(table, key)], who, why, parent)

    # -- inside ------------------------------------------------------------------------------------------------

    def _revisions(self, slug: str) -> Path:
        return self.folder(slug) / "revisions"

    def _latest(self, slug: str) -> int:
        return revisions.latest_number(self._revisions(slug))

    def _state(self, slug: str) -> State:
        """Replay what this object has not seen yet. A snapshot on disk would replace ``empty`` here."""
        known = self._states.get(slug) or empty(slug)
        latest = self._latest(slug)
        if latest < known.revision:  # the folder was put back from a backup
            known = empty(slug)
        if latest > known.revision:
            known = replay(known, revisions.read_since(self._revisions(slug), known.revision, latest))
            self._states[slug] = known
        return known

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


def _write_card(path: Path) -> None:
    make_folders(path)
    content = (
        "# A Layakosh archive. Annotations are in recordings/*/revisions; index/ and evidence/ can be made again.\n"
        f"schema = {SCHEMA_VERSION}\n"
    )
    try:
        create_exclusively(path / _CARD, content.encode())
    except FileExistsError:
        _check_card(path / _CARD)


def _check_card(card: Path) -> None:
    try:
        schema = tomllib.loads(card.read_text("utf-8"))["schema"]
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, KeyError):
        raise NotAnArchive(
            f"{card} is not the card of an archive: a line 'schema = {SCHEMA_VERSION}' was expected. "
            "It was left as it is."
        ) from None
    if not isinstance(schema, int) or schema > SCHEMA_VERSION:
        raise NewerArchive(
            f"{card.parent} was written by a newer version (schema {schema}, this one reads up to {SCHEMA_VERSION}). "
            "Install that version to open it."
        )
