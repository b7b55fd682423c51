"""Rows from elsewhere beside what is kept: which of them are there already, and what a row leaves as it is.

A row is the one that is kept if it bears its key or, where it bears none, begins and ends with it and says nothing
else. What a row does not say (a column that is not there, an empty cell, what its format cannot hold) stays as it is
kept; a time nearer than the file's resolution is the time that is kept.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from annotate.cells import cells_of
from annotate.csv_read import Row
from annotate.records import Numbered, Section
from theory.clock import parse_clock
from theory.errors import LayakoshError
from theory.numbers import parse_matras

_TIMES = ("start_s", "second_s", "third_s", "landing_s", "end_s")
_MATRAS = ("start", "dam", "target")


def says_the_same(row: Row, kept: Mapping[str, str]) -> bool:
    """Tell whether all that a row says is as in the kept cells."""
    told = ((column, cell) for column, cell in row.cells.items() if cell and column in kept)
    return all(_same(column, cell, kept[column], row.within_s) for column, cell in told)


def filled(row: Row, kept: Mapping[str, str]) -> Row:
    """Fill a row up from kept cells: what it does not say, and times that are the same as far as it can tell."""
    told = {
        column: kept[column] if column in kept and _same(column, cell, kept[column], row.within_s) else cell
        for column, cell in row.cells.items()
        if cell
    }
    return replace(row, cells={**kept, **told})


class Kept:
    """The rows of one table that are kept, found by key or by when they begin and end."""

    def __init__(self, records: Iterable[Section | Numbered], key: str, times: tuple[str, str]) -> None:
        self._key, self._times = key, times
        self._cells = {cells[key]: cells for cells in map(cells_of, records)}
        self._by_start: dict[int, list[dict[str, str]]] = {}
        for cells in self._cells.values():
            self._by_start.setdefault(_slot(cells[times[0]]), []).append(cells)

    def of_key(self, row: Row) -> dict[str, str] | None:
        """Return the kept cells of the row's key, if it has one and they exist."""
        return self._cells.get(row.text(self._key))

    def there(self, row: Row) -> bool:
        """Tell whether a row is kept already: under its key, or lacking one under any."""
        if row.text(self._key):
            cells = self.of_key(row)
            return cells is not None and says_the_same(row, cells)
        told = replace(row, cells={column: cell for column, cell in row.cells.items() if column != self._key})
        slot = _slot(row.text(self._times[0]))
        near = (cells for each in (slot - 1, slot, slot + 1) for cells in self._by_start.get(each, ()))
        return any(says_the_same(told, cells) for cells in near)


def _slot(time: str) -> int:
    """Tenths of a second: two times that are the same lie in one slot or in neighbours."""
    try:
        return round(10 * parse_clock(time))
    except LayakoshError:
        return -10


def _same(column: str, cell: str, kept: str, within_s: float) -> bool:
    if cell == kept.strip():
        return True
    if not kept:
        return False
    try:
        if column in _TIMES:
            return abs(parse_clock(cell) - parse_clock(kept)) < within_s
        if column in _MATRAS:
            return parse_matras(cell) == parse_matras(kept)
    except LayakoshError:
        return False
    return column in ("rule", "status") and cell.casefold() == kept
