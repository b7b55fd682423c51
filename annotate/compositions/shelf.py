"""All compositions of an archive: what is there, what became of each, and how they are kept and taken out.

::

    compositions/<key>/00000001.toml    as it was kept first
    compositions/<key>/00000002.toml    as it was changed, or taken out

Conventions: the latest revision that can be read counts. A change is made on the revision that somebody saw; when
there is a later one it is refused, and says whose. Nothing is deleted.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from annotate.archive import Archive
from annotate.compositions.composition import Composition
from annotate.compositions.errors import BadComposition, CompositionChanged, DamagedComposition, NoSuchComposition
from annotate.compositions.written import LARGEST, Revision, from_toml, to_toml
from annotate.errors import CannotWrite
from annotate.layout import named
from annotate.slugs import is_slug, unique_slug
from annotate.store.base import Entry

FOLDER = "compositions"


@dataclass(frozen=True)
class Kept:
    """A composition with its key and how it came to be as it is; ``unread``: files that cannot be read, and why."""

    key: str
    revisions: tuple[Revision, ...]
    unread: tuple[tuple[str, BadComposition], ...] = ()

    @property
    def latest(self) -> Revision:
        """As it is now."""
        return self.revisions[-1]

    @property
    def composition(self) -> Composition:
        """What it is now."""
        return self.latest.composition


class Shelf:
    """The compositions of an archive. One object may be used from several threads: what it remembers are values."""

    def __init__(self, archive: Archive) -> None:
        self.archive = archive
        self._known: dict[tuple[str, str], Revision | BadComposition] = {}

    def all(self, *, withdrawn: bool = False) -> list[Kept]:
        """Return what is kept, the latest change first; with ``withdrawn`` what was taken out instead."""
        kept = [each for each in self._everything() if each.revisions and each.latest.withdrawn == withdrawn]
        return sorted(kept, key=lambda each: (each.latest.when, each.key), reverse=True)

    def unread(self) -> list[tuple[str, BadComposition]]:
        """Return the names of files that cannot be read, and why."""
        return [one for each in self._everything() for one in each.unread]

    def get(self, key: str) -> Kept:
        """Return a composition with its history, taken out or not.

        Raises
        ------
        NoSuchComposition
            With the nearest keys.
        """
        found = self._read(key, self._files(key)) if is_slug(key) else None
        if found is None or not found.revisions:
            raise NoSuchComposition(key, difflib.get_close_matches(key, self._keys(), n=3, cutoff=0.5))
        return found

    def keep(self, composition: Composition, *, who: str, why: str = "kept") -> Kept:
        """Keep a composition under a key made of its name.

        Raises
        ------
        CannotWrite
            The disk is full, the archive read-only, the store out of reach. Nothing is written.
        """
        signed = self.archive.signature(who)
        taken = set(self._keys())
        while True:
            key = unique_slug(composition.name, taken.__contains__)
            revision = Revision(1, signed, _now(), why, composition)
            try:
                self._write(key, revision)
            except FileExistsError:
                taken.add(key)
                continue
            return Kept(key, (revision,))

    def change(self, key: str, composition: Composition, *, seen: int, who: str, why: str = "changed") -> Kept:
        """Change a composition on top of the revision that was seen.

        Raises
        ------
        NoSuchComposition, CompositionChanged, CannotWrite
        """
        return self._next(key, composition, seen, who, why, withdrawn=False)

    def withdraw(self, key: str, *, seen: int, who: str, why: str = "taken out") -> Kept:
        """Take a composition out; its history stays, and it can be put back.

        Raises
        ------
        NoSuchComposition, CompositionChanged, CannotWrite
        """
        return self._next(key, self.get(key).composition, seen, who, why, withdrawn=True)

    def put_back(self, key: str, *, who: str, why: str = "put back") -> Kept:
        """Put a composition back that was taken out.

        Raises
        ------
        NoSuchComposition, CompositionChanged, CannotWrite
        """
        kept = self.get(key)
        return self._next(key, kept.composition, kept.latest.number, who, why, withdrawn=False)

    def _next(self, key: str, composition: Composition, seen: int, who: str, why: str, *, withdrawn: bool) -> Kept:
        signed = self.archive.signature(who)
        kept = self.get(key)
        latest = self._last_number(key)
        if seen != kept.latest.number:
            raise CompositionChanged(key, kept.latest.who, kept.latest.when, kept.latest.why)
        revision = Revision(latest + 1, signed, _now(), why, composition, withdrawn)
        try:
            self._write(key, revision)
        except FileExistsError:
            theirs = self.get(key).latest
            raise CompositionChanged(key, theirs.who, theirs.when, theirs.why) from None
        return replace(kept, revisions=(*kept.revisions, revision))

    def _write(self, key: str, revision: Revision) -> None:
        name = f"{FOLDER}/{key}/{revision.number:08d}.toml"
        try:
            self.archive.store.create_exclusively(name, to_toml(revision))
        except FileExistsError:
            raise
        except OSError as error:
            raise CannotWrite(f"The composition '{revision.composition.name}'", error) from error

    def _everything(self) -> Iterator[Kept]:
        by_key: dict[str, list[Entry]] = {}
        for entry in self.archive.store.walk(FOLDER):
            told = named(entry.name)
            if told.kind == "composition":
                by_key.setdefault(told.slug, []).append(entry)
        return (self._read(key, entries) for key, entries in by_key.items())

    def _keys(self) -> list[str]:
        return [name for name in self.archive.store.folders(FOLDER) if is_slug(name)]

    def _files(self, key: str) -> list[Entry]:
        return [each for each in self.archive.store.files(f"{FOLDER}/{key}") if named(each.name).kind == "composition"]

    def _last_number(self, key: str) -> int:
        return max((named(entry.name).number for entry in self._files(key)), default=0)

    def _read(self, key: str, entries: list[Entry]) -> Kept:
        sound: list[Revision] = []
        unread: list[tuple[str, BadComposition]] = []
        for entry in entries:
            read = self._revision(entry)
            if isinstance(read, BadComposition):
                unread.append((entry.name, read))
            elif read.number != named(entry.name).number:
                unread.append((entry.name, DamagedComposition(f"it calls itself number {read.number}")))
            else:
                sound.append(read)
        return Kept(key, tuple(sorted(sound, key=lambda each: each.number)), tuple(unread))

    def _revision(self, entry: Entry) -> Revision | BadComposition:
        at = (entry.name, entry.stamp)
        if at not in self._known:
            try:
                if entry.size > LARGEST:
                    raise DamagedComposition(f"it has {entry.size} bytes, and a composition has at most {LARGEST}")
                self._known[at] = from_toml(self.archive.store.read(entry.name))
            except BadComposition as error:
                self._known[at] = error
            except OSError as error:
                return BadComposition(f"it cannot be read now ({error.strerror or error})")
        return self._known[at]


def _now() -> datetime:
    return datetime.now(UTC).replace(microsecond=0)
