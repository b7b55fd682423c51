"""What was found in the recordings asked for last, kept in memory as long as nothing it follows from has changed."""

from __future__ import annotations

from collections.abc import Callable

from annotate import evidence_store, melody_store
from annotate.archive import Archive
from annotate.kept import Kept
from annotate.recurring.finding import Heard, recurring_in

MOST = 64
"""Recordings remembered: half a megabyte each for an hour."""

_found: Kept[tuple[str, Heard]] = Kept(MOST)


def heard_in(archive: Archive, slug: str, tell: Callable[[float], None] | None = None) -> Heard:
    """Return what :func:`annotate.recurring.finding.recurring_in` finds, found anew only where something changed.

    Raises
    ------
    NoSuchRecording, BadAnnotation
        As there.
    """
    place, follows = f"{archive.store.place} {slug}", _follows_from(archive, slug)
    known = _found.get(place)
    if known is not None and known[0] == follows:
        return known[1]
    heard = recurring_in(archive, slug, tell)
    _found.keep(place, (_follows_from(archive, slug), heard))  # the melody may have been followed just now
    return heard


def _follows_from(archive: Archive, slug: str) -> str:
    """A text that changes whenever something else could be found."""
    recording, folder = archive.state(slug).recording, archive.evidence_folder(slug)
    digests = sorted(archive.grid(slug).digests.items())
    return repr((recording.raga, recording.sa_hz, digests, melody_store.stamp(folder), evidence_store.stamp(folder)))
