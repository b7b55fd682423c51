"""Start-end-label lists from elsewhere.

One line a row; between the cells tabs, semicolons or commas, whichever the first line has, in this order. Times are
seconds, m:ss or h:mm:ss; between tabs or semicolons a decimal comma will do. An end that is empty or left out makes a
moment. A first line whose first two cells hold no digit is a header; blank lines and those that begin with # are passed
over. Between
semicolons and commas a label may stand in double quotes.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from pathlib import Path

from annotate.csv_read import SAME_S
from annotate.errors import BadTable
from annotate.exchange.spans import Span
from annotate.exchange.spans_in import Found, Read, rows_of
from annotate.text_in import MOST_ROWS, fault_of, lines_of, read_text
from theory.clock import parse_clock
from theory.errors import LayakoshError

_DECIMAL_COMMA = re.compile(r"([\d:]*\d),(\d+)")


def read_label_list(path: Path, table: str | None = None) -> Read:
    """Read a list of labels; for ``table`` see :func:`annotate.exchange.spans_in.rows_of`.

    Raises
    ------
    BadTable
        Names file, line and cell.
    """
    return rows_of(path.name, labels_in(path), table, SAME_S)


def labels_in(path: Path) -> Iterator[Found]:
    """Yield the labels of a list as they stand there, with their lines.

    Raises
    ------
    BadTable
        Names file, line and cell.
    """
    file, separator = path.name, ""
    for number, line in enumerate(lines_of(read_text(path)), start=1):
        if not line.strip() or line.startswith("#"):
            continue
        if number > MOST_ROWS:
            raise BadTable(file, number, None, f"The file has more than {MOST_ROWS} lines. Divide it.")
        first = not separator
        if first:
            separator = next((sign for sign in "\t;," if sign in line), "\t")
        cells = _cells(file, number, line, separator)
        if first and not any(sign.isdigit() for sign in "".join(cells[:2])):
            continue
        yield Found(_span(file, number, cells, separator), number)


def _cells(file: str, number: int, line: str, separator: str) -> list[str]:
    if separator == "\t":
        cells = line.split("\t", 2)
    else:
        try:
            cells = next(csv.reader([line], delimiter=separator, skipinitialspace=True, strict=True))
        except csv.Error as error:
            raise BadTable(file, number, None, f"The line cannot be cut into cells ({error}).") from None
    stripped = [cell.strip() for cell in cells]
    for cell in stripped:
        if fault := fault_of(cell):
            raise BadTable(file, number, None, fault)
    while len(stripped) > 3 and not stripped[-1]:
        stripped.pop()
    if len(stripped) > 3:
        hint = "A label with the separator in it goes in double quotes"
        hint += ", and times with a decimal comma between semicolons or tabs." if separator == "," else "."
        raise BadTable(file, number, None, f"Expected start, end and label, but {len(stripped)} cells came. {hint}")
    return stripped


def _span(file: str, number: int, cells: list[str], separator: str) -> Span:
    def time_s(column: str, cell: str) -> float:
        try:
            return _time_s(cell, separator)
        except LayakoshError as error:
            raise BadTable(file, number, column, str(error)) from None

    if len(cells) == 1 and not _is_time(cells[0], separator):
        raise BadTable(
            file, number, None, "Expected start, end and label with tabs, semicolons or commas between; there are none."
        )
    start_s = time_s("start", cells[0])
    if len(cells) == 2 and not _is_time(cells[1], separator):
        return Span(start_s, start_s, cells[1])
    end_s = time_s("end", cells[1]) if len(cells) > 1 and cells[1] else start_s
    if end_s < start_s:
        raise BadTable(file, number, "end", f"{cells[1]} comes before the start, {cells[0]}. Are the two exchanged?")
    return Span(start_s, end_s, cells[2] if len(cells) == 3 else "")


def _time_s(cell: str, separator: str) -> float:
    comma = _DECIMAL_COMMA.fullmatch(cell) if separator != "," else None
    return parse_clock(f"{comma[1]}.{comma[2]}" if comma else cell)


def _is_time(cell: str, separator: str) -> bool:
    try:
        _time_s(cell, separator)
    except LayakoshError:
        return False
    return True
