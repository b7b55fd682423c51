"""All things of a sort in an archive: what is there, what became of each, and how they are kept and taken out.

::

    compositions/<key>/00000001.toml    as it was kept first
    compositions/<key>/00000002.toml    as it was changed, or taken out

Conventions: the latest revision that can be read counts. A change is made on the revision that somebody saw; when
there is a later one it is refused, and says whose. Nothing is deleted. What was read once is remembered with the
archive: a file never changes.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any, Generic
from weakref import WeakKeyDictionary

from annotate.archive import Archive
from annotate.errors import CannotWrite
from annotate.layout import named
from annotate.shelves.errors import BadThing, DamagedThing, NoSuchThing, ThingChanged
from annotate.shelves.kept import Kept, Revision, Sort, Thing
from annotate.shelves.written import from_toml, to_toml
from annotate.slugs import is_slug, unique_slug
from annotate.store.base import Entry

AT_ONCE = 8
"""Files read at the same time, where each waits for an object store."""

_remembered: WeakKeyDictionary[Archive, dict[tuple[str, str], Any]] = WeakKeyDictionary()
"""What was read of each open archive: a revision, or why it cannot be read, by the name and stamp of its file."""


class Shelf(Generic[Thing]):
    """The things of a sort. One object may be used from several threads: what it remembers are values."""

    def __init__(self, archive: Archive, sort: Sort[Thing]) -> None:
        self.archive = archive
        self.sort = sort
        self._known: dict[tuple[str, str], Revision[Thing] | BadThing] = _remembered.setdefault(archive, {})

    def all(self, *, withdrawn: bool = False) -> list[Kept[Thing]]:
        """Return what is kept, the latest change first; with ``withdrawn`` what was taken out instead."""
        kept = [each for each in self._everything() if each.revisions and each.latest.withdrawn == withdrawn]
        return sorted(kept, key=lambda each: (each.latest.when, each.key), reverse=True)

    def unread(self) -> list[tuple[str, BadThing]]:
        """Return the names of files that cannot be read, and why."""
        return [one for each in self._everything() for one in each.unread]

    def get(self, key: str) -> Kept[Thing]:
        """Return a thing with its history, taken out or not.

        Raises
        ------
        NoSuchThing
            With the nearest keys.
        """
        found = self._read(key, self._files(key)) if is_slug(key) else None
        if found is None or not found.revisions:
            nearest = difflib.get_close_matches(key, self._keys(), n=3, cutoff=0.5)
            raise NoSuchThing(self.sort.word, key, self.sort.lists, nearest)
        return found

    def keep(self, content: Thing, *, who: str, why: str = "kept") -> Kept[Thing]:
        """Keep a thing under a key made of its name.

        Raises
        ------
        BadThing
            It is too long.
        CannotWrite
            The disk is full, the archive read-only, the store out of reach. Nothing is written.
        """
        signed = self.archive.signature(who)
        taken = set(self._keys())
        while True:
            key = unique_slug(self.sort.name_of(content), taken.__contains__)
            revision = Revision(1, signed, _now(), why, content)
            try:
                self._write(key, revision)
            except FileExistsError:
                taken.add(key)
                continue
            return Kept(key, (revision,))

    def change(
        self, key: str, content: Thing, *, seen: int, who: str, why: str = "changed", undoes: int = 0
    ) -> Kept[Thing]:
        """Change a thing on top of the revision that was seen; ``undoes``: the revision that it takes back.

        Raises
        ------
        NoSuchThing, ThingChanged, CannotWrite, BadThing
        """
        return self._next(key, content, seen, who, why, undoes=undoes)

    def withdraw(self, key: str, *, seen: int, who: str, why: str = "taken out") -> Kept[Thing]:
        """Take a thing out; its history stays, and it can be put back.

        Raises
        ------
        NoSuchThing, ThingChanged, CannotWrite
        """
        return self._next(key, self.get(key).content, seen, who, why, withdrawn=True)

    def put_back(self, key: str, *, who: str, why: str = "put back") -> Kept[Thing]:
        """Put a thing back that was taken out.

        Raises
        ------
        NoSuchThing, ThingChanged, CannotWrite
        """
        kept = self.get(key)
        return self._next(key, kept.content, kept.latest.number, who, why)

    def _next(
        self, key: str, content: Thing, seen: int, who: str, why: str, *, withdrawn: bool = False, undoes: int = 0
    ) -> Kept[Thing]:
        signed = self.archive.signature(who)
        kept = self.get(key)
        if seen != kept.latest.number:
            raise ThingChanged(key, kept.latest.who, kept.latest.when, kept.latest.why)
        revision = Revision(kept.last_number + 1, signed, _now(), why, content, withdrawn, undoes)
        try:
            self._write(key, revision)
        except FileExistsError:
            theirs = self.get(key).latest
            raise ThingChanged(key, theirs.who, theirs.when, theirs.why) from None
        return replace(kept, revisions=(*kept.revisions, revision))

    def _write(self, key: str, revision: Revision[Thing]) -> None:
        name = f"{self.sort.folder}/{key}/{revision.number:08d}.toml"
        try:
            self.archive.store.create_exclusively(name, to_toml(self.sort, revision))
        except FileExistsError:
            raise
        except OSError as error:
            raise CannotWrite(f"The {self.sort.word} '{self.sort.name_of(revision.content)}'", error) from error

    def _everything(self) -> Iterator[Kept[Thing]]:
        by_key: dict[str, list[Entry]] = {}
        for entry in self.archive.store.walk(self.sort.folder):
            told = named(entry.name)
            if told.kind == self.sort.word:
                by_key.setdefault(told.slug, []).append(entry)
        return (self._read(key, entries) for key, entries in by_key.items())

    def _keys(self) -> list[str]:
        return [name for name in self.archive.store.folders(self.sort.folder) if is_slug(name)]

    def _files(self, key: str) -> list[Entry]:
        files = self.archive.store.files(f"{self.sort.folder}/{key}")
        return [each for each in files if named(each.name).kind == self.sort.word]

    def _read(self, key: str, entries: list[Entry]) -> Kept[Thing]:
        sound: list[Revision[Thing]] = []
        unread: list[tuple[str, BadThing]] = []
        for entry, read in zip(entries, self._revisions(entries), strict=True):
            if isinstance(read, BadThing):
                unread.append((entry.name, read))
            elif read.number != named(entry.name).number:
                unread.append((entry.name, DamagedThing(f"it calls itself number {read.number}")))
            else:
                sound.append(read)
        return Kept(key, tuple(sorted(sound, key=lambda each: each.number)), tuple(unread))

    def _revisions(self, entries: list[Entry]) -> list[Revision[Thing] | BadThing]:
        if all((entry.name, entry.stamp) in self._known for entry in entries):
            return [self._revision(entry) for entry in entries]
        with ThreadPoolExecutor(AT_ONCE) as pool:
            return list(pool.map(self._revision, entries))

    def _revision(self, entry: Entry) -> Revision[Thing] | BadThing:
        at = (entry.name, entry.stamp)
        if at not in self._known:
            try:
                if entry.size > self.sort.largest:
                    raise DamagedThing(
                        f"it has {entry.size} bytes, and a {self.sort.word} has at most {self.sort.largest}"
                    )
                self._known[at] = from_toml(self.sort, self.archive.store.read(entry.name))
            except BadThing as error:
                self._known[at] = error
            except OSError as error:
                return BadThing(f"it cannot be read now ({error.strerror or error})")
        return self._known[at]


def _now() -> datetime:
    return datetime.now(UTC).replace(microsecond=0)
