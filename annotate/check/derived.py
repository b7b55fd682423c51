"""Snapshots and ledgers: damaged, of another history, or telling something else than the revisions."""

from __future__ import annotations

from collections.abc import Iterator

from annotate import snapshots
from annotate.check.findings import Finding
from annotate.check.history import History
from annotate.history import ledger
from annotate.layout import named
from annotate.revisions import BROKEN, file_of
from annotate.state import State, empty, replay
from annotate.store.base import Store
from annotate.store.folder import Folder

_HARMLESS = "It is passed over, so nothing is wrong but that opening takes longer."
_MEND = "It is moved to set-aside/ and made again."


def findings_of(store: Store, history: History) -> Iterator[Finding]:
    """Give what is wrong with the snapshots and ledgers of a recording whose revisions are whole.

    What follows from a later revision than was listed has come since, and one that is gone was replaced meanwhile.
    """
    latest = max(history.sound)
    place = Folder(store, f"recordings/{history.slug}")
    numbers = [number for number in snapshots.numbers(place) if number <= latest]
    states = _states(history, numbers)
    for number in numbers:
        name = f"recordings/{history.slug}/snapshots/{file_of(number)}"
        state, stands = snapshots.held(place, history.slug, number)
        if not store.stamp(name):
            continue
        if state is None:
            yield _finding("snapshot damaged", name, _HARMLESS)
        elif number not in states or not stands:
            yield _finding("snapshot of another history", name, _HARMLESS)
        elif state.rows != states[number].rows:
            yield _finding("snapshot lies", name, "It tells another state than the revisions, and was believed.")
    for file, (held, stands) in ledger.kept(place, history.slug).items():
        name = f"recordings/{history.slug}/ledger/{file}"
        if not store.stamp(name) or named(name).number > latest:
            continue
        if held is None:
            yield _finding("ledger damaged", name, _HARMLESS)
        elif not stands:
            yield _finding("ledger of another history", name, _HARMLESS)
        elif not _tells(held, history):
            yield _finding("ledger lies", name, "It tells another history than the revisions, and was believed.")


def _finding(kind: str, name: str, means: str) -> Finding:
    return Finding(kind, name, means, _MEND, ("derived", name))


def _tells(held: ledger.Ledger, history: History) -> bool:
    try:
        told = held.revisions()
    except BROKEN:
        return False
    return told == [
        history.sound[number]
        for number in sorted(history.sound)
        if number <= held.latest and history.sound[number].edits
    ]


def _states(history: History, numbers: list[int]) -> dict[int, State]:
    """The states as of some revisions."""
    found: dict[int, State] = {}
    state = empty(history.slug)
    for number in sorted(set(numbers) & set(history.sound)):
        state = replay(state, [history.sound[each] for each in range(state.revision + 1, number + 1)])
        found[number] = state
    return found
