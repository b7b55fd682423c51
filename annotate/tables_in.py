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

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from fractions import Fraction
from pathlib import Path
from typing import TypeVar, cast, get_args

from annotate.archive import Archive
from annotate.checks import check_phrase, check_tihai, section_for_sam
from annotate.csv_read import Row, read_rows
from annotate.errors import BadAnnotation
from annotate.grid import RecordingGrid
from annotate.grid_store import present_grid
from annotate.labels import kind_in, raga_key, tala_in
from annotate.marking import fill_in, trial
from annotate.records import (
    EPOCH,
    MarkedSam,
    Numbered,
    PhraseRecord,
    Recording,
    Section,
    Status,
    TihaiRecord,
    key_of,
    with_key,
)
from annotate.revisions import Edit, add, change
from annotate.slugs import is_slug, slug_of
from annotate.state import State, empty, replay
from theory.talas import get_tala
from theory.tihai import LandingRule

_Checked = TypeVar("_Checked")
SAME_S = 1e-6
"""Two times nearer than this are the same time, written with six decimals or more."""


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
    for path, reader in ((sections, _sections), (sams, _sams), (phrases, _phrases)):
        if path is not None:
            state = _take(state, edits, reader(state, path))
    if tihais is not None:
        grid = present_grid(state, archive.folder(name) / "evidence")
        state = _take(state, edits, _tihais(state, tihais, grid))
    edits = _with_main_tala(state, edits)
    stamped = [_signed(edit, who) for edit in edits]
    if stamped:
        archive.commit(name, stamped, who, why, parent=base)
    return name


def _take(state: State, edits: list[Edit], new: list[Edit]) -> State:
    edits.extend(new)
    return replay(state, [trial(state, new)])


def _sections(state: State, path: str | Path) -> list[Edit]:
    found: dict[str, Section] = {}
    for row in read_rows(path, [["start_s"], ["end_s"], ["section", "label"]]):
        start_s, end_s = row.time_s("start_s"), row.time_s("end_s")
        if end_s <= start_s:
            raise row.bad("end_s", "The section ends before it starts.")
        name = row.text("section", "label")
        if not name:
            raise row.bad("section", "Expected the section's name; the cell is empty.")
        if name in found:
            raise row.bad("section", f"A second section is called '{name}'. Give each a name of its own.")
        label = row.text("label", "section")
        tala = row.read("tala", lambda text: get_tala(text).key) if row.text("tala") else tala_in(label)
        kind = row.text("kind") or kind_in(label, tala)
        found[name] = Section(name, kind, start_s, end_s, tala, "person")
    present = {each.section: each for each in state.sections}
    return [
        change(each) if each.section in present else add(each)
        for each in found.values()
        if present.get(each.section) != each
    ]


def _sams(state: State, path: str | Path) -> list[Edit]:
    edits: list[Edit] = []
    last: dict[str, MarkedSam] = {}
    present = {section.section: [] for section in state.sections}  # type: dict[str, list[MarkedSam]]
    for mark in state.marked_sams:
        present.setdefault(mark.section, []).append(mark)
    rows = read_rows(path, [["sam_s"]])
    keys = iter(state.next_keys("sams", len(rows)))
    for row in rows:
        time_s, cycle = row.time_s("sam_s"), row.optional_whole("cycle")
        section = _section_of_sam(state, row, time_s)
        before = last.get(section.section)
        if before is not None and time_s <= before.sam_s:
            raise row.bad(
                "sam_s", f"Sam marks are out of order: {time_s:g} stands after {before.sam_s:g}. Sort the rows by time."
            )
        if before is not None and None not in (cycle, before.cycle) and cast(int, cycle) <= cast(int, before.cycle):
            raise row.bad("cycle", f"Cycle {cycle} stands after cycle {before.cycle}. They count up with time.")
        mark = MarkedSam("", section.section, time_s, cycle)
        known = next((each for each in present[section.section] if abs(each.sam_s - time_s) < SAME_S), None)
        if known is None:
            edits.append(add(replace(mark, sam=next(keys))))
        elif cycle is not None and known.cycle != cycle:
            edits.append(change(replace(known, cycle=cycle)))
        last[section.section] = mark
    return edits


