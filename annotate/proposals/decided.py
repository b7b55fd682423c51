"""What people decided on proposals, in the whole archive: what there is to learn from."""

from __future__ import annotations

import math
from typing import NamedTuple

from annotate.archive import Archive
from annotate.kept import Kept as Remembered
from annotate.proposals import kept as store
from annotate.proposals.measured import said_of
from annotate.proposals.written import span_of_found, teaches, written_as


class Decided(NamedTuple):
    """A proposal on which a person decided.

    ``accepted`` is true also for one that was written down without being proposed. ``confidence`` is the finder's, and
    ``said`` the numbers of `measured.SAID`.
    """

    recording: str
    key: str
    tihai: str
    accepted: bool
    confidence: float
    said: tuple[float, ...]


_Version = tuple[int, str]
_remembered: Remembered[tuple[_Version, tuple[Decided, ...]]] = Remembered(2048)
"""By archive and recording, as of a revision and a file of proposals."""


def decided_in(archive: Archive) -> tuple[Decided, ...]:
    """Return every decision in the archive, by recording and key."""
    with archive.one_look():
        revisions = archive.latest_revisions()
        slugs = sorted(set(archive.table("tihais", ["recording"])["recording"].to_pylist()) & set(revisions))
    return tuple(each for slug in slugs for each in _of_recording(archive, slug, revisions[slug]))


def _of_recording(archive: Archive, slug: str, revision: int) -> tuple[Decided, ...]:
    folder = archive.evidence_folder(slug)
    version = (revision, store.stamp(folder))
    if not version[1]:
        return ()
    name = f"{archive.store.place} {slug}"
    known = _remembered.get(name)
    if known is not None and known[0] == version:
        return known[1]
    found = _read(archive, slug)
    _remembered.keep(name, (version, found))
    return found


def _read(archive: Archive, slug: str) -> tuple[Decided, ...]:
    tihais = archive.state(slug).tihais
    kept = store.load(archive.evidence_folder(slug), lambda span: written_as(span, tihais) is not None)
    if kept is None:
        return ()
    decided = []
    for each in kept.found:
        record = written_as(span_of_found(each), tihais)
        if record is None or not teaches(record, each):
            continue
        said = said_of(each, kept.names)
        if not any(map(math.isnan, said)):  # measured by a finder that did not know all of it
            accepted = record.status != "rejected"
            decided.append(Decided(slug, each.key, record.tihai, accepted, each.proposal.confidence, said))
    return tuple(sorted(decided))
