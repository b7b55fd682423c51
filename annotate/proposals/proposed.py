"""A proposal as a person sees it: what was found, how sure it is, and what became of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from theory.numbers import stored

if TYPE_CHECKING:
    from ingest.finding.proposal import Proposal

Status = Literal["waiting", "accepted", "rejected"]


@dataclass(frozen=True, eq=False)
class Found:
    """A tihai as the finder found it.

    Parameters
    ----------
    key : str
        Unique in the recording: ``p83.4`` lands 83.4 s after its start.
    section, tala : str
        Where it is played, and the key of the tala it is counted in.
    proposal : Proposal
    still : bool
        Whether it is still found; what was decided on is kept, though it may not be.
    """

    key: str
    section: str
    tala: str
    proposal: Proposal
    still: bool = True


@dataclass(frozen=True, eq=False)
class Proposed:
    """A tihai that was found, and what became of it.

    Parameters
    ----------
    found : Found
    ranked : float
        Confidence after what was learnt from decisions, 0 to 1; the finder's own while nothing was.
    status : str
        ``"waiting"``, ``"accepted"`` (or written down by a person before) or ``"rejected"``.
    tihai : str
        Key of the tihai that says so; empty while it waits.
    """

    found: Found
    ranked: float
    status: Status
    tihai: str = ""

    @property
    def key(self) -> str:
        """Its key."""
        return self.found.key

    @property
    def section(self) -> str:
        """The section it is played in."""
        return self.found.section

    @property
    def tala(self) -> str:
        """Key of the tala it is counted in."""
        return self.found.tala

    @property
    def proposal(self) -> Proposal:
        """What was found."""
        return self.found.proposal

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values; matras as texts ``n/d``."""
        found = self.proposal
        return {
            "key": self.key,
            "status": self.status,
            "tihai": self.tihai,
            "section": self.section,
            "tala": self.tala,
            "cycle": found.cycle,
            "start": stored(found.start),
            "start_s": round(found.start_s, 3),
            "palla_s": [round(each, 3) for each in found.palla_s],
            "landing_s": round(found.landing_s, 3),
            "palla": found.text,
            "palla_length": stored(found.palla),
            "dam": stored(found.dam),
            "kind": found.kind,
            "target": stored(found.target),
            "aims_at": found.aims_at,
            "off": stored(found.off),
            "misses": found.misses,
            "played_by": found.played_by,
            "moved": found.moved,
            "confidence": round(self.ranked, 3),
            "confidence_heard": round(found.confidence, 3),
            "reading": found.reading,
            "reason": found.reason,
        }
