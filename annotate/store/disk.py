"""A store that is a folder on a disk, by the durable writes of :mod:`annotate.files`."""

from __future__ import annotations

import contextlib
import os
import shutil
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import BinaryIO

from annotate.files import STRAY_PREFIX, create_exclusively, make_folders, replacing, sweep_strays, sync_folder
from annotate.store.base import Entry, Stamp, checked

SETTLED_S = 3.0
"""Age from which on a folder's time tells its state: younger, another file may come at the same time. The coarsest
clock of a file system in use (FAT) counts in two seconds."""


class DiskStore:
    """A folder; it need not exist."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.place = str(folder)

    def path(self, name: str) -> Path:
        """Return where a file or folder lies; ``""`` is the store's own folder."""
        return self.folder / checked(name) if name else self.folder

    def read(self, name: str) -> bytes:
        """Return a file's content."""
        return self.path(name).read_bytes()

    def open(self, name: str) -> BinaryIO:
        """Open a file for reading."""
        return self.path(name).open("rb")

    def local(self, name: str) -> Path:
        """Return the file's path; a link that leads out of the store is as good as missing."""
        path = self.path(name)
        if not path.is_file() or not path.resolve().is_relative_to(self.folder.resolve()):
            raise FileNotFoundError(name)
        return path

    def stamp(self, name: str) -> str:
        """Return time and length of a file; empty when it is missing."""
        try:
            return _stamp(self.path(name).stat())
        except OSError:
            return ""

    def files(self, folder: str, after: str = "") -> list[Entry]:
        """Return the files in a folder, temporary ones left out."""
        found = []
        with contextlib.suppress(FileNotFoundError, NotADirectoryError), os.scandir(self.path(folder)) as entries:
            for entry in entries:
                if entry.name > after and not entry.name.startswith(STRAY_PREFIX) and entry.is_file():
                    status = entry.stat()
                    found.append(Entry(_joined(folder, entry.name), status.st_size, _stamp(status)))
        return sorted(found, key=lambda entry: entry.name)

    def folders(self, folder: str) -> list[str]:
        """Return the folders in a folder."""
        try:
            with os.scandir(self.path(folder)) as entries:
                return sorted(entry.name for entry in entries if entry.is_dir())
        except (FileNotFoundError, NotADirectoryError):
            return []

    def walk(self, folder: str = "") -> list[Entry]:
        """Return every file below a folder; links to folders are not followed."""
        found = []
        for place, _folders, _files in os.walk(self.path(folder)):
            within = Path(place).relative_to(self.folder).as_posix()
            found.extend(self.files("" if within == "." else within))
        return sorted(found, key=lambda entry: entry.name)

    def create_exclusively(self, name: str, content: bytes) -> None:
        """Write a new file durably, or raise ``FileExistsError``."""
        path = self.path(name)
        make_folders(path.parent)
        create_exclusively(path, content)

    def replace(self, name: str, content: bytes, *, durable: bool = False) -> None:
        """Write or overwrite a file."""
        with self.writing(name) as out:
            out.write(content)
            if durable:
                out.flush()
                os.fsync(out.fileno())
        if durable:
            sync_folder(self.path(name).parent)

    @contextlib.contextmanager
    def writing(self, name: str) -> Iterator[BinaryIO]:
        """Write or overwrite a file piece by piece; what a killed writer has left beside it is swept."""
        path = self.path(name)
        make_folders(path.parent)
        sweep_strays(path.parent)
        with replacing(path) as out:
            yield out

    def put_file(self, name: str, path: Path) -> None:
        """Copy a file in, durably."""
        with path.open("rb") as source, self.writing(name) as out:
            shutil.copyfileobj(source, out, 1 << 20)
            out.flush()
            os.fsync(out.fileno())
        sync_folder(self.path(name).parent)

    def delete(self, name: str) -> None:
        """Remove a file."""
        self.path(name).unlink(missing_ok=True)

    def drop_folder(self, folder: str) -> None:
        """Remove a folder and all that is left in it; the removal is durable."""
        shutil.rmtree(self.path(folder), ignore_errors=True)
        sync_folder(self.path(folder).parent)

    def sweep(self, folder: str) -> None:
        """Remove old temporary files."""
        sweep_strays(self.path(folder))

    def announce(self, folder: str) -> None:
        """Nothing: a folder's own time tells of what is created in it."""

    def stamps(self, parent: str, inside: Sequence[str]) -> dict[str, Stamp]:
        """Return the times of the folders inside each folder."""
        now_ns, stamps = time.time_ns(), {}
        home = os.fspath(self.path(parent))
        for name in self.folders(parent):
            times = [_time_ns(f"{home}/{name}/{each}") for each in inside]  # as text: ten times as quick as a Path
            settled = now_ns - max(times) > SETTLED_S * 1e9
            stamps[name] = Stamp("-".join(map(str, times)), settled)
        return stamps


def _joined(folder: str, name: str) -> str:
    return f"{folder}/{name}" if folder else name


def _stamp(status: os.stat_result) -> str:
    return f"{status.st_mtime_ns}-{status.st_size}"


def _time_ns(folder: str) -> int:
    try:
        return os.stat(folder).st_mtime_ns  # noqa: PTH116 - see where it is called, ten thousand times
    except OSError:
        return 0
