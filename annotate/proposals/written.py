"""Which proposals are written down already, or were rejected: told by where they lie, so undo takes it back too."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from annotate.proposals.proposed import Found
from annotate.records import TihaiRecord

SAME_LANDING_S = 0.15
"""Landings so near are of the same stroke: half the way to the next stroke of a quick palla, and more than people and
finders differ by."""
SAME_SHARE = 0.5


class Span(NamedTuple):
    """From the first stroke to the landing, in seconds."""

    start_s: float
    landing_s: float


def span_of(record: TihaiRecord) -> Span:
    """Return where a tihai lies."""
    return Span(record.palla_s[0], record.landing_s)


def span_of_found(found: Found) -> Span:
    """Return where what was found lies."""
    return Span(found.proposal.start_s, found.proposal.landing_s)


def same(one: Span, other: Span) -> bool:
    """Tell whether two spans are of one tihai: they land together and share more than half of the shorter.

    So a chakradar that is written down covers its last tihai as well.
    """
    if abs(one.landing_s - other.landing_s) > SAME_LANDING_S:
        return False
    shared_s = min(one.landing_s, other.landing_s) - max(one.start_s, other.start_s)
    shorter_s = min(one.landing_s - one.start_s, other.landing_s - other.start_s)
    return shared_s > SAME_SHARE * shorter_s


def counted_as(record: TihaiRecord, found: Found) -> bool:
    """Tell whether a tihai that lies where a proposal does goes from palla to palla as that says, so that one teaches
    of the other: a landing may be right and the pallas wrong.
    """
    if len(record.palla_s) != 3:
        return False
    first, second, third = found.proposal.palla_s
    return all(
        abs(written_s - found_s) <= SAME_LANDING_S
        for written_s, found_s in zip(
            (record.palla_s[1] - record.palla_s[0], record.palla_s[2] - record.palla_s[1]),
            (second - first, third - second),
            strict=True,
        )
    )


def written_as(span: Span, tihais: Sequence[TihaiRecord]) -> TihaiRecord | None:
    """Return the tihai that a proposal is written down as; one that is not rejected before one that is."""
    matching = [record for record in tihais if same(span, span_of(record))]
    return min(
        matching,
        key=lambda record: (record.status == "rejected", abs(record.landing_s - span.landing_s)),
        default=None,
    )
