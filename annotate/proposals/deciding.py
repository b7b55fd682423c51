"""Accepting and rejecting a proposal: either writes a tihai, so that history, undo and conflicts are as ever."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from fractions import Fraction
from typing import Any

from annotate.archive import Archive
from annotate.checks import check_tihai
from annotate.errors import ConflictingEdit
from annotate.proposals.errors import CannotDecide, NoSuchProposal
from annotate.proposals.proposed import Proposed
from annotate.proposals.proposing import proposed
from annotate.proposals.written import Span, written_as
from annotate.records import Status, TihaiRecord
from annotate.revisions import add, change
from theory.clock import format_clock
from theory.errors import LayakoshError
from theory.tihai import LandingRule

MOVED_S = 0.15
"""Where the grid puts start or landing farther than this from where it was proposed, it has changed there."""


@dataclass(frozen=True)
class Decision:
    """What was done with a proposal.

    Parameters
    ----------
    key : str
        Of the proposal.
    tihai : TihaiRecord
        As it is written down now.
    """

    key: str
    tihai: TihaiRecord

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return {"key": self.key, "tihai": self.tihai.tihai, "status": self.tihai.status}


def accept(archive: Archive, slug: str, key: str, who: str = "") -> Decision:
    """Write a proposal down as a confirmed tihai. One that was rejected is taken up again.

    Raises
    ------
    NoSuchRecording
    NoSuchProposal
        With the nearest keys.
    CannotDecide
        It is accepted already, the grid there has changed since, or what it says cannot be written down.
    """
    return _decide(archive, slug, key, who, "confirmed")


def reject(archive: Archive, slug: str, key: str, who: str = "") -> Decision:
    """Write a proposal down as rejected, so that it is not proposed again.

    Raises
    ------
    NoSuchRecording
    NoSuchProposal
        With the nearest keys.
    CannotDecide
        It is rejected or accepted already.
    """
    return _decide(archive, slug, key, who, "rejected")


def _decide(archive: Archive, slug: str, key: str, who: str, status: Status) -> Decision:
    every = proposed(archive, slug) or []
    chosen = next((each for each in every if each.key == key), None)
    if chosen is None:
        raise NoSuchProposal(key, slug, [each.key for each in every if each.status == "waiting"])
    if status == "confirmed":
        _refuse_moved(archive, slug, chosen)
    verb = "accepted" if status == "confirmed" else "rejected"
    while True:
        state = archive.state(slug)
        present = written_as(Span(chosen.proposal.start_s, chosen.proposal.landing_s), state.tihais)
        now = datetime.now(UTC).replace(microsecond=0)
        if present is None:
            record = _checked(archive, slug, chosen, replace(_record(archive, slug, chosen), status=status))
            record = replace(record, tihai=state.next_keys("tihais", 1)[0], who=who, at=now)
            edit = add(record)
        else:
            _refuse_decided(slug, key, present, status)
            record = replace(present, status=status, who=who, at=now)
            edit = change(record)
        try:
            archive.commit(slug, [edit], who, f"proposal {key} {verb}", parent=state.revision)
        except ConflictingEdit:
            continue  # somebody wrote a tihai meanwhile: it may be this one
        return Decision(key, record)


def _record(archive: Archive, slug: str, chosen: Proposed) -> TihaiRecord:
    found = chosen.proposal
    lead = archive.state(slug).recording.lead or "lead"
    return TihaiRecord(
        "", found.palla_s, found.landing_s, chosen.tala, found.start, found.text, found.dam, LandingRule.WITHIN,
        found.target, lead if found.played_by == "lead" else found.played_by, kind=found.kind,
    )  # fmt: skip


def _checked(archive: Archive, slug: str, chosen: Proposed, record: TihaiRecord) -> TihaiRecord:
    """The record as it is written; of a rejected one that cannot be written down only where it lies."""
    try:
        return check_tihai(archive.state(slug), record)
    except LayakoshError as error:
        if record.status == "rejected":
            return replace(record, palla="", dam=None, start=None)
        raise CannotDecide(
            f"What is proposed as {chosen.key} cannot be written down: {error}\nWrite the tihai at "
            f"{format_clock(chosen.proposal.start_s, 1)} down as you hear it: layakosh tihai {slug} --starts T1,T2,T3 "
            "--landing T"
        ) from error


def _refuse_decided(slug: str, key: str, present: TihaiRecord, status: Status) -> None:
    if present.status != "rejected":
        raise CannotDecide(
            f"{key} is written down already, as tihai {present.tihai}. To change it: "
            f"layakosh change {slug} {present.tihai} status=rejected"
            if status == "rejected"
            else f"{key} is written down already, as tihai {present.tihai}."
        )
    if status == "rejected":
        raise CannotDecide(f"{key} is rejected already, as {present.tihai}.")


def _refuse_moved(archive: Archive, slug: str, chosen: Proposed) -> None:
    """Refuse what was counted on another grid than there is now: its sum would be wrong."""
    found = chosen.proposal
    grid = archive.grid(slug).at(found.start_s, slack_s=MOVED_S)
    lands = found.target + found.off
    for time_s, matra in ((found.start_s, found.start), (found.landing_s, lands)):
        matras = Fraction(grid.tala.matras) if grid is not None else Fraction(1)
        due_s = grid.nearest_occurrence(time_s, (matra - 1) % matras + 1)[1] if grid is not None else float("inf")
        if grid is None or grid.tala.key != chosen.tala or abs(due_s - time_s) > MOVED_S:
            raise CannotDecide(
                f"The grid at {format_clock(time_s, 1)} has changed since {chosen.key} was proposed, so it would be "
                f"counted wrongly. Propose again, which is quick: layakosh propose {slug}"
            )
