"""Opening an archive, or making one."""

from __future__ import annotations

from pathlib import Path

from annotate.archive.editing import Editing
from annotate.card import has_card, write_card
from annotate.errors import CannotWrite, NotAnArchive
from annotate.store.disk import DiskStore
from annotate.store.opening import store_at


class Archive(Editing):
    """An archive that exists. Make one with :meth:`create`, open one with :meth:`open`.

    One object may be used from several threads: states are values, and each edit is one file.
    """

    @classmethod
    def create(cls, path: str | Path, tempo_school: str = "") -> Archive:
        """Make an archive in a folder that is missing or empty, and open it; an archive that exists is opened.

        Raises
        ------
        NotAnArchive
            The path is a file, or a folder that holds something else. It is left as it was.
        """
        return cls.open(path, create=True, tempo_school=tempo_school)

    @classmethod
    def open(cls, path: str | Path, create: bool = False, tempo_school: str = "") -> Archive:
        """Open an archive. Nothing is written unless ``create`` is true and the folder is missing or empty.

        A new archive keeps ``tempo_school`` as its own, where one is given; see :attr:`tempo_school`.

        Raises
        ------
        NotAnArchive
            The folder is missing, empty (and ``create`` is false), or is something else.
        NewerArchive
            It was written by a newer version of this program.
        """
        store = store_at(path)
        if has_card(store):
            return cls(store)
        if isinstance(store, DiskStore) and store.folder.exists() and not store.folder.is_dir():
            raise NotAnArchive(f"{path} is a file, not an archive folder. Name another place with --archive.")
        if store.folders("") or store.files(""):
            raise NotAnArchive(
                f"{path} holds other files and no archive.toml, so it is not an archive. It was left as it is: "
                "name an archive, or a new or empty folder, with --archive."
            )
        if not create:
            state = "is empty" if not isinstance(store, DiskStore) or store.folder.exists() else "does not exist"
            raise NotAnArchive(
                f"The archive folder {path} {state}. Take a recording in to begin one, or name another with --archive."
            )
        try:
            write_card(store, tempo_school)
        except OSError as error:
            raise CannotWrite(f"The archive {path}", error) from error
        return cls(store)
