"""What goes into a backup, and what its list of contents says.

By default everything that cannot be made again (card, revisions, compositions, courses, what was set aside) and the
sound; the evidence is measured again from the sound by ``layakosh listen-again``, and is within where the archive keeps
no sound of a recording. Snapshots, grids and the index follow from the rest and are never within.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from annotate.errors import NewerArchive
from annotate.layout import Kind, named
from annotate.schema import SCHEMA_VERSION
from annotate.store.base import Entry, Store

LIST = "layakosh-backup.json"
"""The member that lists the others."""
VERSION = 1
"""Of the list. Raised when an older program could not restore what a newer one wrote."""
KEPT_KINDS: tuple[Kind, ...] = ("card", "revision", "sound", "evidence", "composition", "course", "set aside")


@dataclass(frozen=True)
class Member:
    """A file in a backup: its length in bytes and the SHA-256 of its content in hexadecimal digits."""

    size: int
    sha256: str


@dataclass(frozen=True)
class Contents:
    """What a backup says of itself: when it was made (UTC), by which schema, and its members by name."""

    made: datetime
    schema: int
    members: Mapping[str, Member]

    @property
    def recordings(self) -> int:
        """How many recordings there are."""
        return len({told.slug for told in map(named, self.members) if told.kind == "revision"})

    @property
    def size(self) -> int:
        """Bytes of all members."""
        return sum(member.size for member in self.members.values())

    def holds(self, kind: Kind) -> int:
        """How many files of a kind there are."""
        return sum(named(name).kind == kind for name in self.members)

    def to_json(self) -> bytes:
        """Return the list as it is written."""
        files = {name: {"bytes": member.size, "sha256": member.sha256} for name, member in self.members.items()}
        told = {"backup": VERSION, "schema": self.schema, "made": self.made.isoformat(), "files": files}
        return json.dumps(told, ensure_ascii=False, indent=0).encode()


def from_json(content: bytes) -> Contents:
    """Read a list.

    Raises
    ------
    NewerArchive
        It was written by a newer version of this program.
    ValueError, LookupError, TypeError, AttributeError
        It is no list.
    """
    told: Any = json.loads(content)
    version, schema = int(told["backup"]), int(told["schema"])
    if version > VERSION or schema > SCHEMA_VERSION:
        raise NewerArchive(
            f"The backup was written by a newer version (schema {schema}, this one reads up to {SCHEMA_VERSION}). "
            "Install that version to restore it."
        )
    members = {str(name): Member(int(each["bytes"]), str(each["sha256"])) for name, each in told["files"].items()}
    return Contents(datetime.fromisoformat(told["made"]), schema, members)


@dataclass(frozen=True)
class Choice:
    """The files of a store that go into a backup, and the names of those that are no archive's and stay out."""

    entries: tuple[Entry, ...]
    foreign: tuple[str, ...]


def choose(store: Store, *, sound: bool, evidence: bool) -> Choice:
    """Choose what goes into a backup of what is there now.

    Revisions are never changed, so those that are there now make a whole however long the writing takes; one that
    came while the folder was listed is left out unless all before it are within.

    Parameters
    ----------
    store : Store
    sound : bool
        Whether listening copies and originals are within.
    evidence : bool
        Whether the evidence of all recordings is within; otherwise of those alone whose sound the archive has not.
    """
    chosen: list[Entry] = []
    measured: dict[str, list[Entry]] = {}
    revisions: dict[str, dict[int, Entry]] = {}
    heard: set[str] = set()
    foreign: list[str] = []
    everything = store.walk()
    going = {told.slug for told in map(named, (entry.name for entry in everything)) if told.kind == "removal"}
    for entry in everything:
        told = named(entry.name)
        if told.slug in going and told.kind not in ("composition", "course"):
            continue  # what is left of a recording that is being removed for good
        if told.kind == "revision":
            revisions.setdefault(told.slug, {})[told.number] = entry
        elif told.kind == "evidence":
            measured.setdefault(told.slug, []).append(entry)
        elif told.kind == "sound":
            heard.add(told.slug)
            chosen.extend([entry] if sound else [])
        elif told.kind in KEPT_KINDS:
            chosen.append(entry)
        elif told.kind == "other":
            foreign.append(entry.name)
    for slug, numbered in revisions.items():
        chosen.extend(_without_gap(store, slug, numbered))
    for slug, entries in measured.items():
        if evidence or slug not in heard:
            chosen.extend(entries)
    return Choice(tuple(sorted(chosen, key=lambda entry: entry.name)), tuple(foreign))


def _without_gap(store: Store, slug: str, numbered: dict[int, Entry]) -> list[Entry]:
    """The revisions of a recording; those that a listing passed over because they came while it was made are added."""
    if len(numbered) < max(numbered):
        for entry in store.files(f"recordings/{slug}/revisions"):
            number = named(entry.name).number
            if 0 < number <= max(numbered):
                numbered[number] = entry
    return list(numbered.values())
