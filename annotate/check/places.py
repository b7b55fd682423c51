"""The card, leftovers of writers that were killed, unfinished work, and files that are not the archive's."""

from __future__ import annotations

import os
import time
from collections.abc import Iterable, Iterator
from pathlib import Path

from annotate.card import CARD, has_card
from annotate.check.findings import Finding
from annotate.errors import NotAnArchive
from annotate.files import STRAY_AGE_S, STRAY_PREFIX
from annotate.layout import named, removal_of
from annotate.removing import HOME, begun
from annotate.slugs import is_slug
from annotate.store.base import Entry, Store
from annotate.store.disk import DiskStore

_HOMES = {
    "recordings",
    "index",
    "unfinished",
    "announced",
    "claimed",
    "compositions",
    "courses",
    "set-aside",
    "removing",
}


def findings_of_card(store: Store) -> Iterator[Finding]:
    """Give what is wrong with ``archive.toml``.

    Raises
    ------
    NotAnArchive
        There is neither a card nor a recording.
    NewerArchive
        The archive was written by a newer version.
    """
    try:
        if has_card(store):
            return
        means = "Without it the archive cannot be opened."
    except NotAnArchive as error:
        means = f"It cannot be read, so the archive cannot be opened ({str(error).splitlines()[0]})"
    if not any(is_slug(name) for name in store.folders("recordings")):
        raise NotAnArchive(f"{store.place} is no archive: it has no {CARD} and no recordings. It was left as it is.")
    mend = (
        "A new one is written; the school that names gats by their laya is then the usual one, so choose yours again."
    )
    yield Finding("card damaged", CARD, means, mend, ("card", CARD))


def findings_of_rest(store: Store) -> Iterator[Finding]:
    """Give strays, unfinished work, and what lies outside the recordings and is not the archive's."""
    if isinstance(store, DiskStore):
        yield from _strays(store.folder)
    for entry in store.files(""):
        yield from foreign([entry])
    for folder in store.folders(""):
        if folder not in _HOMES and not folder.startswith(STRAY_PREFIX):
            yield _foreign(folder)
    for folder in store.folders("recordings"):
        if not is_slug(folder):
            yield _foreign(f"recordings/{folder}")
    yield from foreign(store.files("recordings"))
    for slug in begun(store):
        yield Finding(
            "removal not finished",
            removal_of(slug),
            f"'{slug}' was to be removed for good, and that was broken off. Nobody sees it, and no backup takes it.",
            f"It is removed; 'layakosh remove {slug}' does the same.",
            ("remove", slug),
            damage=False,
        )
    yield from foreign(store.files(HOME))
    for folder in store.folders("unfinished"):
        yield Finding(
            "unfinished work",
            f"unfinished/{folder}",
            "A taking in that was stopped has left it; nobody else reads it.",
            "Give the same files to 'layakosh ingest' to go on; it is swept after a week.",
            damage=False,
        )


def foreign(entries: Iterable[Entry]) -> Iterator[Finding]:
    """Give the files whose names are of no kind."""
    for entry in entries:
        if named(entry.name).kind == "other":
            yield _foreign(entry.name)


def _foreign(name: str) -> Finding:
    means = "It is not the archive's: no file of an archive has such a name. Nobody reads it, and no backup takes it."
    return Finding("foreign file", name, means, "Left where it is.", damage=False)


def _strays(folder: Path) -> Iterator[Finding]:
    now = time.time()
    for place, folders, files in os.walk(folder):
        for name in [*folders, *files]:
            path = Path(place) / name
            within = path.relative_to(folder).as_posix()
            if path.is_symlink():
                yield Finding(
                    "link",
                    within,
                    "A link in an archive: where it leads out of it, its sound is not played and no backup takes it.",
                    "Put the file itself in its place.",
                    damage=False,
                )
            elif name.startswith(STRAY_PREFIX):
                with_age = now - path.stat().st_mtime if path.exists() else 0
                if with_age > STRAY_AGE_S:
                    means = (
                        "A writer that was killed, or a restoring that was broken off, has left it. Nobody reads it."
                    )
                    yield Finding("stray", within, means, "It is removed.", ("sweep", within), damage=False)
