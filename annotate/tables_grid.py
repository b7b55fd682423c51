"""Sections and sams from rows: what the grid follows from. Columns: see :mod:`annotate.tables_in`."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import replace

from annotate.cells import NO_TALA
from annotate.checks import EDGE_S, SAME_SAM_S, section_for_sam
from annotate.csv_read import Row
from annotate.known_rows import Kept, filled, says_the_same
from annotate.labels import kind_in, tala_in
from annotate.records import MarkedSam, Section
from annotate.revisions import Edit, add, change, withdraw
from annotate.state import State
from theory.talas import get_tala

MOST_NAME = 200
"""The longest name or label of a section, in signs."""


def section_edits(state: State, rows: Sequence[Row]) -> list[Edit]:
    """Return the edits that rows of sections ask for."""
    present = {each.section: each for each in state.sections}
    kept = Kept(state.sections, "section", ("start_s", "end_s"))
    found: dict[str, Section] = {}
    for row in map(_named, rows):
        name = row.text("section")
        if name in found:
            raise row.bad("section", f"A second section is called '{name}'. Give each a name of its own.")
        cells = kept.of_key(row)
        if cells is not None and says_the_same(row, cells):
            found[name] = present[name]
        else:
            found[name] = _section(row if cells is None or row.text("label") else filled(row, cells))
    edits = [
        change(each) if each.section in present else add(each)
        for each in found.values()
        if present.get(each.section) != each
    ]
    return edits + _withdraw_proposed(state, found)


def _named(row: Row) -> Row:
    """Give a row the name of its section, which stands under ``section`` or, lacking that, ``label``."""
    name = row.text("section", "label")
    if not name:
        raise row.bad("section", "Expected the section's name; the cell is empty.")
    return replace(row, cells={**row.cells, "section": name})


def _section(row: Row) -> Section:
    start_s, end_s = row.time_s("start_s"), row.time_s("end_s")
    if end_s <= start_s:
        raise row.bad("end_s", "The section ends before it starts.")
    label = row.text("label", "section")
    if max(len(label), len(row.text("section"))) > MOST_NAME:
        raise row.bad("section", f"The name of a section has at most {MOST_NAME} signs.")
    tala = row.read("tala", _tala) if row.text("tala") else tala_in(label)
    return Section(row.text("section"), row.text("kind") or kind_in(label, tala), start_s, end_s, tala, "person")


def _tala(text: str) -> str:
    return "" if text.casefold() == NO_TALA else get_tala(text).key


def _withdraw_proposed(state: State, found: dict[str, Section]) -> list[Edit]:
    """Take back the sections that ingest proposed and the file does not name: a person's division replaces them.

    A sam marked in one of them goes over to the section of the file that it falls in; where there is none, the proposed
    section stays.
    """
    edits: list[Edit] = []
    counted = [each for each in found.values() if each.tala]
    for section in state.sections:
        if section.section in found or section.source != "ingest":
            continue
        marks = [sam for sam in state.marked_sams if sam.section == section.section]
        homes = [next((new for new in counted if new.start_s <= sam.sam_s <= new.end_s), None) for sam in marks]
        moved = [change(replace(sam, section=home.section)) for sam, home in zip(marks, homes, strict=True) if home]
        if len(moved) == len(marks):
            edits.extend([withdraw("sections", section.section), *moved])
    return edits


def sam_edits(state: State, rows: Sequence[Row]) -> list[Edit]:
    """Return the edits that rows of sams ask for.

    A sam that is marked already is passed over; a mark nearer than :data:`~annotate.checks.SAME_SAM_S` moves there.
    """
    edits: list[Edit] = []
    last: dict[str, MarkedSam] = {}
    present: dict[str, list[MarkedSam]] = {}
    for mark in state.marked_sams:
        present.setdefault(mark.section, []).append(mark)
    keys = iter(state.next_keys("sams", len(rows)))
    for row in rows:
        time_s, cycle = row.time_s("sam_s"), row.optional_whole("cycle")
        section = _section_of_sam(state, row, time_s).section
        mark = MarkedSam("", section, time_s, cycle)
        if section in last:
            _check_after(row, mark, last[section])
        last[section] = mark
        known = _nearest(present.get(section, []), time_s)
        if known is None:
            edits.append(add(replace(mark, sam=next(keys))))
            continue
        present[section].remove(known)
        same = abs(known.sam_s - time_s) < row.within_s
        there = replace(known, sam_s=known.sam_s if same else time_s, cycle=known.cycle if cycle is None else cycle)
        if there != known:
            edits.append(change(there))
    return edits


def _check_after(row: Row, mark: MarkedSam, before: MarkedSam) -> None:
    """Refuse a sam that does not follow the one before it in the file."""
    if mark.sam_s <= before.sam_s:
        raise row.bad(
            "sam_s",
            f"Sam marks are out of order: {mark.sam_s:g} stands after {before.sam_s:g}. Sort the rows by time.",
        )
    if mark.sam_s - before.sam_s < SAME_SAM_S:
        raise row.bad(
            "sam_s",
            f"The sams {before.sam_s:g} and {mark.sam_s:g} are {1000 * (mark.sam_s - before.sam_s):.0f} ms apart; no "
            "avartan is that short. Leave one of them out.",
        )
    if mark.cycle is not None and before.cycle is not None and mark.cycle <= before.cycle:
        raise row.bad("cycle", f"Cycle {mark.cycle} stands after cycle {before.cycle}. They count up with time.")


def _nearest(marks: Sequence[MarkedSam], time_s: float) -> MarkedSam | None:
    """Return the mark nearest to a time, of marks in order of time, if it is the same sam."""
    place = bisect_left(marks, time_s, key=lambda each: each.sam_s)
    near = [each for each in marks[max(place - 1, 0) : place + 1] if abs(each.sam_s - time_s) < SAME_SAM_S]
    return min(near, key=lambda each: abs(each.sam_s - time_s), default=None)


def _section_of_sam(state: State, row: Row, time_s: float) -> Section:
    """Find the section by name, or by time where no section has the name."""
    named = row.text("section").casefold()
    section = next((each for each in state.sections if each.section.casefold() == named), None)
    if section is None:
        return row.read("sam_s", lambda _: section_for_sam(state, time_s))
    if not section.tala:
        raise row.bad("section", f"'{section.section}' has no tala, so it has no sam. Give it a tala in the sections.")
    if not section.start_s - EDGE_S <= time_s <= section.end_s + EDGE_S:
        raise row.bad(
            "sam_s", f"{time_s:g} s lies outside '{section.section}' ({section.start_s:g} to {section.end_s:g} s)."
        )
    return section
