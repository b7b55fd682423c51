"""The whole check, recording by recording: memory does not grow with what a recording holds."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from annotate.check import derived, measured, parts, places, revised, rows, shelves, sound
from annotate.check.findings import Finding
from annotate.check.history import History, look
from annotate.check.replacing import plan
from annotate.check.saved_copies import Index, told_by_index
from annotate.layout import named
from annotate.removing import begun
from annotate.slugs import is_slug
from annotate.state import State, empty, replay
from annotate.store.base import Entry, Store

_LOOKS = 2
"""So often a recording is looked at that seems damaged: somebody may have written while it was listed."""


@dataclass(frozen=True)
class Checked:
    """What was found of a recording, and its state where the revisions are whole."""

    findings: list[Finding] = field(default_factory=list)
    state: State | None = None


def check(
    store: Store, *, listen: bool = False, tell: Callable[[float], None] = lambda _share: None
) -> Iterator[Finding]:
    """Give everything that is found of an archive; nothing is written.

    Parameters
    ----------
    store : Store
    listen : bool
        See :func:`annotate.check.sound.findings_of`.
    tell : callable
        Told the share done, 0 to 1.

    Raises
    ------
    NotAnArchive
        There is neither a card nor a recording.
    NewerArchive
        The archive was written by a newer version.
    OSError
        The store cannot be reached.
    """
    yield from places.findings_of_card(store)
    index = told_by_index(store)
    going = set(begun(store))
    slugs = [name for name in store.folders("recordings") if is_slug(name) and name not in going]
    whole: dict[str, parts.Summary] = {}
    for number, slug in enumerate(slugs):
        checked = check_recording(store, slug, index, listen=listen)
        yield from checked.findings
        if checked.state is not None:
            whole[slug] = parts.summary(checked.state)
        tell((number + 1) / (len(slugs) + 1))
    yield from parts.findings_of(store, whole)
    yield from shelves.findings_of(store)
    yield from places.findings_of_rest(store)
    tell(1.0)


def check_recording(store: Store, slug: str, index: Index, *, listen: bool = False) -> Checked:
    """Check one recording; ``index`` is what :func:`annotate.check.saved_copies.told_by_index` gives."""
    for _ in range(_LOOKS):
        entries = store.walk(f"recordings/{slug}")
        history = look(store, slug, entries)
        replacements = plan(store, slug, history, entries, index)
        if not replacements and not history.lost():
            break
    found = revised.findings_of(history, replacements)
    state: State | None = None
    if history.sound and not history.bad and not history.lost() and not replacements:
        state = replay(empty(slug), [history.sound[number] for number in sorted(history.sound)])
        found.extend(derived.findings_of(store, history))
        whole = _as_it_comes_back(state, history)
        if slug in whole.rows["recordings"]:
            found.extend(sound.findings_of(store, whole, listen=listen))
            found.extend(rows.findings_of(whole))
    found.extend(measured.findings_of(store, slug, state, entries))
    found.extend(places.foreign(_elsewhere(slug, entries)))
    return Checked(found, state)


def _as_it_comes_back(state: State, history: History) -> State:
    """The state of a recording; of one that is withdrawn, as it is when it is brought back."""
    if not state.withdrawn:
        return state
    return replay(empty(state.slug), [history.sound[number] for number in range(1, state.revision)])


def _elsewhere(slug: str, entries: list[Entry]) -> list[Entry]:
    """Files that are not among the revisions, where the history tells of every name."""
    home = f"recordings/{slug}/revisions/"
    return [entry for entry in entries if not (entry.name.startswith(home) or named(entry.name).kind == "revision")]
