"""The rows of the annotation tables as plain Python values.

Conventions: times are float seconds from the start of the recording (``..._s``), matra counts are Fractions, a matra
number counts from 1 at sam. All records are immutable; change one with :func:`dataclasses.replace` and commit it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from fractions import Fraction
from typing import Literal, TypeVar, final

from theory.tihai import LandingRule

Status = Literal["proposed", "confirmed", "rejected"]
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True)
class SourceFile:
    """A file that a recording was taken in from.

    ``role`` is ``whole``, ``melody``, ``tabla`` or ``drone``; it begins ``start_s`` into the recording, by the lengths
    of the files before it: as they declare them, within a codec's frame, or as heard where one is broken.
    """

    name: str
    role: str
    start_s: float
    sha256: str


@dataclass(frozen=True)
class Recording:
    """A performance. ``raga`` is a key or free text; ``audio_path`` is relative to the archive, or empty."""

    slug: str
    title: str
    performed_on: date | None = None
    venue: str = ""
    raga: str = ""
    tala: str = ""
    lead: str = ""
    musicians: tuple[tuple[str, str], ...] = ()
    sa_hz: float | None = None
    duration_s: float | None = None
    audio_sha256: str = ""
    audio_path: str = ""
    notes: str = ""
    files: tuple[SourceFile, ...] = ()


@dataclass(frozen=True)
class Section:
    """A stretch of a recording; ``tala`` is empty where there is none. ``source`` is ``ingest`` or ``person``."""

    section: str
    kind: str
    start_s: float
    end_s: float
    tala: str = ""
    source: str = "person"


@dataclass(frozen=True)
class MarkedSam:
    """A sam that a person marked; ``cycle`` numbers the avartan it opens, where the person knows it."""

    sam: str
    section: str
    sam_s: float
    cycle: int | None = None


@final
@dataclass(frozen=True)
class TihaiRecord:
    """One tihai as written and as played.

    ``palla_s`` holds the three palla starts, or one when only the interval is known: ``landing_s`` is then
    the interval's end. ``start`` and ``dam`` are None where nothing is written on paper.
    """

    tihai: str
    palla_s: tuple[float, ...]
    landing_s: float
    tala: str = ""
    start: Fraction | None = None
    palla: str = ""
    dam: Fraction | None = None
    rule: LandingRule = LandingRule.WITHIN
    target: Fraction = Fraction(1)
    played_by: str = ""
    status: Status = "proposed"
    label: str = ""
    kind: str = ""
    who: str = ""
    at: datetime = EPOCH


@final
@dataclass(frozen=True)
class PhraseRecord:
    """One phrase: where it stands, its swaras as written, and its role (mukhra, sthayi, antara, tan, pakad ...)."""

    phrase: str
    start_s: float
    end_s: float
    swaras: str
    role: str = ""
    who: str = ""
    at: datetime = EPOCH


Numbered = TypeVar("Numbered", TihaiRecord, PhraseRecord)
Record = Recording | Section | MarkedSam | TihaiRecord | PhraseRecord
ByItself = TihaiRecord | PhraseRecord | Recording
"""Rows that may be changed by themselves; sections and marked sams hang together with the rows beside them."""

TABLE_OF: dict[type[Record], str] = {
    Recording: "recordings",
    Section: "sections",
    MarkedSam: "sams",
    TihaiRecord: "tihais",
    PhraseRecord: "phrases",
}
"""The table that each kind of record lives in."""

WORD_FOR = {"recordings": "recording", "sections": "section", "sams": "sam", "tihais": "tihai", "phrases": "phrase"}
"""What a row of each table is called; also the name of its key column."""


def key_of(record: Record) -> str:
    """Return the record's key within its recording."""
    match record:
        case Recording():
            return record.slug
        case Section():
            return record.section
        case MarkedSam():
            return record.sam
        case TihaiRecord():
            return record.tihai
        case PhraseRecord():
            return record.phrase


def with_key(record: Numbered, key: str) -> Numbered:
    """Return a tihai or phrase under another key."""
    if isinstance(record, PhraseRecord):
        return replace(record, phrase=key)
    return replace(record, tihai=key)
