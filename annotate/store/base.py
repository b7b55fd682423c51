"""The interface of a store: names like ``recordings/evening/revisions/00000001.parquet`` to bytes.

Conventions
-----------
* A name is relative to the archive, its parts divided by ``/``; a name that would leave the archive is refused
  (:func:`checked`). Folders need not be made.
* What is missing raises ``FileNotFoundError``, what is taken ``FileExistsError``, whatever else goes wrong (a full
  disk, a folder that cannot be written, a store that cannot be reached) another ``OSError``.
* A reader sees all of a content or none of it, whatever happens to a writer.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Protocol

from annotate.errors import BadName


@dataclass(frozen=True)
class Entry:
    """A file in a store: its name, its length in bytes, and a text that changes whenever it is written."""

    name: str
    size: int
    stamp: str

    @property
    def last(self) -> str:
        """The last part of its name."""
        return self.name.rpartition("/")[2]


@dataclass(frozen=True)
class Stamp:
    """What tells that nothing was created in a folder since it was looked at.

    ``settled`` is false while something may still be created under the same text: look again then.
    """

    text: str
    settled: bool


class Store(Protocol):
    """Files by name. The two backings keep the same promises; the tests hold both to them."""

    place: str
    """Where it is, in words for a message: a path or a URL."""

    def read(self, name: str) -> bytes:
        """Return a file's content."""

    def open(self, name: str) -> BinaryIO:
        """Open a file for reading here and there in it, without fetching the whole."""

    def local(self, name: str) -> Path:
        """Return a path on this machine's disk with the file's content; fetched where it is kept elsewhere."""

    def stamp(self, name: str) -> str:
        """Return a text that changes whenever a file is written; empty when it is missing."""

    def files(self, folder: str, after: str = "") -> list[Entry]:
        """Return the files that stand in a folder itself, by name; only those whose last part comes after ``after``."""

    def folders(self, folder: str) -> list[str]:
        """Return the names of the folders in a folder (last parts), sorted."""

    def walk(self, folder: str = "") -> list[Entry]:
        """Return every file below a folder, by name."""

    def create_exclusively(self, name: str, content: bytes) -> None:
        """Write a new file durably, or raise ``FileExistsError`` and change nothing."""

    def replace(self, name: str, content: bytes, *, durable: bool = False) -> None:
        """Write or overwrite a file; a reader sees the old content or the new."""

    def writing(self, name: str) -> AbstractContextManager[BinaryIO]:
        """Write or overwrite a file piece by piece; it takes its name when all of it was written."""

    def put_file(self, name: str, path: Path) -> None:
        """Write or overwrite a file, durably, with the content of a file on this machine."""

    def delete(self, name: str) -> None:
        """Remove a file; one that is missing is no error."""

    def drop_folder(self, folder: str) -> None:
        """Remove a folder of which all files were removed, with whatever killed writers have left in it."""

    def sweep(self, folder: str) -> None:
        """Remove what killed writers have left in a folder."""

    def announce(self, folder: str) -> None:
        """Say that something is about to be created in a folder; called before, so that :meth:`stamps` tells of it."""

    def stamps(self, parent: str, inside: Sequence[str]) -> dict[str, Stamp]:
        """Return a stamp for every folder in ``parent``, by its name; it changes when a file is created in one of the
        folders ``inside`` it (of those that were announced).
        """


def checked(name: str) -> str:
    """Return a name that stays in the archive, or raise :class:`BadName`."""
    parts = name.split("/")
    if any(part in ("", ".", "..") or "\\" in part or "\0" in part for part in parts):
        raise BadName(f"'{name}' is no name of a file in an archive.")
    return name
