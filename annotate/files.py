"""Writing files so that a reader sees all of one or none of it.

Two ways: :func:`create_exclusively` for what is never changed again (it fails when the name is taken, and is
durable when it returns), :func:`replace` for what can always be made again.
Temporary files stand in the same folder, begin with :data:`STRAY_PREFIX`, and are swept when they are old.
"""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
import time
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

STRAY_PREFIX = ".layakosh-tmp-"
STRAY_AGE_S = 600.0
"""A temporary file older than this belongs to a writer that is gone: writing one takes milliseconds."""

_NO_LINKS = {errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK, errno.EXDEV}


def create_exclusively(path: Path, content: bytes) -> None:
    """Write a new file durably, or fail when the name is taken.

    The content is written to a temporary file and synced, then linked to its name: the link fails when the name
    exists, so of two writers one wins and the other is told. Where the file system has no hard links the file
    is opened exclusively and written in place.

    Raises
    ------
    FileExistsError
        Somebody else has the name. Nothing was changed.
    """
    temporary = _write_temporary(path.parent, content, durable=True)
    try:
        os.link(temporary, path)
    except FileExistsError:
        raise
    except OSError as error:
        if error.errno not in _NO_LINKS:
            raise
        _create_in_place(path, content)
    finally:
        temporary.unlink(missing_ok=True)
    sync_folder(path.parent)


def replace(path: Path, content: bytes) -> None:
    """Write or overwrite a derived file; a reader sees the old content or the new, never a mixture."""
    temporary = _write_temporary(path.parent, content, durable=False)
    try:
        temporary.replace(path)
    finally:
        temporary.unlink(missing_ok=True)


@contextlib.contextmanager
def replacing(path: Path) -> Iterator[BinaryIO]:
    """Write or overwrite a derived file piece by piece; it takes its name when all of it was written.

    As :func:`replace`, for content that is better not held in memory.
    """
    temporary = path.parent / f"{STRAY_PREFIX}{os.getpid()}-{secrets.token_hex(6)}"
    try:
        with temporary.open("xb") as out:
            yield out
        temporary.replace(path)
    finally:
        temporary.unlink(missing_ok=True)


def sync_folder(folder: Path) -> None:
    """Make the names in a folder durable (a no-op where the system cannot sync folders)."""
    with contextlib.suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


def make_folders(folder: Path) -> None:
    """Make a folder and those above it, durably."""
    missing = []
    while not folder.exists():
        missing.append(folder)
        folder = folder.parent
    for new in reversed(missing):
        new.mkdir(exist_ok=True)
        sync_folder(new.parent)


def sweep_strays(folder: Path, older_than_s: float = STRAY_AGE_S) -> int:
    """Remove temporary files left by writers that were killed; return how many."""
    swept, now = 0, time.time()
    with contextlib.suppress(OSError):
        for entry in os.scandir(folder):
            if entry.name.startswith(STRAY_PREFIX) and entry.is_file(follow_symlinks=False):
                with contextlib.suppress(OSError):
                    if now - entry.stat().st_mtime > older_than_s:
                        Path(entry.path).unlink()
                        swept += 1
    return swept


def _write_temporary(folder: Path, content: bytes, *, durable: bool) -> Path:
    temporary = folder / f"{STRAY_PREFIX}{os.getpid()}-{secrets.token_hex(6)}"
    descriptor = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o644)
    try:
        _write_all(descriptor, content, durable=durable)
    except OSError:
        temporary.unlink(missing_ok=True)
        raise
    return temporary


def _create_in_place(path: Path, content: bytes) -> None:
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o644)
    try:
        _write_all(descriptor, content, durable=True)
    except OSError:
        path.unlink(missing_ok=True)
        raise


def _write_all(descriptor: int, content: bytes, *, durable: bool) -> None:
    with os.fdopen(descriptor, "wb") as out:
        out.write(content)
        out.flush()
        if durable:
            os.fsync(out.fileno())
