"""How a finished taking in comes into the archive, so that it is seen whole or not at all.

On a disk by one rename of the folder that was made ready, its first revision in it. In an object store nothing can be
renamed: the slug is claimed by a conditional put (``claimed/recordings/<slug>`` holds the digest of the sound),
evidence and sound are sent, and the first revision comes last, by a conditional put as well. Until it is
there the recording is not. A claim whose maker was killed is taken over when the same sound is taken in again.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from pathlib import Path

from annotate import revisions
from annotate.archive import Archive
from annotate.files import make_folders, sync_folder
from annotate.revisions import Edit, Revision
from annotate.slugs import unique_slug
from annotate.state import check_edits, empty
from annotate.store.base import Store
from annotate.store.disk import DiskStore
from annotate.store.folder import Folder
from annotate.unfinished import sync_tree

LAST = "frames.parquet"
"""Of the evidence's files the one that is written last: when it is there, the rest is."""

EditsOf = Callable[[str], Sequence[Edit]]
"""The edits of the first revision, for a slug."""


def bring_in(archive: Archive, made: Path, title: str, digest: str, edits_of: EditsOf, who: str, why: str) -> str:
    """Bring a recording's folder into the archive under a slug of its title.

    Parameters
    ----------
    archive : Archive
    made : Path
        The folder: ``evidence/`` and ``sound/`` as they will be.
    title, digest : str
        Of the recording; the digest is that of its sound.
    edits_of : callable
        Gives the edits of the first revision for a slug.
    who, why : str
        Kept with the revision.

    Returns
    -------
    str
        The slug.

    Raises
    ------
    OSError
        The disk is full, or the archive cannot be written. The folder is still there, and the archive as it was.
    """
    first = _First(edits_of, who, why)
    if isinstance(archive.store, DiskStore):
        return _by_rename(archive.store.folder / "recordings", made, title, first)
    return _by_sending(archive, made, title, digest, first)


class _First:
    """The first revision, written where it is asked for."""

    def __init__(self, edits_of: EditsOf, who: str, why: str) -> None:
        self._edits_of, self._who, self._why = edits_of, who, why

    def write(self, folder: Path | Folder, slug: str) -> None:
        """Write it into a ``revisions`` folder."""
        edits = tuple(self._edits_of(slug))
        check_edits(empty(slug), edits)
        now = datetime.now(UTC).replace(microsecond=0)
        revisions.write(folder, slug, Revision(1, 0, self._who, now, self._why, edits))


def _by_rename(home: Path, made: Path, title: str, first: _First) -> str:
    make_folders(home)
    while True:
        slug = unique_slug(title, lambda candidate: (home / candidate).exists())
        shutil.rmtree(made / "revisions", ignore_errors=True)  # of a run that was stopped just here
        first.write(made / "revisions", slug)
        sync_tree(made)
        try:
            made.rename(home / slug)
        except OSError:
            if not (home / slug).exists():
                raise
            continue  # somebody took the name between the question and the answer
        sync_folder(home)
        return slug


def _by_sending(archive: Archive, made: Path, title: str, digest: str, first: _First) -> str:
    store = archive.store
    files = [path for path in made.rglob("*") if path.is_file() and path.parent.name in ("evidence", "sound")]
    files.sort(key=lambda path: (path.name == LAST, path))
    while True:
        slug = unique_slug(title, lambda name: archive.is_taken(name) or not _claimed(store, name, digest))
        place = f"recordings/{slug}"
        names = [f"{place}/{path.relative_to(made).as_posix()}" for path in files]
        for name, path in zip(names, files, strict=True):
            store.put_file(name, path)
        store.announce(place)
        try:
            first.write(Folder(store, place) / "revisions", slug)
        except FileExistsError:  # an annotator without sound took the name meanwhile
            for name in names:
                store.delete(name)
            continue
        return slug


def _claimed(store: Store, slug: str, digest: str) -> bool:
    """Claim a slug for a sound; tell whether it is this sound's, now or since a run that was stopped."""
    claim = f"claimed/recordings/{slug}"
    try:
        store.create_exclusively(claim, digest.encode())
    except FileExistsError:
        return store.read(claim) == digest.encode()
    return True
