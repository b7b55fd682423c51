"""Plain CSV that ``layakosh load`` reads back exactly: one table a file (:mod:`annotate.cells`), and the grid.

RFC 4180 with a header: commas between cells, double quotes where a cell needs them. UTF-8, lines end with a line feed.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence

from annotate.cells import COLUMNS, cells_of, seconds
from annotate.grid import RecordingGrid
from annotate.records import Record
from annotate.state import State

GRID = ("section", "cycle", "matra", "matra_s")
LEFT_OUT = {
    "sections": "who divided the recording and when",
    "sams": "tracked sams (they follow from the sound and the marks; --table grid has them); who marked a sam and when",
    "tihais": "who wrote a tihai down and when",
    "phrases": "who wrote a phrase down and when",
    "grid": "whether a sam was marked or tracked, and how sure it is; read back, only the sams of a grid count",
}
"""What the table of each kind cannot hold."""


def table_csv(state: State, grid: RecordingGrid, table: str) -> tuple[str, int]:
    """Return a table as CSV, and how many rows it has.

    Parameters
    ----------
    state : State
    grid : RecordingGrid
    table : str
        ``sections``, ``sams``, ``tihais``, ``phrases`` or ``grid``.
    """
    if table == "grid":
        rows = [
            dict(zip(GRID, (part.section, str(cycle), str(matra), seconds(matra_s)), strict=True))
            for part in grid.sections
            for cycle, matra, matra_s in zip(
                part.cycle.tolist(), part.matra.tolist(), part.matra_s.tolist(), strict=True
            )
        ]
        return _csv(GRID, rows), len(rows)
    of_table: dict[str, Sequence[Record]] = {
        "sections": state.sections,
        "sams": state.marked_sams,
        "tihais": state.tihais,
        "phrases": state.phrases,
    }
    records = of_table[table]
    return _csv(COLUMNS[table], [cells_of(each) for each in records]), len(records)


def _csv(columns: Sequence[str], rows: Iterable[Mapping[str, str]]) -> str:
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, columns, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()
