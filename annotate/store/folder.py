"""A folder of a store: what is handed to code that keeps a handful of files and need not know where."""

from __future__ import annotations

from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from annotate.store.base import Entry, Store
from annotate.store.disk import DiskStore


@dataclass(frozen=True)
class Folder:
    """A folder of a store; it need not exist. ``name`` is empty for the store itself."""

    store: Store
    name: str = ""

    def __truediv__(self, part: str) -> Folder:
        """Return a folder in this one."""
        return Folder(self.store, self._of(part))

    def read(self, file: str) -> bytes:
        """Return a file's content."""
        return self.store.read(self._of(file))

    def open(self, file: str) -> BinaryIO:
        """Open a file for reading here and there."""
        return self.store.open(self._of(file))

    def files(self, after: str = "") -> list[Entry]:
        """Return the files in the folder; only those whose last part comes after ``after``."""
        return self.store.files(self.name, after)

    def create_exclusively(self, file: str, content: bytes) -> None:
        """Write a new file durably, or raise ``FileExistsError``."""
        self.store.create_exclusively(self._of(file), content)

    def delete(self, file: str) -> None:
        """Remove a file."""
        self.store.delete(self._of(file))

    def words(self, file: str = "") -> str:
        """Return where a file is, for a message."""
        return "/".join(part for part in (self.store.place, self.name, file) if part)

    def replace(self, file: str, content: bytes) -> None:
        """Write or overwrite a file."""
        self.store.replace(self._of(file), content)

    def writing(self, file: str) -> AbstractContextManager[BinaryIO]:
        """Write or overwrite a file piece by piece; it takes its name when all of it was written."""
        return self.store.writing(self._of(file))

    def put_file(self, file: str, path: Path) -> None:
        """Write or overwrite a file with the content of one on this machine."""
        self.store.put_file(self._of(file), path)

    def stamp(self, file: str) -> str:
        """Return a text that changes whenever a file is written; empty when it is missing."""
        return self.store.stamp(self._of(file))

    def _of(self, part: str) -> str:
        return f"{self.name}/{part}" if self.name else part


def as_folder(place: Path | Folder) -> Folder:
    """Return a folder for a path on the disk, or the folder itself."""
    return place if isinstance(place, Folder) else Folder(DiskStore(place))
