"""The work of a taking in that is not finished: kept in the archive by content, so that it can be gone on with.

::

    <archive>/unfinished/
      lock                     held for moments: while work is claimed, let go of, or brought into the archive
      <digest>.lock            held by the process that works on this content; free again when that process is gone
      <digest>/
        recording/             what will be recordings/<slug>, made here and moved there by one rename
        <stage>.json           written when the stage is done and its files are on the disk; names what it was made from

Nobody but a taking in reads this folder, so whatever a killed process leaves in it is seen by nobody. It is swept when
its content has come into the archive, and a week after the last stage was done.
"""

from __future__ import annotations

import json
import os
import shutil
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from annotate.errors import ArchiveError, BeingTakenIn, BrokenOff
from annotate.files import make_folders, replace, sync_folder

AGE_S = 7 * 86400.0
"""Work that nobody has gone on with for a week is given up."""

NAME_LENGTH = 32
"""Of the digest's 64 hexadecimal digits: 128 bits tell contents apart."""


class UnreadableWork(BrokenOff):
    """What an earlier run has left cannot be read: it has to be begun anew."""


@dataclass(frozen=True)
class Unfinished:
    """A piece of unfinished work, held by this process (see :func:`work_on`)."""

    folder: Path

    @property
    def recording(self) -> Path:
        """The recording's folder as it will be."""
        return self.folder / "recording"

    def done(self, stage: str, made_from: str) -> Any:
        """Return what a stage found in an earlier run; None when it was not done, or from something else.

        Parameters
        ----------
        stage : str
            Its name.
        made_from : str
            Digest of everything the stage's result follows from.
        """
        try:
            note = json.loads((self.folder / f"{stage}.json").read_text("utf-8"))
            return note["found"] if note["made_from"] == made_from else None
        except (OSError, ValueError, KeyError, TypeError):
            return None

    def keep(self, stage: str, made_from: str, found: Any) -> None:
        """Write down, durably, that a stage is done; its files are synced first.

        ``found`` is whatever JSON holds, but not None.
        """
        sync_tree(self.recording)
        note = json.dumps({"made_from": made_from, "found": found}, ensure_ascii=False)
        replace(self.folder / f"{stage}.json", note.encode())
        sync_folder(self.folder)


@contextmanager
def work_on(archive: Path, digest: str, name: str) -> Iterator[Unfinished]:
    """Hold the unfinished work on a content, begun now or earlier.

    It is left for the next run when the block ends by an error; :func:`clear` removes it.

    Raises
    ------
    BeingTakenIn
        Another process works on it; ``name`` is what the message calls the content.
    """
    from filelock import FileLock, Timeout

    home = archive / "unfinished"
    make_folders(home)
    key = digest[:NAME_LENGTH]
    lock = FileLock(home / f"{key}.lock", blocking=False)
    try:
        with alone(archive):
            lock.acquire()
    except Timeout:
        raise BeingTakenIn(name) from None
    except NotImplementedError:
        raise ArchiveError(
            f"The file system of {archive} has no locks, and without them two could take the same sound in at once. "
            "Keep the archive on another disk."
        ) from None
    try:
        work = Unfinished(home / key)
        make_folders(work.recording)
        yield work
    finally:
        with alone(archive):
            if not (home / key).exists():
                (home / f"{key}.lock").unlink(missing_ok=True)
            lock.release()


@contextmanager
def alone(archive: Path) -> Iterator[None]:
    """Be the only one who claims, lets go of or brings in work, for moments.

    A lock file is only ever removed while this is held, so that nobody waits on one that is gone.
    """
    from filelock import FileLock

    make_folders(archive / "unfinished")
    with FileLock(archive / "unfinished" / "lock"):
        yield


def clear(work: Unfinished) -> None:
    """Remove finished work; its lock goes when it is let go of."""
    shutil.rmtree(work.folder, ignore_errors=True)


def renew(work: Unfinished) -> None:
    """Begin work anew: what was done of it is removed."""
    clear(work)
    make_folders(work.recording)


def sweep(archive: Path, in_archive: Callable[[str], bool], older_than_s: float = AGE_S) -> int:
    """Remove work that came into the archive or was given up, unless somebody holds it; return how many.

    Parameters
    ----------
    archive : Path
    in_archive : callable
        Tells whether the content of which this is the beginning of the digest is in the archive.
    older_than_s : float
        Age of the youngest stage from which on work counts as given up.
    """
    from filelock import FileLock, Timeout

    home = archive / "unfinished"
    if not home.is_dir():
        return 0
    swept = 0
    with alone(archive):
        for path in home.glob("*.lock"):
            folder = path.with_suffix("")
            if not (in_archive(folder.name) or time.time() - _last_touched_s(folder, path) > older_than_s):
                continue
            try:
                with FileLock(path, blocking=False):
                    shutil.rmtree(folder, ignore_errors=True)
                    path.unlink(missing_ok=True)
                    swept += 1
            except Timeout:
                continue
    return swept


def sync_tree(folder: Path) -> None:
    """Bring every file below a folder, and the names in it, to the disk."""
    for place, _folders, names in os.walk(folder):
        for name in names:
            try:
                descriptor = os.open(Path(place) / name, os.O_RDWR)
            except FileNotFoundError:
                continue  # a temporary file of a stage at work beside
            try:
                os.fsync(descriptor)
            finally:
                os.close(descriptor)
        sync_folder(Path(place))


def _last_touched_s(folder: Path, lock: Path) -> float:
    """When something was last done on a piece of work, seconds since 1970."""
    places = [lock, folder, *folder.glob("*.json")]
    return max((place.stat().st_mtime for place in places if place.exists()), default=0.0)
