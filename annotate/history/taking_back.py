"""Undo and redo: a revision is taken back by a new one. What comes next is decided in :mod:`annotate.history.chains`.

A revision is taken back when each row that it touched stands as it left it, and no edit of the row was made, undone or
redone since that still makes a difference. Else somebody has changed the row, and that is told: also where they changed
it and then back, since their edits build on this one. Rows that it added are withdrawn, rows that it withdrew come back
under their own keys.

A sam that is nudged by key is moved many times within seconds, each time by a revision of its own. Undo goes back over
such a run in one step, and redo forward over it: each nudge is taken back by itself, so that who else has moved the sam
meanwhile is found as ever, and the history tells all of it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from annotate.archive import Archive
from annotate.errors import BadAnnotation, BadMoment, CannotTakeBack, ConflictingEdit, NothingToTakeBack
from annotate.history.chains import Chains
from annotate.history.changes import RowChange, edits
from annotate.history.ledger import Head, Ledger
from annotate.history.points import moment_words
from annotate.history.soundness import refuse_unsound
from annotate.history.timeline import changes_by
from annotate.marking import NUDGED, trial
from annotate.records import Record
from annotate.revisions import Edit
from annotate.state import replay

RUN_S = 5.0
"""Nudges of one sam belong together when no more than this lies between one and the next."""


@dataclass(frozen=True)
class Step:
    """What an undo or redo would take back (``takes_back``), and the edit it is about."""

    takes_back: Head
    edit: Head

    @property
    def words(self) -> str:
        """The edit in words: ``"revision 12 (asha, 2026-01-31 18:00 UTC: tihai written down)"``."""
        return head_words(self.edit)


@dataclass(frozen=True)
class TakenBack:
    """An undo or redo that was written as ``revision``, and what it changed.

    Where it went over a run of nudges, ``step`` is about the first that was taken back, ``revision`` is the last that
    was written, the changes are those of all of them, and ``nudges`` counts them.
    """

    revision: int
    kind: str
    step: Step
    changes: tuple[RowChange, ...]
    nudges: int = 1

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return {
            "revision": self.revision,
            "kind": self.kind,
            "takes_back": self.step.takes_back.number,
            "edit": self.step.edit.number,
            "who": self.step.edit.who,
            "why": self.step.edit.why,
            "nudges": self.nudges,
            "rows": [change.to_json() for change in self.changes],
        }


def head_words(head: Head) -> str:
    """Return a revision in words: its number, who, when and why."""
    why = f": {head.why}" if head.why else ""
    return f"revision {head.number} ({head.who or 'somebody'}, {moment_words(head.when)}{why})"


def can_undo(archive: Archive, slug: str, who: str | None) -> Step | None:
    """Return what :func:`undo` would take back, or None. ``who`` is None for everyone's edits."""
    chains = Chains.of(archive.ledger(slug))
    return _step(chains, chains.next_undo(who))


def can_redo(archive: Archive, slug: str, who: str | None) -> Step | None:
    """Return what :func:`redo` would bring back, or None. ``who`` is None for everyone's edits."""
    chains = Chains.of(archive.ledger(slug))
    return _step(chains, chains.next_redo(who))


def undo(archive: Archive, slug: str, who: str, *, everyone: bool = False) -> TakenBack:
    """Take back the latest edit that holds: of ``who``, or of anybody; of a run of nudges of one sam, all.

    Raises
    ------
    NothingToTakeBack
        None is left.
    CannotTakeBack
        Somebody has changed one of its rows since; it shows both versions. Nothing is written.
    BadAnnotation
        The rows do not fit among what was changed since. Nothing is written.
    """
    return _latest_taken_back(archive, slug, who, "undo", everyone)


def redo(archive: Archive, slug: str, who: str, *, everyone: bool = False) -> TakenBack:
    """Bring back what was undone last. Errors as in :func:`undo`."""
    return _latest_taken_back(archive, slug, who, "redo", everyone)


def take_back(archive: Archive, slug: str, number: int, who: str) -> TakenBack:
    """Take back one revision, whichever it is; taking back an undo is a redo.

    Raises
    ------
    BadMoment
        The recording has no such revision.
    NothingToTakeBack
        It has been taken back already, or is the one that took the recording in.
    CannotTakeBack, BadAnnotation
        As in :func:`undo`.
    """
    ledger = archive.ledger(slug)
    if not 1 <= number <= ledger.latest:
        raise BadMoment(f"'{slug}' has no revision {number}; it has 1 to {ledger.latest}.")
    chains = Chains.of(ledger)
    if number == 1:
        raise NothingToTakeBack(f"Revision 1 of '{slug}' took the recording in; it cannot be taken back.")
    if by := chains.taken_back_by(number):
        raise NothingToTakeBack(
            f"Revision {number} of '{slug}' has been taken back already, by {head_words(chains.head(by))}. "
            f"To bring it back: layakosh undo {slug} --revision {by}"
        )
    return _taken_back(archive, ledger, chains, number, who)


