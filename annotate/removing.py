"""Removing a withdrawn recording for good, so that its room is free again.

A file ``removing/<slug>`` is written first, durably: from then on the recording is gone for everybody. Then its files
go, the latest revision last, which says that it is withdrawn; ``removing/<slug>`` goes when nothing else is left.
Whatever stops this, also a kill, leaves either the whole, withdrawn, or a removal that was decided and only has to be
finished: by :func:`remove` again, or by ``layakosh check --repair``.
"""

from __future__ import annotations

import json
from datetime import UTC, datetime

from annotate import withdrawing
from annotate.archive import Archive
from annotate.errors import CannotWrite, NotWithdrawn
from annotate.layout import named, removal_of
from annotate.schema import INDEX_TABLES
from annotate.slugs import is_slug
from annotate.store.base import Entry, Store

HOME = "removing"


def remove(archive: Archive, slug: str, who: str) -> int:
    """Remove a withdrawn recording for good, with its annotations, history, evidence and sound; it cannot be undone.

    One whose removal was broken off is finished.

    Returns
    -------
    int
        How many bytes are free again.

    Raises
    ------
    NoSuchRecording
        There is none.
    NotWithdrawn
        It has not been withdrawn, or was brought back at this moment. Nothing is removed.
    CannotWrite
        The archive cannot be written. The recording is whole, or to be removed once more.
    """
    store = archive.store
    try:
        if not (is_slug(slug) and store.stamp(removal_of(slug))):
            _decide(archive, slug, who)
        return finish(store, slug)
    except OSError as error:
        raise CannotWrite(f"The removal of '{slug}'", error) from error


def begun(store: Store) -> list[str]:
    """Return the slugs of the recordings whose removal was decided and is not finished."""
    return [entry.last for entry in store.files(HOME) if named(entry.name).kind == "removal"]


def finish(store: Store, slug: str) -> int:
    """Remove the files of a recording whose removal was decided; return how many bytes they held."""
    home, freed = f"recordings/{slug}", 0
    while entries := sorted(store.walk(home), key=_order):  # again: somebody may have written meanwhile
        for entry in entries:
            store.delete(entry.name)
            freed += entry.size
    store.drop_folder(home)
    for other in ("announced", "claimed"):
        store.delete(f"{other}/{home}")
    store.delete(removal_of(slug))
    return freed


def refuse_in_use(archive: Archive, slug: str) -> None:
    """Refuse to remove what has not been withdrawn.

    Raises
    ------
    NoSuchRecording, NotWithdrawn
    """
    if not archive.state_or_withdrawn(slug).withdrawn:
        raise NotWithdrawn(
            f"'{slug}' is in use. Withdraw it first, which loses nothing: layakosh withdraw {slug}. "
            "What is withdrawn can be removed for good."
        )


def _decide(archive: Archive, slug: str, who: str) -> None:
    refuse_in_use(archive, slug)
    there = withdrawing.of(archive, slug)
    for table in INDEX_TABLES:  # nothing of it is left in the index for other programs either
        archive.table(table, recordings=())
    note = {"recording": slug, "who": who, "when": datetime.now(UTC).replace(microsecond=0).isoformat()}
    archive.store.create_exclusively(removal_of(slug), json.dumps(note, ensure_ascii=False).encode())
    if archive.state_or_withdrawn(slug).revision != there.revision:
        archive.store.delete(removal_of(slug))
        raise NotWithdrawn(f"'{slug}' was brought back at this moment. Nothing was removed.")


def _order(entry: Entry) -> tuple[bool, str]:
    """Revisions last, in order: as long as the latest is there, nobody takes the rest for a recording."""
    return named(entry.name).kind == "revision", entry.name