def _section_of_sam(state: State, row: Row, time_s: float) -> Section:
    """Find the section by name, or by time where no section has the name."""
    named = row.text("section").casefold()
    section = next((each for each in state.sections if each.section.casefold() == named), None)
    if section is None:
        return row.read("sam_s", lambda _: section_for_sam(state, time_s))
    if not section.tala:
        raise row.bad("section", f"'{section.section}' has no tala, so it has no sam. Give it a tala in the sections.")
    if not section.start_s <= time_s <= section.end_s:
        raise row.bad(
            "sam_s", f"{time_s:g} s lies outside '{section.section}' ({section.start_s:g} to {section.end_s:g} s)."
        )
    return section


def _tihais(state: State, path: str | Path, grid: RecordingGrid) -> list[Edit]:
    def read(row: Row) -> TihaiRecord:
        given = [row.optional_time_s(name) for name in ("second_s", "third_s")]
        if given.count(None) == 1:
            empty_one = "second_s" if given[0] is None else "third_s"
            raise row.bad(
                empty_one, "Expected the starts of all three pallas, or of the first alone; the cell is empty."
            )
        starts = [row.time_s("start_s"), *(each for each in given if each is not None)]
        tala = row.read("tala", lambda text: get_tala(text).key) if row.text("tala") else ""
        record = TihaiRecord(
            tihai=row.text("tihai"),
            palla_s=tuple(starts),
            landing_s=row.time_s("landing_s", "end_s"),
            tala=tala,
            start=row.optional_matras("start"),
            palla=row.text("palla"),
            dam=row.optional_matras("dam"),
            rule=row.read("rule", _rule) if row.text("rule") else LandingRule.WITHIN,
            target=row.optional_matras("target") or Fraction(1),
            played_by=row.text("played_by"),
            status=row.read("status", _status) if row.text("status") else "proposed",
            label=row.text("label"),
            kind=row.text("kind"),
        )
        return _checked(row, "landing_s", lambda: check_tihai(state, fill_in(record, grid)))

    rows = read_rows(path, [["start_s"], ["landing_s", "end_s"]])
    return _numbered("tihais", "tihai", state, state.tihais, [(row, read(row)) for row in rows])


def _phrases(state: State, path: str | Path) -> list[Edit]:
    def read(row: Row) -> PhraseRecord:
        start_s, end_s = row.time_s("start_s"), row.time_s("end_s")
        if not row.text("swaras"):
            raise row.bad("swaras", "Expected the phrase's swaras; the cell is empty.")
        record = PhraseRecord(row.text("phrase"), start_s, end_s, row.text("swaras"), row.text("role"))
        _checked(row, "end_s", lambda: check_phrase(state, record))
        return record

    rows = read_rows(path, [["start_s"], ["end_s"], ["swaras"]])
    return _numbered("phrases", "phrase", state, state.phrases, [(row, read(row)) for row in rows])


def _numbered(
    table: str, column: str, state: State, present: Sequence[Numbered], found: list[tuple[Row, Numbered]]
) -> list[Edit]:
    """Turn rows into edits: a row with the key of one that exists corrects it, an equal one is passed over."""
    known = {key_of(each): _unsigned(each) for each in present}
    equal = {_unsigned(with_key(each, "")) for each in present}
    row_of: dict[str, int] = {}
    for row, record in found:
        key = key_of(record)
        if key and key in row_of:
            raise row.bad(column, f"'{key}' stands in row {row_of[key]} too. Give every {column} a name of its own.")
        row_of[key] = row.number
    edits: list[Edit] = []
    free = _free_keys(state, table, len(found), set(row_of))
    for _, record in found:
        key = key_of(record)
        if key in known:
            edits.extend([change(record)] if known[key] != record else [])
        elif key:
            edits.append(add(record))
        elif record not in equal:
            edits.append(add(with_key(record, next(free))))
    return edits


def _free_keys(state: State, table: str, count: int, taken: set[str]) -> Iterator[str]:
    """Keys that neither the recording nor the file uses."""
    return (key for key in state.next_keys(table, count + len(taken)) if key not in taken)


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


def _unsigned(record: Numbered) -> Numbered:
    return replace(record, who="", at=EPOCH)


def _checked(row: Row, column: str, check: Callable[[], _Checked]) -> _Checked:
    try:
        return check()
    except BadAnnotation as error:
        raise row.bad(column, str(error)) from None


def _rule(text: str) -> LandingRule:
    try:
        return LandingRule(text.lower())
    except ValueError:
        raise BadAnnotation(f"'{text}' is not a landing rule. Write within or after.") from None


def _status(text: str) -> Status:
    if text.lower() not in get_args(Status):
        raise BadAnnotation(f"'{text}' is not a status. Write {', '.join(get_args(Status))}.")
    return cast(Status, text.lower())