def _latest_taken_back(archive: Archive, slug: str, who: str, kind: str, everyone: bool) -> TakenBack:
    archive.state(slug)  # one that is withdrawn has to be brought back first
    ledger = archive.ledger(slug)
    chains = Chains.of(ledger)
    number = _next(chains, who, kind, everyone)
    if not number:
        raise NothingToTakeBack(_nothing(archive, slug, who, kind, everyone))
    done = _taken_back(archive, ledger, chains, number, who)
    latest = done.step.edit
    while nudged := _nudged(ledger, latest):
        ledger = archive.ledger(slug)
        chains = Chains.of(ledger)
        number = _next(chains, who, kind, everyone)
        edit = chains.edit_of(number) if number else None
        if edit is None or not _goes_on(latest, edit) or _nudged(ledger, edit) != nudged:
            break
        try:
            done = _together(done, _taken_back(archive, ledger, chains, number, who))
        except (CannotTakeBack, BadAnnotation):  # somebody else has moved it in between: so far, and no farther
            break
        latest = edit
    return done


def _next(chains: Chains, who: str, kind: str, everyone: bool) -> int:
    return (chains.next_undo if kind == "undo" else chains.next_redo)(None if everyone else who)


def _nudged(ledger: Ledger, edit: Head) -> str:
    """Return the key of the sam that an edit nudged; empty where it did anything else."""
    if not edit.why.startswith(NUDGED):
        return ""
    (revision,) = ledger.revisions(edit.number - 1, edit.number)
    keys = [each.key for each in revision.edits if each.table == "sams"]
    return keys[0] if len(keys) == len(revision.edits) == 1 else ""


def _goes_on(edit: Head, other: Head) -> bool:
    """Tell whether an edit belongs to the same run as another: of the same person, within seconds."""
    return edit.who == other.who and abs((edit.when - other.when).total_seconds()) <= RUN_S


def _together(done: TakenBack, more: TakenBack) -> TakenBack:
    """Return what two nudges of a sam changed, one after the other."""
    (first,), (last,) = done.changes, more.changes
    change = RowChange(first.table, first.key, first.before, last.after)
    return replace(done, revision=more.revision, changes=(change,), nudges=done.nudges + 1)


def _taken_back(archive: Archive, ledger: Ledger, chains: Chains, number: int, who: str) -> TakenBack:
    """Write the revision that takes one back, which may be."""
    slug = ledger.slug
    step = Step(chains.head(number), chains.edit_of(number))
    kind = "redo" if chains.kind(number) == "undo" else "undo"
    changes = tuple(_reversed(change) for change in changes_by(ledger, number))
    _refuse_changed_since(ledger, chains, number, changes)
    written = edits(changes)
    _refuse_unsound_among_newer(ledger, number, written)
    why = f"{kind} of revision {step.edit.number}" + (f": {step.edit.why}" if step.edit.why else "")
    try:
        revision = archive.commit(slug, written, who, why, parent=ledger.latest, undoes=number)
    except ConflictingEdit:  # somebody was faster: tell it as what it is, of this revision
        again = archive.ledger(slug)
        _refuse_changed_since(again, Chains.of(again), number, changes)
        raise
    return TakenBack(revision, kind, step, changes)


def _step(chains: Chains, number: int) -> Step | None:
    return Step(chains.head(number), chains.edit_of(number)) if number else None


def _reversed(change: RowChange) -> RowChange:
    return RowChange(change.table, change.key, change.after, change.before)


def _refuse_changed_since(ledger: Ledger, chains: Chains, number: int, changes: tuple[RowChange, ...]) -> None:
    """Refuse where a row does not stand as the revision left it, or came to stand so again by later edits."""
    rows = {(change.table, change.key) for change in changes}
    present, touching = ledger.state(ledger.latest, rows).rows, ledger.touching(rows, number)
    for change in changes:
        now: Record | None = present[change.table].get(change.key)
        later = touching[change.table, change.key]
        turned = [each for each in later if chains.turned_since(each, number)]
        if now != change.before or turned:
            theirs = chains.head((turned or later)[-1])
            raise CannotTakeBack(
                number,
                ledger.slug,
                change.table,
                change.key,
                theirs=now,
                mine=change.after,
                who=theirs.who,
                when=moment_words(theirs.when),
                their_revision=theirs.number,
            )


def _refuse_unsound_among_newer(ledger: Ledger, number: int, written: list[Edit]) -> None:
    """Refuse what does not fit among newer rows; sections and sams as they once were together are not asked about."""
    if not {edit.table for edit in written} & {"sections", "sams"}:
        return
    before, once = ledger.state(ledger.latest), ledger.state(number - 1)
    after = replay(before, [trial(before, written)])
    if (after.sections, after.marked_sams) != (once.sections, once.marked_sams):
        instead = (
            f"Take back first what was done to the sections since: layakosh history {ledger.slug} --table sections"
        )
        refuse_unsound(before, after, instead)


def _nothing(archive: Archive, slug: str, who: str, kind: str, everyone: bool) -> str:
    step = None if everyone else (can_undo if kind == "undo" else can_redo)(archive, slug, None)
    whose = "" if everyone else f" by {who or 'somebody without a name'}"
    if step is None:
        why = "" if kind == "undo" else " A new edit ends what can be brought back."
        return f"Nothing{whose} is left to {kind} in '{slug}'.{why} 'layakosh history {slug}' shows what was done."
    return (
        f"Nothing{whose} is left to {kind} in '{slug}'. What anybody did last is {step.words}: "
        f"layakosh {kind} {slug} --everyone"
    )
