"""Files that nobody but the owner of the archive may read: the people with their password hashes, the key of sessions.

They stand in ``access/`` of the archive (of this machine's workshop where the archive is in an object store), the
folder with mode 700, the files with mode 600. On systems without such modes nothing is asked of them.
"""

from __future__ import annotations

import os
import secrets
import stat
from pathlib import Path

from annotate.archive import Archive
from annotate.errors import CannotWrite
from annotate.files import STRAY_PREFIX, sync_folder
from dashboard.errors import BadPeopleFile

_OTHERS = stat.S_IRWXG | stat.S_IRWXO


def access_folder(archive: Archive) -> Path:
    """Return where the private files of an archive are; the folder need not exist."""
    return archive.workshop / "access"


def read_private(path: Path) -> bytes | None:
    """Return the content of a private file; None where there is none.

    Raises
    ------
    BadPeopleFile
        Other users of the machine may read or change it, or it cannot be read.
    """
    try:
        with path.open("rb") as file:
            mode = os.fstat(file.fileno()).st_mode
            if os.name == "posix" and mode & _OTHERS:
                raise BadPeopleFile(
                    f"{path} is open to other users of this machine (mode {stat.S_IMODE(mode):o}). "
                    f"Close it with: chmod 600 '{path}'"
                )
            return file.read()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise BadPeopleFile(f"{path} cannot be read: {error.strerror or error}.") from error


def write_private(path: Path, content: bytes, *, new: bool = False) -> None:
    """Write a private file durably; a reader sees the old content or the new.

    Parameters
    ----------
    new : bool
        Fail where the file exists already.

    Raises
    ------
    FileExistsError
        It is there already and ``new`` is true.
    CannotWrite
        The disk is full or the folder is read-only.
    """
    temporary = path.parent / f"{STRAY_PREFIX}{os.getpid()}-{secrets.token_hex(6)}"
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        try:
            with os.fdopen(os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            if new:
                os.link(temporary, path)
            else:
                temporary.replace(path)
        finally:
            temporary.unlink(missing_ok=True)
        sync_folder(path.parent)
    except FileExistsError:
        raise
    except OSError as error:
        raise CannotWrite(str(path), error) from error
