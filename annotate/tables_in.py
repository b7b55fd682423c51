"""Annotations made elsewhere, from plain CSV: all of it in one revision, or nothing.

Columns (others are passed over; ``?`` = may be missing or empty; times are seconds, m:ss or h:mm:ss from the start):

* sections: ``start_s, end_s``, and ``section`` or ``label`` (its name); ``kind?``, ``tala?`` (read from the label
  where missing: "Vilambit teental (16 beats)" is in teental; a label that names no tala has none).
* sams: ``sam_s``; ``section?`` (found by name or, lacking that, by time), ``cycle?``.
* tihais: ``start_s``, ``landing_s`` (or ``end_s``); ``tihai?, second_s?, third_s?, palla?, dam?, start?, rule?,
  target?, tala?, played_by?, label?, kind?, status?``.
* phrases: ``start_s, end_s, swaras``; ``phrase?, role?``.

Loading the same files again changes nothing: a row with the key of one that exists corrects it, an equal row without
a key is passed over.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

from annotate.archive import Archive
from annotate.grid_store import present_grid
from annotate.labels import raga_key
from annotate.marking import trial
from annotate.records import PhraseRecord, Recording, TihaiRecord
from annotate.revisions import Edit, add
from annotate.slugs import is_slug, slug_of
from annotate.state import State, empty, replay
from annotate.tables_grid import sam_edits, section_edits
from annotate.tables_played import phrase_edits, tihai_edits
from theory.talas import get_tala


def load(
    archive: Archive,
    slug: str,
    *,
    sams: str | Path | None = None,
    tihais: str | Path | None = None,
    phrases: str | Path | None = None,
    sections: str | Path | None = None,
    raga: str = "",
    title: str = "",
    tala: str = "",
    performed_on: date | None = None,
    venue: str = "",
    musicians: Iterable[tuple[str, str]] = (),
    who: str = "",
    why: str = "tables loaded",
) -> str:
    """Load CSV files into a recording; one that the archive does not hold yet is made, without sound.

    Parameters
    ----------
    archive : Archive
    slug : str
        The recording's slug, or a name from which one is made.
    sams, tihais, phrases, sections : path, optional
    raga, title, tala, performed_on, venue, musicians
        For a recording that is made.

    Returns
    -------
    str
        The slug.

    Raises
    ------
    BadTable
        Names file, row and column.
    theory.errors.NotationError
        A palla or phrase that does not parse; shows the place.
    """
    name = slug if is_slug(slug) else slug_of(slug)
    edits: list[Edit] = []
    if name in archive:
        state = archive.state(name)
    else:
        made = Recording(name, title or slug, performed_on, venue, raga_key(raga) if raga else "")
        made = replace(made, tala=get_tala(tala).key if tala else "", musicians=tuple(musicians))
        edits.append(add(made))
        state = empty(name)
        state = replay(state, [trial(state, edits)])
    base = state.revision if edits == [] else 0
    for path, reader in ((sections, section_edits), (sams, sam_edits), (phrases, phrase_edits)):
        if path is not None:
            state = _take(state, edits, reader(state, path))
    # the fit is tried before anything is written: marks that no cycle can satisfy are refused
    grid = present_grid(state, archive.evidence_folder(name), strict=True)
    if tihais is not None:
        state = _take(state, edits, tihai_edits(state, tihais, grid))
    edits = _with_main_tala(state, _merged(edits))
    stamped = [_signed(edit, who) for edit in edits]
    if stamped:
        archive.commit(name, stamped, who, why, parent=base)
    return name


def _take(state: State, edits: list[Edit], new: list[Edit]) -> State:
    edits.extend(new)
    return replay(state, [trial(state, new)])


def _merged(edits: list[Edit]) -> list[Edit]:
    """Leave one edit a row, where two files touch the same one: the later values, added if the row is new."""
    merged: dict[tuple[str, str], Edit] = {}
    for edit in edits:
        earlier = merged.get((edit.table, edit.key))
        is_new = earlier is not None and earlier.action == "add"
        merged[edit.table, edit.key] = replace(edit, action="add") if is_new else edit
    return list(merged.values())


def _with_main_tala(state: State, edits: list[Edit]) -> list[Edit]:
    """Give a recording that is made the tala of its longest section, where none was named."""
    if not edits or not isinstance(edits[0].record, Recording) or edits[0].record.tala:
        return edits
    longest = max(
        (each for each in state.sections if each.tala), key=lambda each: each.end_s - each.start_s, default=None
    )
    return [add(replace(edits[0].record, tala=longest.tala if longest else "")), *edits[1:]]


def _signed(edit: Edit, who: str) -> Edit:
    if not isinstance(edit.record, TihaiRecord | PhraseRecord):
        return edit
    return replace(edit, record=replace(edit.record, who=who, at=datetime.now(UTC).replace(microsecond=0)))
