"""Withdrawing a whole recording, and bringing it back.

A withdrawal is a revision like any other, which takes the recording's own row away: it says who and when, of two who
write at once one wins, and whoever looks next sees it, on a disk and in an object store. Everything else of the
recording stays where it is, so that the revision which takes the withdrawal back brings all of it back. Between the two
nothing is written to it. For good it is removed by :mod:`annotate.removing` alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import cast

from annotate.archive import Archive
from annotate.errors import ArchiveError, NoSuchRecording, NotWithdrawn
from annotate.history.points import moment_words
from annotate.layout import removal_of
from annotate.records import WORD_FOR, Record, Recording
from annotate.revisions import add, withdraw


@dataclass(frozen=True)
class Withdrawn:
    """A recording that is withdrawn: as it was, how many rows are kept by table, who withdrew it and when."""

    slug: str
    recording: Recording
    rows: Mapping[str, int]
    revision: int
    who: str
    when: datetime

    @property
    def by_and_when(self) -> str:
        """Who and when, in words: ``"by asha (2026-01-31 18:00 UTC)"``."""
        return f"by {self.who or 'somebody'} ({moment_words(self.when)})"

    @property
    def kept(self) -> str:
        """What is kept of it, in words: ``"11 sams, 1 tihai"``; empty where nobody has written anything down."""
        tables = ("sams", "tihais", "phrases")
        counted = [(self.rows[table], WORD_FOR[table]) for table in tables if self.rows[table]]
        return ", ".join(f"{count} {word}{'' if count == 1 else 's'}" for count, word in counted)


def withdraw_recording(archive: Archive, slug: str, who: str) -> int:
    """Take a recording out of all lists, statistics, searches and pages; nothing of it is lost.

    Returns
    -------
    int
        The number of the revision that says so.

    Raises
    ------
    NoSuchRecording, WithdrawnRecording
        There is none, or it is withdrawn already.
    CannotWrite
        The archive cannot be written.
    """
    archive.state(slug)
    return archive.commit(slug, [withdraw("recordings", slug)], who, "recording withdrawn")


def bring_back(archive: Archive, slug: str, who: str) -> int:
    """Bring a withdrawn recording back as it was, with its annotations and its history.

    Returns
    -------
    int
        The number of the revision that says so.

    Raises
    ------
    NoSuchRecording, NotWithdrawn
        There is none, it is not withdrawn, or it is being removed for good.
    CannotWrite
        The archive cannot be written.
    """
    there = of(archive, slug)
    number = archive.commit(
        slug, [add(there.recording)], who, "recording brought back", parent=there.revision, undoes=there.revision
    )
    _refuse_being_removed(archive, slug)  # it may have begun meanwhile
    return number


def of(archive: Archive, slug: str) -> Withdrawn:
    """Return a withdrawn recording.

    Raises
    ------
    NoSuchRecording, NotWithdrawn
        As :func:`bring_back`.
    """
    _refuse_being_removed(archive, slug)
    state = archive.state_or_withdrawn(slug)
    if not state.withdrawn:
        raise NotWithdrawn(f"'{slug}' is not withdrawn. 'layakosh bring-back' lists the recordings that are.")
    ledger = archive.ledger(slug)
    head = ledger.heads[-1]
    row: Record = ledger.state(head.number - 1, {("recordings", slug)}).rows["recordings"][slug]
    counts = {table: len(rows) for table, rows in state.rows.items()}
    return Withdrawn(slug, cast(Recording, row), counts, head.number, head.who, head.when)


def withdrawn(archive: Archive) -> list[Withdrawn]:
    """Return the recordings that are withdrawn, the latest first.

    One that cannot be read (``layakosh check`` says why), or is being removed for good, is passed over.
    """
    found = []
    for slug in archive.withdrawn_slugs():
        try:
            found.append(of(archive, slug))
        except ArchiveError:
            continue
    return sorted(found, key=lambda each: each.when, reverse=True)


def _refuse_being_removed(archive: Archive, slug: str) -> None:
    if archive.store.stamp(removal_of(slug)):
        raise NoSuchRecording(slug)
