"""Writing a backup: streamed into one file, durable before it gets its name."""

from __future__ import annotations

import hashlib
import os
import secrets
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import BinaryIO

from annotate.backup.contents import LIST, Contents, Member, choose
from annotate.backup.errors import PlaceTaken
from annotate.card import has_card
from annotate.errors import CannotWrite, DamagedRevision, NotAnArchive
from annotate.files import STRAY_PREFIX, sweep_strays, sync_folder
from annotate.layout import named
from annotate.schema import SCHEMA_VERSION
from annotate.store.base import Entry, Store
from annotate.store.disk import DiskStore

PIECE = 4 << 20
"""Bytes in memory at a time."""
_LARGE = 1 << 30
"""From this length on a member is written so that it may pass four gigabytes."""


@dataclass(frozen=True)
class Written:
    """What was written; ``left_out`` names files in the archive's folder that are not the archive's."""

    contents: Contents
    left_out: tuple[str, ...]


def write_backup(
    store: Store,
    path: Path,
    *,
    sound: bool = True,
    evidence: bool = False,
    replace: bool = False,
    tell: Callable[[float], None] = lambda _share: None,
) -> Written:
    """Write an archive into one file; others may edit meanwhile.

    Parameters
    ----------
    store : Store
        Where the archive is.
    path : Path
        The file to write.
    sound, evidence : bool
        What is within; see :func:`annotate.backup.contents.choose`.
    replace : bool
        Whether a file of that name is written over.
    tell : callable
        Told the share done, 0 to 1.

    Raises
    ------
    NotAnArchive, NewerArchive
        There is no archive that this program can read.
    PlaceTaken
        The file is there already.
    CannotWrite
        The disk is full, the folder is missing or read-only. Nothing is left.
    """
    if not has_card(store):
        raise NotAnArchive(f"{store.place} is no archive: it has no archive.toml. Name one with --archive.")
    if path.is_dir() or (path.exists() and not replace):
        raise PlaceTaken(f"{path} is there already. Name another file, or write over it with --replace.")
    choice = choose(store, sound=sound, evidence=evidence)
    sweep_strays(path.parent)
    temporary = path.parent / f"{STRAY_PREFIX}{os.getpid()}-{secrets.token_hex(6)}"
    try:
        with temporary.open("xb") as out:
            contents = _stream(store, choice.entries, out, tell)
            out.flush()
            os.fsync(out.fileno())
        if replace:
            temporary.replace(path)
        else:
            _take_name(temporary, path)
        sync_folder(path.parent)
    except FileExistsError:
        raise PlaceTaken(f"{path} has come meanwhile. Name another file, or write over it with --replace.") from None
    except OSError as error:
        raise CannotWrite(f"The backup {path}", error) from error
    finally:
        temporary.unlink(missing_ok=True)
    return Written(contents, choice.foreign)


def _take_name(temporary: Path, path: Path) -> None:
    """Give a file its name unless somebody has it; where there are no hard links the last look has to do."""
    try:
        os.link(temporary, path)
    except FileExistsError:
        raise
    except OSError:
        if path.exists():
            raise FileExistsError(path) from None
        temporary.replace(path)


def _stream(store: Store, entries: tuple[Entry, ...], out: BinaryIO, tell: Callable[[float], None]) -> Contents:
    total, done = sum(entry.size for entry in entries) or 1, 0
    members: dict[str, Member] = {}
    now = datetime.now(UTC).replace(microsecond=0)
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        for entry in entries:
            try:
                source = opened(store, entry.name)
            except FileNotFoundError:
                if named(entry.name).kind == "revision":
                    raise DamagedRevision(
                        f"{store.place}/{entry.name} was there and is gone, or a link that leads out of the archive. "
                        "No backup was written; run 'layakosh check'."
                    ) from None
                continue  # evidence that was just replaced, a link to elsewhere
            digest, size = hashlib.sha256(), 0
            with source, archive.open(_header(entry.name, now), "w", force_zip64=entry.size >= _LARGE) as member:
                while piece := source.read(PIECE):
                    digest.update(piece)
                    member.write(piece)
                    size += len(piece)
                    tell(min(1.0, (done + size) / total))
            members[entry.name] = Member(size, digest.hexdigest())
            done += entry.size
        contents = Contents(now, SCHEMA_VERSION, members)
        archive.writestr(_header(LIST, now), contents.to_json())
    return contents


def opened(store: Store, name: str) -> BinaryIO:
    """Open a file of a store for reading; on a disk a link that leads out of it is as good as missing."""
    return store.local(name).open("rb") if isinstance(store, DiskStore) else store.open(name)


def _header(name: str, when: datetime) -> zipfile.ZipInfo:
    header = zipfile.ZipInfo(name, (max(1980, when.year), when.month, when.day, when.hour, when.minute, when.second))
    header.external_attr = 0o100644 << 16
    return header
