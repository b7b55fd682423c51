"""Proposing tihais: what was found, ranked, with what became of each.

``propose`` finds where something changed; ``proposed``, ``waiting`` and ``is_stale`` only look at what is kept.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from annotate.archive import Archive
from annotate.proposals import kept as store
from annotate.proposals.finding import digest_of, up_to_date
from annotate.proposals.kept import Kept
from annotate.proposals.learning import learnt_from
from annotate.proposals.proposed import Found, Proposed
from annotate.proposals.written import span_of_found, written_as
from annotate.records import TihaiRecord


def propose(
    archive: Archive,
    slug: str,
    *,
    anew: bool = False,
    mukhra: int | None = None,
    tell: Callable[[float], None] | None = None,
) -> list[Proposed]:
    """Find the tihais of a recording and rank them.

    Sections that have not changed since they were last looked at are not looked at again.

    Parameters
    ----------
    archive : Archive
    slug : str
    anew : bool
        Look at every section again, and forget which mukhra was told.
    mukhra : int, optional
        The matra on which the mukhra begins; told once, it holds from then on. By default it is looked for.
    tell : callable, optional
        Told the share done, 0 to 1.

    Returns
    -------
    list of Proposed
        The likeliest first, those that are decided among them.

    Raises
    ------
    NoSuchRecording
    NothingToHear
        Nothing was measured of its sound, or no section has a grid.
    annotate.errors.BadAnnotation
        The mukhra begins outside the tala.
    """
    return _ranked(archive, slug, up_to_date(archive, slug, anew=anew, mukhra=mukhra, tell=tell))


def proposed(archive: Archive, slug: str) -> list[Proposed] | None:
    """Return the same as `propose` without finding anything; None where nothing was proposed yet."""
    archive.state(slug)
    kept = store.load(archive.evidence_folder(slug))
    return None if kept is None else _ranked(archive, slug, kept)


def waiting(archive: Archive, slug: str) -> int | None:
    """Return how many proposals wait for somebody's word; None where nothing was proposed yet. Nothing is found."""
    state, folder = archive.state(slug), archive.evidence_folder(slug)
    spans = store.load_spans(folder) if store.stamp(folder) else None
    return None if spans is None else sum(written_as(each, state.tihais) is None for each in spans)


def is_stale(archive: Archive, slug: str) -> bool:
    """Tell whether something has changed from which proposals follow, so that they had better be made again."""
    kept = store.load(archive.evidence_folder(slug))
    if kept is None:
        return True
    return digest_of(archive, slug, kept.mukhra_told) != {name: each.digest for name, each in kept.heard.items()}


def mukhras(archive: Archive, slug: str) -> dict[str, int | None]:
    """Return on which matra the mukhra of each section begins, as told or as found; empty before `propose`."""
    kept = store.load(archive.evidence_folder(slug))
    return {} if kept is None else {section: each.mukhra for section, each in kept.heard.items()}


def _ranked(archive: Archive, slug: str, kept: Kept) -> list[Proposed]:
    confidences = learnt_from(archive).ranked(kept.found, kept.names)
    every = with_status(archive.state(slug).tihais, kept.found, confidences)
    return sorted(every, key=lambda each: (-each.ranked, each.proposal.landing_s))


def with_status(
    tihais: Sequence[TihaiRecord], found: Sequence[Found], confidences: Sequence[float]
) -> Iterator[Proposed]:
    """Give what became of everything that is found; what is no longer found and was never decided on is left out."""
    for each, confidence in zip(found, confidences, strict=True):
        record = written_as(span_of_found(each), tihais)
        if record is not None:
            yield Proposed(each, confidence, "rejected" if record.status == "rejected" else "accepted", record.tihai)
        elif each.still:
            yield Proposed(each, confidence, "waiting")
