"""Two people change the same row: what can be put together exactly is, the rest is shown and a person decides.

Fields that hang together are one thing (:data:`TOGETHER`): when a tihai was played, its sum on paper, the span of a
phrase. Where two people changed different things of a tihai, a phrase or a recording's card, the row takes the changes
of both; no check of :mod:`annotate.checks` looks at two things at once, and all of them are run on the result. Where
both changed the same thing to something else, nothing is written until it is said whose is kept. Sections and marked
sams are never put together so: they hang together with the rows beside them.
"""

from __future__ import annotations

from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from typing import Literal, cast

from annotate.archive import Archive
from annotate.checks import check_phrase, check_tihai
from annotate.errors import BadMoment, BothChanged, ConflictingEdit, NoSuchRow
from annotate.history.points import moment_words
from annotate.history.words import differing
from annotate.records import TABLE_OF, WORD_FOR, ByItself, PhraseRecord, Record, Recording, TihaiRecord, key_of
from annotate.revisions import add, change
from annotate.state import State

Keep = Literal["", "mine", "theirs"]
"""Whose version is kept of what both changed; empty: neither, it is to be asked."""

TOGETHER: dict[type[Record], tuple[frozenset[str], ...]] = {
    TihaiRecord: (
        frozenset({"palla_s", "landing_s"}),
        frozenset({"tala", "start", "palla", "dam", "rule", "target"}),
    ),
    PhraseRecord: (frozenset({"start_s", "end_s"}),),
    Recording: (),
}
"""Fields that are changed as one thing, by the kind of row; every other field is a thing by itself."""


@dataclass(frozen=True)
class Merged:
    """A row put together of two versions.

    ``theirs`` and ``mine`` name the fields that have their new value from the one or the other, ``clashing`` those that
    both changed to something else: of these the row has what was asked to be kept.
    """

    record: ByItself
    theirs: tuple[str, ...]
    mine: tuple[str, ...]
    clashing: tuple[str, ...]


@dataclass(frozen=True)
class Written:
    """What became of a change: its revision (0: nothing was left to write), what the row was put together of."""

    revision: int
    merged: Merged


def merge(base: ByItself, theirs: ByItself, mine: ByItself, keep: Keep = "") -> Merged:
    """Put two versions of a row together.

    Parameters
    ----------
    base, theirs, mine
        The row that both began with, and what each made of it.
    keep : str
        Whose version is taken of what both changed; theirs where it is empty.
    """
    by_them, by_me = _things_changed(base, theirs), _things_changed(base, mine)
    clashing = {thing for thing in by_them & by_me if any(getattr(theirs, n) != getattr(mine, n) for n in thing)}
    taken = by_me if keep == "mine" else by_me - clashing
    names = [name for thing in taken for name in thing]
    record = replace(theirs, **{name: getattr(mine, name) for name in names})
    new = differing([base, record])
    return Merged(
        record,
        theirs=tuple(name for name in new if name not in names),
        mine=tuple(name for name in new if name in names),
        clashing=tuple(name for name in differing([base, theirs, mine]) if any(name in thing for thing in clashing)),
    )


def change_merging(
    archive: Archive, slug: str, mine: ByItself, *, who: str, why: str, seen: int, keep: Keep = ""
) -> Written:
    """Change a row that was looked at as of a revision, together with what others have made of it since.

    Parameters
    ----------
    mine : TihaiRecord, PhraseRecord or Recording
        The row as it is to be.
    seen : int
        The revision on which it was looked at.
    keep : str
        Whose version is kept of what both changed. A row that they withdrew comes back with ``mine``.

    Raises
    ------
    BothChanged
        Both changed the same thing and ``keep`` is empty, or they withdrew the row; shows what it was, theirs and mine.
        Nothing is written.
    BadAnnotation, BadMoment, NoSuchRow
        The row could not be true of the recording; it has no such revision; there was no such row. Nothing is written.
    """
    table, key = TABLE_OF[type(mine)], key_of(mine)
    while True:
        ledger = archive.ledger(slug)
        if not 1 <= seen <= ledger.latest:
            raise BadMoment(f"'{slug}' has no revision {seen}; its latest is {ledger.latest}.")
        state = ledger.state(ledger.latest)
        base, theirs = (each.get(key) for each in (ledger.state(seen, {(table, key)}).rows[table], state.rows[table]))
        if base is None:
            raise NoSuchRow(WORD_FOR[table], key, slug, list(state.rows[table]))
        back = theirs is None and keep == "mine"
        merged = merge(cast(ByItself, base), cast(ByItself, theirs or base), mine, keep)
        if (theirs is None and not back) or (merged.clashing and not keep):
            last = ledger.revisions(seen, table=table, key=key)[-1]
            raise BothChanged(
                slug, table, key, was=base, theirs=theirs, mine=mine, who=last.who, when=moment_words(last.when),
                their_revision=last.number, seen=seen, clashing=merged.clashing,
            )  # fmt: skip
        record = _checked(state, merged.record)
        if record == theirs:
            return Written(0, merged)
        try:
            number = archive.commit(slug, [add(record) if back else change(record)], who, why, parent=ledger.latest)
        except ConflictingEdit:
            continue  # somebody was faster again: put it together with that as well
        return Written(number, replace(merged, record=record))


def _things_changed(base: Record, version: Record) -> AbstractSet[frozenset[str]]:
    """Return the things in which a version differs from the base."""
    groups = TOGETHER[type(base)]
    return {next((g for g in groups if name in g), frozenset({name})) for name in differing([base, version])}


def _checked(state: State, record: ByItself) -> ByItself:
    """Return the row as it may be written, or raise what it cannot be."""
    if isinstance(record, TihaiRecord):
        return check_tihai(state, record)
    if isinstance(record, PhraseRecord):
        check_phrase(state, record)
    return record
