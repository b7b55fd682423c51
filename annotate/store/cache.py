"""Copies on this machine of files that are kept in an object store: what has to be played or decoded from a path.

They lie in the user's cache folder (``LAYAKOSH_CACHE``, else ``XDG_CACHE_HOME``, else ``~/.cache``), and those not used
for longest go when they take more than :data:`MOST_BYTES`.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
from collections.abc import Iterable
from pathlib import Path

from annotate.files import STRAY_PREFIX, make_folders, replacing, sweep_strays

MOST_BYTES = 4 << 30


def home() -> Path:
    """Return the folder of all caches."""
    told = os.environ.get("LAYAKOSH_CACHE")
    return Path(told) if told else Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "layakosh"


class Cache:
    """The cache of one store."""

    def __init__(self, place: str) -> None:
        self.folder = home() / hashlib.sha256(place.encode()).hexdigest()[:24]

    def get(self, name: str, stamp: str, pieces: Iterable[bytes]) -> Path:
        """Return the path of a copy, made of the pieces unless it is there.

        Parameters
        ----------
        name, stamp : str
            The file, and what tells its content from an earlier one.
        pieces : iterable of bytes
            Its content, fetched as it is asked for.
        """
        digest = hashlib.sha256(f"{name}\n{stamp}".encode()).hexdigest()[:24]
        path = self.folder / f"{digest}{Path(name).suffix}"
        if path.is_file():
            with contextlib.suppress(OSError):
                os.utime(path)
            return path
        make_folders(self.folder)
        sweep_strays(self.folder)
        with replacing(path) as out:
            for piece in pieces:
                out.write(piece)
        self._shrink(path)
        return path

    def _shrink(self, keep: Path) -> None:
        there = [path for path in self.folder.iterdir() if not path.name.startswith(STRAY_PREFIX)]
        with contextlib.suppress(OSError):
            by_use = sorted(((path.stat().st_mtime, path.stat().st_size, path) for path in there), reverse=True)
            used = 0
            for _when, size, path in by_use:
                used += size
                if used > MOST_BYTES and path != keep:
                    path.unlink(missing_ok=True)
