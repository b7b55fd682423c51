"""Practice sounds that were made, kept for a while in a folder of their own, away from the archive.

Making one takes seconds and some hundred megabytes, so that it is done in a process of its own, one at a time; what was
made last is kept, up to :data:`KEPT_BYTES`, and gone when the server ends.
"""

from __future__ import annotations

import shutil
import tempfile
import threading
import weakref
from collections import OrderedDict
from hashlib import sha256
from pathlib import Path

from annotate.beside import Beside
from annotate.practice.sounds.aside import make_sound
from annotate.practice.sounds.wishes import SoundWishes
from annotate.store.base import Store

KEPT_BYTES = 256 << 20
MOST_WAITING = 4
"""So many may wait for a sound; more would hold the server's threads, so they are told to ask again."""


class TooManyWaiting(Exception):
    """As many people as may are waiting for a sound."""


class MadeSounds:
    """Makes practice sounds and keeps those made last.

    Parameters
    ----------
    store : Store
        Where the archive lies.
    """

    def __init__(self, store: Store) -> None:
        self._place = store.place
        self._folder: Path | None = None
        self._kept: OrderedDict[str, Path] = OrderedDict()
        self._making, self._looking = threading.Lock(), threading.Lock()
        self._waiting = threading.BoundedSemaphore(MOST_WAITING)

    def get(self, address: str, revision: int, wishes: SoundWishes, ending: str) -> Path:
        """Return a sound of a piece as it is in a revision of its recording.

        Raises
        ------
        annotate.errors.ArchiveError
            It cannot be made as wished for.
        TooManyWaiting
            As many as may are waiting already.
        """
        key = sha256(repr((address, revision, wishes, ending)).encode()).hexdigest()[:32]
        found = self._found(key)
        if found is not None:
            return found
        if not self._waiting.acquire(blocking=False):
            raise TooManyWaiting
        try:
            with self._making:  # somebody else may have had it made meanwhile
                return self._found(key) or self._made(key, address, wishes, ending)
        finally:
            self._waiting.release()

    def _found(self, key: str) -> Path | None:
        with self._looking:
            path = self._kept.get(key)
            if path is not None:
                self._kept.move_to_end(key)
            return path

    def _made(self, key: str, address: str, wishes: SoundWishes, ending: str) -> Path:
        if self._folder is None:
            self._folder = Path(tempfile.mkdtemp(prefix="layakosh-sounds-"))
            weakref.finalize(
                self, shutil.rmtree, self._folder, ignore_errors=True
            )  # at the latest when the server ends
        path = self._folder / f"{key}.{ending}"
        Beside(make_sound, self._place, address, wishes, path).result()
        with self._looking:
            self._kept[key] = path
            while len(self._kept) > 1 and sum(each.stat().st_size for each in self._kept.values()) > KEPT_BYTES:
                self._kept.popitem(last=False)[1].unlink(missing_ok=True)
        return path
