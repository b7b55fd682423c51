"""Tihais and phrases from rows. Columns: see :mod:`annotate.tables_in`."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import TypeVar, cast, get_args

from annotate.checks import check_phrase, check_tihai
from annotate.csv_read import Row
from annotate.errors import BadAnnotation
from annotate.grid import RecordingGrid
from annotate.known_rows import Kept, filled
from annotate.marking import fill_in
from annotate.records import Numbered, PhraseRecord, Status, TihaiRecord, key_of, with_key
from annotate.revisions import Edit, add, change
from annotate.state import State
from theory.errors import LayakoshError
from theory.notation import parse
from theory.talas import get_tala
from theory.tihai import LandingRule

_Checked = TypeVar("_Checked")

_NUMBERED = re.compile(r"[a-z]\d{7,}")
"""A key of ours (t01) with a number that nobody reaches."""


def tihai_edits(state: State, rows: Sequence[Row], grid: RecordingGrid) -> list[Edit]:
    """Return the edits that rows of tihais ask for; what is not written on paper is read from the grid."""

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
            landing_s=row.time_s("landing_s"),
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
        _checked(row, "palla", lambda: parse(record.palla))
        return _checked(row, "landing_s", lambda: check_tihai(state, fill_in(record, grid)))

    kept = Kept(state.tihais, "tihai", ("start_s", "landing_s"))
    return _numbered("tihais", "tihai", state, kept, [_landing(row) for row in rows], read)


def phrase_edits(state: State, rows: Sequence[Row]) -> list[Edit]:
    """Return the edits that rows of phrases ask for."""

    def read(row: Row) -> PhraseRecord:
        start_s, end_s = row.time_s("start_s"), row.time_s("end_s")
        if not row.text("swaras"):
            raise row.bad("swaras", "Expected the phrase's swaras; the cell is empty.")
        record = PhraseRecord(row.text("phrase"), start_s, end_s, row.text("swaras"), row.text("role"))
        _checked(row, "swaras", lambda: parse(record.swaras))
        _checked(row, "end_s", lambda: check_phrase(state, record))
        return record

    kept = Kept(state.phrases, "phrase", ("start_s", "end_s"))
    return _numbered("phrases", "phrase", state, kept, rows, read)


def _landing(row: Row) -> Row:
    """Give a row its landing, which stands under ``landing_s`` or, lacking that, ``end_s``."""
    cells = {column: cell for column, cell in row.cells.items() if column != "end_s"}
    return replace(row, cells={**cells, "landing_s": row.text("landing_s", "end_s")})


def _numbered(
    table: str, column: str, state: State, kept: Kept, rows: Sequence[Row], read: Callable[[Row], Numbered]
) -> list[Edit]:
    """Turn rows into edits: a row with the key of one that exists corrects it, one that is there is passed over."""
    row_of: dict[str, str] = {}
    for row in rows:
        key = row.text(column)
        if _NUMBERED.fullmatch(key):
            raise row.bad(column, f"'{key}' counts too far: after it no {column} could be numbered any more.")
        if key and key in row_of:
            raise row.bad(column, f"'{key}' stands in {row_of[key]} too. Give every {column} a name of its own.")
        row_of[key] = row.place or f"row {row.number}"
    edits: list[Edit] = []
    added: set[Numbered] = set()
    free = _free_keys(state, table, len(rows), set(row_of))
    for row in rows:
        if kept.there(row):
            continue
        cells = kept.of_key(row)
        record = read(row if cells is None else filled(row, cells))
        if cells is not None:
            edits.append(change(record))
        elif key_of(record):
            edits.append(add(record))
        elif record not in added:
            added.add(record)
            edits.append(add(with_key(record, next(free))))
    return edits


def _free_keys(state: State, table: str, count: int, taken: set[str]) -> Iterator[str]:
    """Keys that neither the recording nor the file uses."""
    return (key for key in state.next_keys(table, count + len(taken)) if key not in taken)


def _checked(row: Row, column: str, check: Callable[[], _Checked]) -> _Checked:
    try:
        return check()
    except LayakoshError as error:
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
