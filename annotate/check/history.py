"""The revisions of a recording: damaged, missing, twice, under another's name."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq

from annotate.errors import BadName, DamagedRevision, NewerArchive, OutOfReach
from annotate.layout import named
from annotate.revisions import BROKEN, Revision, file_of, from_bytes
from annotate.store.base import Entry, Store

FARTHEST = 1000
"""So many revisions in a row may be missing; a file beyond that is no revision of this history."""


@dataclass(frozen=True)
class Bad:
    """A file among the revisions that is not what its name says, and why; ``says`` tells what can be read of it."""

    name: str
    number: int
    why: str
    says: str = ""
    newer: bool = False


@dataclass(frozen=True)
class History:
    """What is there of a recording's revisions.

    Attributes
    ----------
    sound : mapping
        Revisions by number that are what their names say.
    bad : sequence of Bad
        Files under the name of a revision that are none, or another one.
    odd : sequence of Bad
        Files in the folder under names of no revision; ``number`` is what their content says, else 0.
    copies : mapping
        Contents by number of whole revisions that lie under another name, and that name.
    other_slug : str
        The recording that all the revisions are of, where that is another than the folder says.
    """

    slug: str
    sound: Mapping[int, Revision]
    bad: Sequence[Bad] = ()
    odd: Sequence[Bad] = ()
    copies: Mapping[int, tuple[str, bytes]] = field(default_factory=dict)
    other_slug: str = ""

    @property
    def newer(self) -> bool:
        """Whether a newer version wrote some of it: then nothing is known to be wrong, and nothing is touched."""
        return any(each.newer for each in self.bad)

    def lost(self, latest: int = 0) -> list[int]:
        """Return the numbers that are missing or damaged, up to the latest there is, or is known to have been."""
        last = max([latest, *self.sound, *(each.number for each in self.bad)], default=0)
        return [number for number in range(1, last + 1) if number not in self.sound]


def look(store: Store, slug: str, entries: Sequence[Entry]) -> History:
    """Read all revisions of a recording.

    Parameters
    ----------
    store : Store
    slug : str
    entries : sequence of Entry
        Every file of the recording.

    Raises
    ------
    OSError
        The store is out of reach, or may not be read: of that nothing is known to be damaged.
    """
    sound: dict[int, Revision] = {}
    bad: list[Bad] = []
    odd: list[Bad] = []
    copies: dict[int, tuple[str, bytes]] = {}
    others: list[str] = []
    for entry in entries:
        if not entry.name.startswith(f"recordings/{slug}/revisions/"):
            continue
        number = named(entry.name).number
        try:
            content = store.read(entry.name)
            of, revision = from_bytes(content)
        except FileNotFoundError:
            continue
        except (DamagedRevision, NewerArchive, OSError, BadName) as error:
            refuse_unreachable(error)
            newer = isinstance(error, NewerArchive)
            why = str(getattr(error, "strerror", None) or error).splitlines()[0]
            found = Bad(entry.name, number, why, "" if isinstance(error, OSError) else _said(content), newer)
            (bad if number else odd).append(found)
            continue
        if number and of == slug and revision.number == number:
            sound[number] = revision
            continue
        if number and of != slug and revision.number == number:
            others.append(of)
        says = f"revision {revision.number} of '{of}' ({_words(revision.who, revision.when.isoformat(), revision.why)})"
        (bad if number else odd).append(Bad(entry.name, number or revision.number, f"it holds {says}", says))
        if of == slug:
            copies.setdefault(revision.number, (entry.name, content))
    _take_out_the_far(slug, sound, bad, odd)
    renamed = others[0] if others and not sound and len(set(others)) == 1 else ""
    return History(slug, sound, bad, odd, copies, renamed)


def _take_out_the_far(slug: str, sound: dict[int, Revision], bad: list[Bad], odd: list[Bad]) -> None:
    """Count files far beyond the others among the odd: nobody has lost a hundred million edits."""
    last = 0
    for number in sorted({*sound, *(each.number for each in bad)}):
        if number - last <= FARTHEST:
            last = number
            continue
        far = [each for each in bad if each.number == number] or [Bad(file_name(slug, number), number, "far away")]
        odd.extend(far)
        bad[:] = [each for each in bad if each.number != number]
        sound.pop(number, None)


def file_name(slug: str, number: int) -> str:
    """Return the name of a revision's file in the archive."""
    return f"recordings/{slug}/revisions/{file_of(number)}"


def refuse_unreachable(error: Exception) -> None:
    """Raise an error that tells nothing of a file: a store out of reach, a folder that one may not read."""
    if isinstance(error, (OutOfReach, PermissionError)):
        raise error


def _said(content: bytes) -> str:
    """What a damaged revision still says of itself: who made it, when and why; empty where nothing can be read."""
    try:
        note: Any = json.loads(pq.read_metadata(pa.BufferReader(content)).metadata[b"layakosh"])
        return _words(str(note["who"]), str(note["when"]), str(note["why"]))
    except BROKEN:
        return ""


def _words(who: str, when: str, why: str) -> str:
    return f"by {who or 'nobody named'}, {when[:16].replace('T', ' ')} UTC" + (f", '{why}'" if why else "")
