"""Reading a backup: what it holds, and whether that is what was written.

A backup may come from a stranger. What an archive has no name for is refused, and so are links, names that lead
elsewhere, a name that comes twice, and members that would grow: every one is stored as it is, so that none is larger
than the file.
"""

from __future__ import annotations

import hashlib
import stat
import struct
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from zlib import error as ZlibError  # noqa: N812 - an error's name among errors

from annotate.backup.contents import KEPT_KINDS, LIST, Contents, from_json
from annotate.backup.errors import BadBackup
from annotate.card import CARD, check_card
from annotate.errors import BadName, NotAnArchive
from annotate.layout import named
from annotate.store.base import checked

PIECE = 4 << 20
"""Bytes in memory at a time."""
_LONGEST_CARD = 1 << 20
_BROKEN = (
    zipfile.BadZipFile,
    zipfile.LargeZipFile,
    struct.error,
    ZlibError,
    ValueError,
    LookupError,
    TypeError,
    AttributeError,
    ArithmeticError,
    EOFError,
    RuntimeError,  # NotImplementedError and RecursionError are of this kind
    MemoryError,
)
"""What the reader of ZIP files and of the list raise at damage."""


class Backup:
    """A backup that is open for reading; its list has been held against what is in it, its contents not yet."""

    def __init__(self, file: str, members: zipfile.ZipFile, contents: Contents) -> None:
        self.file, self._zip, self.contents = file, members, contents

    def card(self) -> bytes:
        """Return the card of the archive, which is looked at.

        Raises
        ------
        BadBackup
            It has none, or one that is not an archive's.
        NewerArchive
            It was written by a newer version of this program.
        """
        member = self.contents.members.get(CARD)
        if member is None or member.size > _LONGEST_CARD:
            raise BadBackup(self.file, f"it holds no {CARD}, so it is of no archive")
        content = b"".join(self.pieces(CARD))
        try:
            check_card(content, self.file)
        except NotAnArchive:
            raise BadBackup(self.file, f"its {CARD} is not the card of an archive") from None
        return content

    def pieces(self, name: str) -> Iterator[bytes]:
        """Give the content of a member in pieces.

        Raises
        ------
        BadBackup
            It is not what was written; known only when the last piece is asked for.
        """
        told, digest, size = self.contents.members[name], hashlib.sha256(), 0
        try:
            with self._zip.open(name) as member:
                while piece := member.read(PIECE):
                    digest.update(piece)
                    size += len(piece)
                    yield piece
        except _BROKEN as error:
            raise BadBackup(self.file, f"{name} cannot be read ({_first(error)})") from error
        except OSError as error:
            raise BadBackup(self.file, f"the disk does not give it ({error.strerror or error})") from error
        if size != told.size or digest.hexdigest() != told.sha256:
            raise BadBackup(self.file, f"{name} is not what was written (its digest differs)")


@contextmanager
def open_backup(path: Path) -> Iterator[Backup]:
    """Open a backup and look at its list.

    Raises
    ------
    BadBackup
        It is no backup, cut short, or holds what no archive has.
    NewerArchive
        It was written by a newer version of this program.
    """
    file = str(path)
    try:
        members = zipfile.ZipFile(path)
    except OSError as error:
        raise BadBackup(file, f"it cannot be opened ({error.strerror or error})") from error
    except _BROKEN as error:
        raise BadBackup(file, f"it is cut short, or no backup of this program ({_first(error)})") from error
    with members:
        yield Backup(file, members, _contents(file, members, path.stat().st_size))


def verify(backup: Backup, tell: Callable[[float], None] = lambda _share: None) -> None:
    """Hold every member against its digest.

    Raises
    ------
    BadBackup
        It names the first that is not what was written.
    """
    backup.card()
    total, done = backup.contents.size or 1, 0
    for name in backup.contents.members:
        for piece in backup.pieces(name):
            done += len(piece)
            tell(min(1.0, done / total))


def _contents(file: str, members: zipfile.ZipFile, size: int) -> Contents:
    headers = {header.filename: header for header in members.infolist()}
    if len(headers) != len(members.infolist()):
        raise BadBackup(file, "a name comes twice in it")
    for header in headers.values():
        _refuse_trick(file, header)
    if sum(header.file_size for header in headers.values()) > size:
        raise BadBackup(file, "its members would be larger than the file")
    if LIST not in headers:
        raise BadBackup(file, f"it has no {LIST}, the list of what is in it")
    try:
        contents = from_json(members.read(LIST))
    except _BROKEN as error:
        raise BadBackup(file, f"its list {LIST} cannot be read ({_first(error)})") from error
    except OSError as error:
        raise BadBackup(file, f"the disk does not give it ({error.strerror or error})") from error
    listed = {name: member.size for name, member in contents.members.items()}
    there = {name: header.file_size for name, header in headers.items() if name != LIST}
    for name in there:
        _refuse_strange(file, name)
    if listed != there:
        odd = sorted(name for name in {*listed, *there} if listed.get(name) != there.get(name))
        raise BadBackup(file, f"{odd[0]!r} and what the list says of it differ")
    return contents


def _refuse_trick(file: str, header: zipfile.ZipInfo) -> None:
    """Refuse a member that is not a plain file, stored as it is."""
    name = header.filename
    plain = header.compress_type == zipfile.ZIP_STORED and header.file_size == header.compress_size
    if not plain or header.flag_bits & 1:
        raise BadBackup(file, f"{name!r} is compressed or encrypted, and a backup is neither")
    if stat.S_IFMT(header.external_attr >> 16) not in (0, stat.S_IFREG) or header.is_dir():
        raise BadBackup(file, f"{name!r} is a link or a folder, and a backup holds files alone")


def _refuse_strange(file: str, name: str) -> None:
    """Refuse a name that no archive has, or that leads elsewhere."""
    try:
        checked(name)
    except BadName:
        raise BadBackup(file, f"the name {name!r} would lead out of the archive") from None
    if named(name).kind not in KEPT_KINDS:
        raise BadBackup(file, f"an archive has no file of the name {name!r}")


def _first(error: BaseException) -> str:
    return (str(error).splitlines() or [type(error).__name__])[0][:200] or type(error).__name__
