"""Where an archive lies, and which recordings are in it."""

from __future__ import annotations

import contextlib
import hashlib
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

from annotate import lookout
from annotate.card import school_of
from annotate.errors import NoSuchRecording, OnlyOnDisk
from annotate.lookout import Seen
from annotate.slugs import is_slug
from annotate.store.base import Store
from annotate.store.cache import home
from annotate.store.disk import DiskStore
from annotate.store.folder import Folder


class Place:
    """Where an archive lies, and which recordings are in it, looked at anew whenever that is asked."""

    def __init__(self, store: Store) -> None:
        self.store = store
        self._seen: dict[str, Seen] = {}
        self._held = threading.local()
        self.tell_reading: Callable[[float], None] | None = None
        """Told the share done, 0 to 1, while the index is made of many recordings that it has not seen."""

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

    def slugs(self) -> list[str]:
        """Return the slugs of all recordings, sorted."""
        return sorted(self.latest_revisions())

    def latest_revisions(self) -> dict[str, int]:
        """Return the number of the latest revision of every recording, by slug."""
        return {slug: seen.revision for slug, seen in self.seen().items()}

    def seen(self) -> dict[str, Seen]:
        """Return the latest revision of every recording and the stamp of its evidence, by slug in order.

        Those that have been withdrawn are left out here, and so everywhere else.
        """
        return {slug: seen for slug, seen in self._looked().items() if not seen.withdrawn}

    def withdrawn_slugs(self) -> list[str]:
        """Return the slugs of the recordings that have been withdrawn, sorted."""
        return [slug for slug, seen in self._looked().items() if seen.withdrawn]

    def _looked(self) -> dict[str, Seen]:
        held: dict[str, Seen] | None = getattr(self._held, "seen", None)
        if held is not None:
            return held
        if not self._seen:
            from annotate.index import seen_before

            self._seen = seen_before(self.store)
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
        self._held.seen = self._looked()
        try:
            yield
        finally:
            self._held.seen = None

    def folder(self, slug: str) -> Path:
        """Return the folder of a recording on the disk, existing or not (see :attr:`path`)."""
        self._place(slug)
        return self.path / "recordings" / slug

    def evidence_folder(self, slug: str) -> Path | Folder:
        """Return where the evidence of a recording is kept, for the functions that read and write it."""
        return self.folder(slug) / "evidence" if isinstance(self.store, DiskStore) else self._place(slug) / "evidence"

    def _place(self, slug: str) -> Folder:
        if not is_slug(slug):
            raise NoSuchRecording(slug)
        return Folder(self.store, f"recordings/{slug}")

    def _revisions(self, slug: str) -> Folder:
        return self._place(slug) / "revisions"
