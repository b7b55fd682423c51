"""Accepting and rejecting a proposal: either writes a tihai, so that history, undo and conflicts are as ever."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from fractions import Fraction
from typing import Any

from annotate.archive import Archive
from annotate.checks import check_tihai
from annotate.errors import ConflictingEdit
from annotate.proposals import kept as store
from annotate.proposals.errors import CannotDecide, NoSuchProposal
from annotate.proposals.proposed import Proposed
from annotate.proposals.proposing import with_status
from annotate.proposals.written import span_of_found, written_as
from annotate.records import Recording, Status, TihaiRecord
from annotate.revisions import Edit, add, change
from annotate.state import State
from theory.clock import format_clock
from theory.errors import LayakoshError
from theory.notation import parse
from theory.numbers import matras
from theory.tihai import LandingRule

ACCOMPANYING = ("tabla", "pakhawaj", "tanpura", "tambura", "swarmandal")
"""Who does not lead; common practice, no source."""
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


def accept(archive: Archive, slug: str, key: str, who: str = "", *, palla: str = "") -> Decision:
    """Write a proposal down as a confirmed tihai. One that was rejected is taken up again.

    ``palla`` takes the place of the draft; palla and dam together stay what was played.

    Raises
    ------
    NoSuchRecording
    NoSuchProposal
        With the nearest keys.
    CannotDecide
        It is accepted already, the grid there has changed since, or what it says cannot be written down.
    NotationError
        ``palla`` cannot be read.
    """
    return _decide(archive, slug, [key], who, "confirmed", palla)[0]


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
    return reject_all(archive, slug, [key], who)[0]


def accept_all(archive: Archive, slug: str, keys: Sequence[str], who: str = "") -> list[Decision]:
    """Accept several proposals in one edit, or none of them; see `accept`."""
    return _decide(archive, slug, keys, who, "confirmed")


def reject_all(archive: Archive, slug: str, keys: Sequence[str], who: str = "") -> list[Decision]:
    """Reject several proposals in one edit, or none of them; see `reject`."""
    return _decide(archive, slug, keys, who, "rejected")


def _decide(
    archive: Archive, slug: str, keys: Sequence[str], who: str, status: Status, palla: str = ""
) -> list[Decision]:
    tihais = archive.state(slug).tihais
    kept = store.load(archive.evidence_folder(slug)) or store.Kept()
    unranked = [each.proposal.confidence for each in kept.found]
    every = {each.key: each for each in with_status(tihais, kept.found, unranked)}
    keys = list(dict.fromkeys(keys))
    for key in keys:
        if key not in every:
            raise NoSuchProposal(key, slug, [each.key for each in every.values() if each.status == "waiting"])
        if status == "confirmed":
            _refuse_moved(archive, slug, every[key])
    done = "accepted" if status == "confirmed" else "rejected"
    why = f"{'proposal' if len(keys) == 1 else 'proposals'} {done}: {', '.join(keys)}"
    while True:
        state = archive.state(slug)
        edits = [_edit(state, every[key], number, who, status, palla) for number, key in enumerate(keys)]
        try:
            archive.commit(slug, edits, who, why, parent=state.revision)
        except ConflictingEdit:
            continue  # somebody wrote a tihai meanwhile: it may be one of these
        records = [edit.record for edit in edits]
        return [Decision(key, each) for key, each in zip(keys, records, strict=True) if isinstance(each, TihaiRecord)]


def _edit(state: State, chosen: Proposed, number: int, who: str, status: Status, palla: str) -> Edit:
    """Add the tihai that is proposed, the so-manieth of an edit, or change what was said of it before."""
    present = written_as(span_of_found(chosen.found), state.tihais)
    now = datetime.now(UTC).replace(microsecond=0)
    if present is not None:
        _refuse_decided(state.slug, chosen.key, present, status)
        present = _with_palla(present, chosen, palla) if palla else present
        return change(replace(present, status=status, who=who, at=now))
    record = _checked(state, chosen, status, palla)
    return add(replace(record, tihai=state.next_keys("tihais", number + 1)[number], who=who, at=now))


def lead_of(recording: Recording) -> str:
    """Return what the lead plays: as the recording says, else the first of its musicians who does not accompany."""
    others = (role for role, _name in recording.musicians if role.lower() not in ACCOMPANYING)
    return recording.lead or next(others, "lead")


def _with_palla(record: TihaiRecord, chosen: Proposed, palla: str) -> TihaiRecord:
    """The same with the palla as somebody writes it; what is left until the next one is the dam."""
    found, length = chosen.proposal, parse(palla).length
    dam = found.palla + found.dam - length
    if dam < 0:
        raise CannotDecide(
            f"The palla as written has {matras(length)}, but from one palla to the next there are only "
            f"{matras(found.palla + found.dam)}. Write a shorter one."
        )
    plain = "damdar" if dam else "bedam"
    kind = plain if found.kind in ("bedam", "damdar") else found.kind
    return replace(record, palla=palla, dam=dam, start=found.start, kind=kind)


def _checked(state: State, chosen: Proposed, status: Status, palla: str) -> TihaiRecord:
    """The tihai as it is written; of a rejected one that cannot be written down only where it lies."""
    found = chosen.proposal
    by = lead_of(state.recording) if found.played_by == "lead" else found.played_by
    record = TihaiRecord(
        "", found.palla_s, found.landing_s, chosen.tala, found.start, found.text, found.dam, LandingRule.WITHIN,
        found.target, by, status, kind=found.kind,
    )  # fmt: skip
    if palla:
        return check_tihai(state, _with_palla(record, chosen, palla))
    try:
        return check_tihai(state, record)
    except LayakoshError as error:
        if status == "rejected":
            return replace(record, palla="", dam=None, start=None)
        raise CannotDecide(
            f"What is proposed as {chosen.key} cannot be written down: {error}\nWrite down the tihai at "
            f"{format_clock(found.start_s, 1)} as you hear it: layakosh tihai {state.slug} --starts T1,T2,T3 "
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
