"""A store that is a prefix in a bucket of an object store (S3 protocol), by the library ``obstore``.

A new file is created by a conditional put (``If-None-Match: *``), which the store refuses when the name is taken: of
two writers one wins, as on a disk. A put is durable when it returns.

An object store has no folder times, and listing every recording would take minutes. So a writer first replaces a small
file ``announced/<folder>``; one listing of these tells in which folders something may have been created since.
"""

from __future__ import annotations

import io
import os
import secrets
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, BinaryIO

from annotate.errors import ArchiveError, OutOfReach
from annotate.store.base import Entry, Stamp, checked
from annotate.store.cache import Cache
from annotate.store.object_errors import in_words

SETTLED_S = 3600.0
"""Age from which on an announcement tells of something that was created or given up: a put takes a minute at most, and
the rest is for clocks that differ."""
ANNOUNCE_AGAIN_S = 600.0
"""So long a process trusts an announcement of its own."""
PATIENCE_S = 60
"""So long an answer is waited for, repetitions included."""
BLOCK = 1 << 18
"""Bytes fetched at a time of a file that is read here and there."""
PIECE = 8 << 20
"""Bytes of a piece of a large file that is fetched or sent."""


class ObjectStore:
    """A prefix in a bucket.

    Parameters
    ----------
    url : str
        ``s3://bucket/prefix``. Who may and where it is comes from the usual environment variables
        (``AWS_ACCESS_KEY_ID``, ``AWS_SECRET_ACCESS_KEY``, ``AWS_REGION``, ``AWS_ENDPOINT_URL``).
    """

    def __init__(self, url: str) -> None:
        try:
            from obstore.store import S3Store
        except ImportError:
            raise ArchiveError(
                f"{url} is in an object store, and the library for that is not installed. "
                "Install it: pip install 'layakosh[objects]'"
            ) from None
        self.place = url.rstrip("/")
        bucket, _, prefix = self.place.removeprefix("s3://").partition("/")
        plain = os.environ.get("AWS_ENDPOINT_URL_S3", os.environ.get("AWS_ENDPOINT_URL", "")).startswith("http://")
        self._bucket = S3Store(
            bucket,
            prefix=prefix or None,
            client_options={"allow_http": plain, "connect_timeout": "10s", "timeout": f"{PATIENCE_S}s"},
            retry_config={"max_retries": 4, "retry_timeout": timedelta(seconds=PATIENCE_S)},
        )
        self._announced: dict[str, float] = {}
        self._cache = Cache(self.place)

    def read(self, name: str) -> bytes:
        """Return a file's content."""
        with self._told(name):
            return bytes(self._bucket.get(checked(name)).bytes())

    def open(self, name: str) -> BinaryIO:
        """Open a file; what is read of it is fetched in ranges."""
        with self._told(name):
            size = self._bucket.head(checked(name))["size"]
        return io.BufferedReader(_Ranges(self, name, size), BLOCK)

    def fetch(self, name: str, start: int, length: int) -> bytes:
        """Return a range of a file."""
        with self._told(name):
            return bytes(self._bucket.get_range(checked(name), start=start, length=length))

    def local(self, name: str) -> Path:
        """Return the file in this machine's cache, fetched in pieces unless it is there already."""
        with self._told(name):
            about = self._bucket.head(checked(name))
        return self._cache.get(
            name,
            str(about["e_tag"]),
            (self.fetch(name, start, min(PIECE, about["size"] - start)) for start in range(0, about["size"], PIECE)),
        )

    def stamp(self, name: str) -> str:
        """Return the entity tag, time and length of a file; empty when it is missing."""
        try:
            with self._told(name):
                return _entry(self._bucket.head(checked(name))).stamp
        except FileNotFoundError:
            return ""

    def files(self, folder: str, after: str = "") -> list[Entry]:
        """Return the files in a folder itself."""
        prefix = checked(folder) if folder else ""
        with self._told(folder):
            if not prefix:
                found = self._bucket.list_with_delimiter("")["objects"]
            else:
                found = self._bucket.list(prefix, offset=f"{prefix}/{after}" if after else None).collect()
        depth = prefix.count("/") + 1 if prefix else 0
        return sorted((_entry(each) for each in found if each["path"].count("/") == depth), key=lambda each: each.name)

    def folders(self, folder: str) -> list[str]:
        """Return the folders in a folder."""
        with self._told(folder):
            found = self._bucket.list_with_delimiter(checked(folder) if folder else "")["common_prefixes"]
        return sorted(each.rstrip("/").rpartition("/")[2] for each in found)

    def walk(self, folder: str = "") -> list[Entry]:
        """Return every file below a folder."""
        with self._told(folder):
            found = self._bucket.list(checked(folder) if folder else None).collect()
        return sorted((_entry(each) for each in found), key=lambda entry: entry.name)

    def create_exclusively(self, name: str, content: bytes) -> None:
        """Write a new file by a conditional put.

        A put whose answer was lost is sent again, and then finds its own file: it is told by its content, which no two
        writers share. So it is looked for also when the store does not answer any more.
        """
        from obstore.exceptions import AlreadyExistsError, PreconditionError

        try:
            with self._told(name):
                self._bucket.put(checked(name), content, mode="create", use_multipart=False)
        except (AlreadyExistsError, PreconditionError):
            try:
                there = self.read(name)
            except FileNotFoundError:  # of two at the same moment both were refused: look again
                there = b""
            if there != content:
                raise FileExistsError(name) from None
        except OutOfReach as error:
            if not self._was_put(name, content, error):
                raise

    def _was_put(self, name: str, content: bytes, error: OutOfReach) -> bool:
        """Tell whether a put was done although no answer came; note in the error when that cannot be told."""
        try:
            return self.read(name) == content
        except FileNotFoundError:
            return False
        except OutOfReach:
            error.unsure = True
            return False

    def replace(self, name: str, content: bytes, *, durable: bool = False) -> None:  # noqa: ARG002 - always durable
        """Write or overwrite a file."""
        with self._told(name):
            self._bucket.put(checked(name), content, use_multipart=len(content) > PIECE)

    @contextmanager
    def writing(self, name: str) -> Iterator[BinaryIO]:
        """Write a file piece by piece on this machine, and send it when it is whole."""
        with tempfile.TemporaryDirectory(prefix="layakosh-") as folder:
            path = Path(folder) / "file"
            with path.open("xb") as out:
                yield out
            self.put_file(name, path)

    def put_file(self, name: str, path: Path) -> None:
        """Send a file, in pieces where it is large."""
        with self._told(name):
            self._bucket.put(checked(name), path, chunk_size=PIECE)

    def delete(self, name: str) -> None:
        """Remove a file."""
        with self._told(name):
            self._bucket.delete(checked(name))

    def drop_folder(self, folder: str) -> None:
        """Nothing: a folder is no more than the names of its files."""

    def sweep(self, folder: str) -> None:
        """Nothing: a put that was broken off leaves nothing behind."""

    def announce(self, folder: str) -> None:
        """Say that something is about to be created in a folder, unless this process said so minutes ago."""
        now = time.monotonic()
        if now - self._announced.get(folder, -ANNOUNCE_AGAIN_S) >= ANNOUNCE_AGAIN_S:
            self.replace(f"announced/{checked(folder)}", secrets.token_bytes(8))
            self._announced[folder] = now

    def stamps(self, parent: str, inside: Sequence[str]) -> dict[str, Stamp]:  # noqa: ARG002 - announced as a whole
        """Return the announcements of the folders in ``parent``; one without any was never written by this program."""
        stamps = {name: Stamp("", True) for name in self.folders(parent)}
        now = datetime.now(UTC)
        with self._told(parent):
            found = self._bucket.list(f"announced/{checked(parent)}").collect()
        for each in found:
            settled = (now - each["last_modified"]).total_seconds() > SETTLED_S
            stamps[each["path"].rpartition("/")[2]] = Stamp(f"{each['e_tag']}{each['last_modified']}", settled)
        return stamps

    @contextmanager
    def _told(self, name: str) -> Iterator[None]:
        """Turn the library's errors into those of :mod:`annotate.store.base`."""
        from obstore.exceptions import AlreadyExistsError, BaseError, PreconditionError

        try:
            yield
        except (AlreadyExistsError, PreconditionError):
            raise
        except BaseError as error:
            raise in_words(self.place, name, error) from error


class _Ranges(io.RawIOBase):
    """A file of an object store as Python reads files."""

    def __init__(self, store: ObjectStore, name: str, size: int) -> None:
        self._store, self._name, self._size, self._at = store, name, size, 0

    def readable(self) -> bool:
        return True

    def seekable(self) -> bool:
        return True

    def seek(self, offset: int, whence: int = io.SEEK_SET) -> int:
        start = {io.SEEK_SET: 0, io.SEEK_CUR: self._at, io.SEEK_END: self._size}[whence]
        self._at = max(0, start + offset)
        return self._at

    def tell(self) -> int:
        return self._at

    def readinto(self, buffer: Any) -> int:
        length = min(len(buffer), self._size - self._at)
        if length <= 0:
            return 0
        content = self._store.fetch(self._name, self._at, length)
        buffer[: len(content)] = content
        self._at += len(content)
        return len(content)


def _entry(about: Any) -> Entry:
    return Entry(about["path"], about["size"], f"{about['e_tag']}-{about['last_modified']}-{about['size']}")
