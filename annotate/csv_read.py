"""Reading plain CSV from elsewhere, so that every complaint names file, row and column.

Rows are counted as a spreadsheet shows them: the header is row 1. Encoding UTF-8 (with or without a byte order mark),
comma between cells, a header with the documented names in any order; columns nobody asked for are passed over. The
readers of other formats (:mod:`annotate.exchange`) make the same rows, so that all of them are checked alike.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TypeVar

from annotate.errors import BadTable
from annotate.text_in import MOST_ROWS, fault_of, read_text
from theory.clock import parse_clock
from theory.errors import LayakoshError
from theory.numbers import parse_matras

_T = TypeVar("_T")

SAME_S = 1e-6
"""Two times nearer than this are the same time, written with six decimals or more."""

MOST_WHOLE = 1_000_000
"""The largest whole number that is taken: no avartan is numbered higher."""


@dataclass(frozen=True)
class Row:
    """One row of a file. Cells are read by column name; an absent or empty cell counts as not given.

    Attributes
    ----------
    file : str
        The file's name.
    number : int
        The row, from 1; of a file that is no table the line.
    cells : dict of str to str
    within_s : float
        The resolution of the file: a time nearer than this to one that is kept is the same time, in seconds.
    place : str
        Where it stands, in a file without rows ("annotations[2].data[5]"); in a message it stands for the row.
    """

    file: str
    number: int
    cells: dict[str, str]
    within_s: float = SAME_S
    place: str = ""

    def text(self, *columns: str) -> str:
        """Return the first of the columns that is filled, or an empty text."""
        return next((self.cells[name] for name in columns if self.cells.get(name)), "")

    def time_s(self, *columns: str) -> float:
        """Return a time in seconds (written as seconds, m:ss or h:mm:ss); it must be given."""
        return self._needed(columns, parse_clock, "a time in seconds")

    def optional_time_s(self, column: str) -> float | None:
        """Return a time in seconds, or None when the cell is empty."""
        return self._optional(column, parse_clock)

    def optional_matras(self, column: str) -> Fraction | None:
        """Return a count of matras, or None when the cell is empty."""
        return self._optional(column, parse_matras)

    def optional_whole(self, column: str) -> int | None:
        """Return a whole number, or None when the cell is empty."""

        def whole(text: str) -> int:
            try:
                number = float(text)
            except ValueError:
                number = 0.5
            if not number.is_integer():
                raise LayakoshError(f"'{text}' is not a whole number.")
            if abs(number) > MOST_WHOLE:
                raise LayakoshError(f"{text} is too large; at most {MOST_WHOLE} is taken.")
            return int(number)

        return self._optional(column, whole)

    def read(self, column: str, reader: Callable[[str], _T]) -> _T:
        """Read a cell by another reader; its complaint is given the place."""
        try:
            return reader(self.cells.get(column, ""))
        except LayakoshError as error:
            raise self.bad(column, str(error)) from None

    def bad(self, column: str | None, why: str) -> BadTable:
        """Return the complaint about a cell of this row."""
        if self.place:
            return BadTable(self.file, None, None, f"{self.place}{f', {column}' if column else ''}: {why}")
        return BadTable(self.file, self.number, column, why)

    def _needed(self, columns: Sequence[str], reader: Callable[[str], _T], what: str) -> _T:
        column = next((name for name in columns if self.cells.get(name)), None)
        if column is None:
            present = next((name for name in columns if name in self.cells), columns[0])
            raise self.bad(present, f"Expected {what}; the cell is empty.")
        return self.read(column, reader)

    def _optional(self, column: str, reader: Callable[[str], _T]) -> _T | None:
        return self.read(column, reader) if self.cells.get(column) else None


def read_rows(path: str | Path, needed: Sequence[Sequence[str]]) -> list[Row]:
    """Read a CSV file.

    Parameters
    ----------
    path : str or Path
    needed : sequence of sequences of str
        Of each inner sequence at least one column must be there.

    Raises
    ------
    BadTable
        It cannot be opened, is too large or not UTF-8 text, lacks a column, or a row has more cells than the header.
    """
    path = Path(path)
    # a text in double quotes may hold line ends: the reader finds them itself
    lines = csv.reader(io.StringIO(read_text(path), newline=""), strict=True)
    try:
        rows = list(_rows(path.name, lines))
    except csv.Error as error:
        raise BadTable(path.name, lines.line_num, None, f"The row is not CSV ({error}).") from None
    header = rows[0].cells if rows else {}
    for names in needed:
        if not any(name in header for name in names):
            raise BadTable(path.name, 1, names[0], _missing(names, header))
    return [row for row in rows[1:] if any(row.cells.values())]


def _rows(file: str, lines: Iterator[list[str]]) -> Iterator[Row]:
    header: list[str] = []
    for number, cells in enumerate(lines, start=1):
        if number > MOST_ROWS:
            raise BadTable(file, number, None, f"The file has more than {MOST_ROWS} rows. Divide it.")
        stripped = [cell.strip() for cell in cells]
        for column, cell in enumerate(stripped):
            if fault := fault_of(cell):
                raise BadTable(file, number, header[column] if column < len(header) else None, fault)
        if not header:
            header = [name.lower() for name in stripped]
            for name in header:
                if name and header.count(name) > 1:
                    raise BadTable(file, 1, name, "The column stands there twice. Rename or remove one.")
            yield Row(file, number, dict.fromkeys(header, ""))
            continue
        if len(stripped) > len(header) and any(stripped[len(header) :]):
            raise BadTable(
                file,
                number,
                None,
                f"{len(stripped)} cells under {len(header)} columns. A text with a comma in it goes in double quotes.",
            )
        yield Row(file, number, dict(zip(header, stripped, strict=False)))


def _missing(names: Sequence[str], header: dict[str, str]) -> str:
    wanted = " or ".join(f"'{name}'" for name in names)
    came = ", ".join(header) if header else "nothing"
    hint = " Cells are separated by commas." if len(header) == 1 and any(sign in came for sign in ";\t") else ""
    return f"The column {wanted} is missing; the header has {came}.{hint}"
