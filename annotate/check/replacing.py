"""What takes the place of a lost revision.

In order: a whole copy of it that lies under another name; what the ledger repeats; else a revision that does to the
rows what follows from a later state that is kept elsewhere; else an empty one, so that the later revisions, which hold
whole rows, count again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from annotate.check.history import FARTHEST, History, file_name
from annotate.check.saved_copies import Index, Witness, from_ledger, latest_named, same, witnesses
from annotate.layout import named
from annotate.records import Record, Recording
from annotate.revisions import Edit, Revision, add, change, from_bytes, to_bytes, withdraw
from annotate.state import State, empty, replay
from annotate.store.base import Entry, Store

WHO = "layakosh check"


@dataclass(frozen=True)
class Replacement:
    """The content of the file that takes a lost revision's place, and where it is from, in words.

    ``whole`` tells whether it is what was lost, ``edits`` how many rows of what was lost are saved.
    """

    number: int
    content: bytes
    words: str
    whole: bool
    edits: int


def plan(store: Store, slug: str, history: History, entries: Sequence[Entry], index: Index) -> list[Replacement]:
    """Return what would take the place of every lost revision; nothing is written.

    Parameters
    ----------
    store : Store
    slug : str
    history : History
    entries : sequence of Entry
        Every file of the recording.
    index : Index
        See :func:`annotate.check.saved_copies.told_by_index`; read before the files were listed.
    """
    if history.newer or history.other_slug:
        return []
    here = max(history.sound, default=0)
    if here and len(history.sound) == here >= latest_named(store, slug, index) and not history.bad:
        return []
    told = from_ledger(store, slug)
    seen = [each for each in witnesses(store, slug, index) if each.number <= here + FARTHEST]
    latest = max([0, *told, *(witness.number for witness in seen)])
    if not history.sound and any(named(entry.name).kind in ("sound", "evidence") for entry in entries):
        latest = max(latest, 1)
    bad = {each.number for each in history.bad}
    lost = [
        number  # one that is there after all has come since the recording was listed
        for number in history.lost(latest)
        if number in bad or not store.stamp(file_name(slug, number))
    ]
    known = dict(history.sound)
    made: dict[int, Replacement] = {}
    for number in lost:
        if number in history.copies:
            name, content = history.copies[number]
            known[number] = from_bytes(content)[1]
            made[number] = Replacement(number, content, f"{name} is it, whole", True, len(known[number].edits))
        elif number in told:
            known[number] = told[number]
            words = "the ledger of the recording repeats it, whole"
            made[number] = Replacement(number, to_bytes(slug, told[number]), words, True, len(told[number].edits))
    left = [number for number in lost if number not in made]
    edits, sources = _from_witnesses(slug, known, seen, left)
    if left and slug not in _state(slug, known, edits).rows["recordings"]:
        first = edits.setdefault(left[0], {})
        first["recordings", slug] = add(_stand_in(slug, entries))
    for number in left:
        done = tuple(edits.get(number, {}).values())
        source = " and ".join(dict.fromkeys(sources.get(number, [])))
        words = f"what it did to {len(done)} rows follows from {source}" if source else "what it did is lost"
        why = f"in place of revision {number}, which was lost; {words}"
        revision = Revision(number, number - 1, WHO, datetime.now(UTC).replace(microsecond=0), why, done)
        made[number] = Replacement(number, to_bytes(slug, revision), words, False, len(done) if source else 0)
    return [made[number] for number in lost]


_Edits = dict[int, dict[tuple[str, str], Edit]]


def _from_witnesses(
    slug: str, known: Mapping[int, Revision], seen: Sequence[Witness], left: Sequence[int]
) -> tuple[_Edits, dict[int, list[str]]]:
    """What the lost revisions did, as far as later states tell: it is put down to the last that it may have been."""
    edits: _Edits = {}
    sources: dict[int, list[str]] = {}
    for witness in seen:
        number = max((each for each in left if each <= witness.number), default=0)
        if not number:
            continue
        upto = {each: revision for each, revision in known.items() if each <= witness.number}
        state = _state(slug, upto, {each: done for each, done in edits.items() if each <= witness.number})
        differences = _differences(state, witness)
        if differences:
            edits.setdefault(number, {}).update({(edit.table, edit.key): edit for edit in differences})
            sources.setdefault(number, []).append(witness.words)
    return edits, sources


def _state(slug: str, known: Mapping[int, Revision], edits: _Edits) -> State:
    stand_ins = {
        number: Revision(number, number - 1, WHO, datetime.now(UTC), "", tuple(done.values()))
        for number, done in edits.items()
    }
    together = {**known, **stand_ins}
    return replay(empty(slug), [together[number] for number in sorted(together)])


def _differences(state: State, witness: Witness) -> list[Edit]:
    found: list[Edit] = []
    for table, rows in witness.rows.items():
        here: Mapping[str, Record] = state.rows[table]
        for key, record in rows.items():
            if key not in here:
                found.append(add(record))
            elif not same(here[key], record):
                found.append(change(record))
        found.extend(withdraw(table, key) for key in here if key not in rows)
    return found


def _stand_in(slug: str, entries: Sequence[Entry]) -> Recording:
    """A recording of which nothing is known but its files."""
    sound = [entry.name for entry in entries if named(entry.name).kind == "sound"]
    copies = [name for name in sound if "-original-" not in name] or sound
    notes = f"Title and all else were lost; this stands in for them since {datetime.now(UTC):%Y-%m-%d}."
    return Recording(slug, slug.replace("-", " "), audio_path=copies[0] if copies else "", notes=notes)
