"""Which proposals are written down already, or were rejected: told by where they lie, so undo takes it back too."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from annotate.proposals.proposed import Found
from annotate.records import TihaiRecord

SAME_S = 0.15
"""Strokes so near are the same one: half the way to the next stroke of a quick palla, and more than people and finders
differ by."""
SAME_SHARE = 0.5


class Span(NamedTuple):
    """Where a tihai lies: the starts of its pallas (or its own, where no more is known) and its landing, in seconds."""

    palla_s: tuple[float, ...]
    landing_s: float

    @property
    def length_s(self) -> float:
        """From the first stroke to the landing."""
        return self.landing_s - self.palla_s[0]


def span_of(record: TihaiRecord) -> Span:
    """Return where a tihai lies."""
    return Span(record.palla_s, record.landing_s)


def span_of_found(found: Found) -> Span:
    """Return where what was found lies."""
    return Span(found.proposal.palla_s, found.proposal.landing_s)


def same(one: Span, other: Span) -> bool:
    """Tell whether two spans are of one tihai: they share more than half of the shorter, and land or begin together.

    So a chakradar that is written down covers its last tihai, and one that misses covers what would have landed.
    """
    shared_s = min(one.landing_s, other.landing_s) - max(one.palla_s[0], other.palla_s[0])
    if shared_s <= SAME_SHARE * min(one.length_s, other.length_s):
        return False
    return lands_with(one, other) or (
        len(one.palla_s) == len(other.palla_s) == 3
        and all(abs(here_s - there_s) <= SAME_S for here_s, there_s in zip(one.palla_s, other.palla_s, strict=True))
    )


def lands_with(one: Span, other: Span) -> bool:
    """Tell whether two land together."""
    return abs(one.landing_s - other.landing_s) <= SAME_S


def teaches(record: TihaiRecord, found: Found) -> bool:
    """Tell whether what is written down of a proposal says the same: landing and way from palla to palla.

    Where the landing is right and the pallas are others, or the other way round, it is neither accepted nor rejected.
    """
    written, proposed = span_of(record), span_of_found(found)
    if len(written.palla_s) != 3 or not lands_with(written, proposed):
        return False
    ways_s = [(palla_s[1] - palla_s[0], palla_s[2] - palla_s[1]) for palla_s in (written.palla_s, proposed.palla_s)]
    return all(abs(here_s - there_s) <= SAME_S for here_s, there_s in zip(*ways_s, strict=True))


def written_as(span: Span, tihais: Sequence[TihaiRecord]) -> TihaiRecord | None:
    """Return the tihai that a proposal is written down as; one that is not rejected before one that is."""
    matching = [record for record in tihais if same(span, span_of(record))]
    return min(
        matching,
        key=lambda record: (record.status == "rejected", abs(record.landing_s - span.landing_s)),
        default=None,
    )
