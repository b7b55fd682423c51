"""Putting a backup back, into a new or empty place: all of it, or nothing."""

from __future__ import annotations

import contextlib
import secrets
import shutil
from collections.abc import Callable
from pathlib import Path

from annotate.backup.contents import Contents
from annotate.backup.errors import PlaceTaken
from annotate.backup.reading import Backup, open_backup, verify
from annotate.card import CARD
from annotate.errors import CannotWrite
from annotate.files import STRAY_PREFIX, make_folders, sync_folder
from annotate.store.base import Store
from annotate.store.disk import DiskStore
from annotate.unfinished import sync_tree

Tell = Callable[[float], None]

_BESIDE = f"{STRAY_PREFIX}restoring"
"""Folder in which everything is written on a disk, in the place itself: so it is on the same disk."""
_CLAIM = "unfinished/restoring"
"""What says in an object store that somebody is at it."""


def restore_backup(path: Path, store: Store, tell: Tell = lambda _share: None) -> Contents:
    """Put a backup into a place where nothing is.

    Every member is held against its digest before any is in place, and ``archive.toml``, which makes an archive of a
    place, comes last: whatever stops it, there is the whole archive or none.

    Parameters
    ----------
    path : Path
        The backup.
    store : Store
        The place; it need not exist.
    tell : callable
        Told the share done, 0 to 1.

    Raises
    ------
    BadBackup, NewerArchive
        The backup cannot be used. The place is as it was.
    PlaceTaken
        Something is there already.
    CannotWrite
        The disk is full, the place read-only or out of reach. What was written is removed again.
    """
    with open_backup(path) as backup:
        try:
            _refuse_taken(store)
            backup.card()
            if isinstance(store, DiskStore):
                _onto_disk(backup, store, tell)
            else:
                _into_objects(backup, store, tell)
        except FileExistsError as error:
            raise PlaceTaken(f"Somebody has written to {store.place} meanwhile. Name a place for yourself.") from error
        except OSError as error:
            raise CannotWrite(f"The archive {store.place}", error) from error
        return backup.contents


def _refuse_taken(store: Store) -> None:
    if isinstance(store, DiskStore):
        if store.folder.exists() and not store.folder.is_dir():
            raise PlaceTaken(f"{store.place} is a file. Name a new or empty folder with --archive.")
        there = {path.name for path in store.folder.iterdir()} if store.folder.is_dir() else set()
    else:
        there = {*store.folders(""), *(entry.name for entry in store.files(""))}
    if there & {_BESIDE, _CLAIM.partition("/")[0]} and CARD not in there:
        raise PlaceTaken(
            f"A backup is being put into {store.place} now, or that was broken off. Let it finish; if nobody "
            "is at it, empty the place first, or name another."
        )
    if there:
        what = "an archive" if CARD in there else "something else"
        raise PlaceTaken(
            f"{store.place} holds {what} already, and it was left as it is. Name a new or empty place with --archive."
        )


def _onto_disk(backup: Backup, store: DiskStore, tell: Tell) -> None:
    """Write everything beside, checked as it is written, then move it into place."""
    home = store.folder
    new = not home.exists()
    make_folders(home)
    beside = home / _BESIDE
    beside.mkdir()  # of two at once, one
    moved: list[Path] = []
    try:
        _write_beside(backup, DiskStore(beside), tell)
        sync_tree(beside)
        for part in sorted(beside.iterdir(), key=lambda each: (each.name == CARD, each.name)):
            if (home / part.name).exists():
                raise FileExistsError(home / part.name)
            part.rename(home / part.name)
            moved.append(home / part.name)
        beside.rmdir()
        sync_folder(home)
    except BaseException:
        for path in moved:
            shutil.rmtree(path) if path.is_dir() else path.unlink(missing_ok=True)
        shutil.rmtree(beside, ignore_errors=True)
        if new:
            with contextlib.suppress(OSError):
                home.rmdir()
        raise


def _write_beside(backup: Backup, aside: DiskStore, tell: Tell) -> None:
    total, done = backup.contents.size or 1, 0
    for name in backup.contents.members:
        target = aside.path(name)
        target.parent.mkdir(parents=True, exist_ok=True)
        with target.open("xb") as out:
            for piece in backup.pieces(name):
                out.write(piece)
                done += len(piece)
                tell(min(1.0, done / total))


def _into_objects(backup: Backup, store: Store, tell: Tell) -> None:
    """Hold everything against its digest first, since an object store has no rename; then put it, the card last."""
    verify(backup, lambda share: tell(share / 3))
    store.create_exclusively(_CLAIM, secrets.token_bytes(16))
    total, done = backup.contents.size or 1, 0
    put = [_CLAIM]
    try:
        for name, member in backup.contents.members.items():
            if name == CARD:
                continue
            put.append(name)
            with store.writing(name) as out:
                for piece in backup.pieces(name):
                    out.write(piece)
            done += member.size
            tell(1 / 3 + 2 / 3 * min(1.0, done / total))
        store.create_exclusively(CARD, backup.card())
    except BaseException:
        for name in reversed(put):
            with contextlib.suppress(OSError):
                store.delete(name)
        raise
    store.delete(_CLAIM)
    tell(1.0)
