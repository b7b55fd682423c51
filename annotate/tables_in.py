"""Annotations made elsewhere, from plain CSV: all of it in one revision, or nothing.

Columns (others are passed over; ``?`` = may be missing or empty; times are seconds, m:ss or h:mm:ss from the start):

* sections: ``start_s, end_s``, and ``section`` or ``label`` (its name); ``kind?``, ``tala?`` (read from the label
  where missing: "Vilambit teental (16 beats)" is in teental; a label that names no tala has none).
* sams: ``sam_s``; ``section?`` (found by name or, lacking that, by time), ``cycle?``.
* tihais: ``start_s``, ``landing_s`` (or ``end_s``); ``tihai?, second_s?, third_s?, palla?, dam?, start?, rule?,
  target?, tala?, played_by?, label?, kind?, status?``.
* phrases: ``start_s, end_s, swaras``; ``phrase?, role?``.

A cell that is empty says nothing: of a row that is there it stays as it is kept (see :mod:`annotate.known_rows`). A
section outside any tala says ``none``. The matras of a grid (``section, cycle, matra, matra_s``) may be given for sams:
those of number 1 are taken.

Loading the same files again changes nothing: a row with the key of one that exists corrects it, an equal row without
a key is passed over.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from pathlib import Path

from annotate.archive import Archive
from annotate.csv_read import Row, read_rows
from annotate.labels import raga_key
from annotate.records import Recording
from annotate.rows_in import Taken, take
from annotate.slugs import is_slug, slug_of
from theory.talas import get_tala

NEEDED = {
    "sections": (("start_s",), ("end_s",), ("section", "label")),
    "sams": (("sam_s", "matra_s"),),
    "tihais": (("start_s",), ("landing_s", "end_s")),
    "phrases": (("start_s",), ("end_s",), ("swaras",)),
}
"""Of each inner tuple at least one column must be there."""


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
    """
    paths = {"sections": sections, "sams": sams, "tihais": tihais, "phrases": phrases}
    made = new_recording(archive, slug, title=title, raga=raga, tala=tala)
    if made is not None:
        made = replace(made, performed_on=performed_on, venue=venue, musicians=tuple(musicians))
    return load_tables(archive, slug, paths, made, who=who, why=why).slug


def load_tables(
    archive: Archive,
    slug: str,
    paths: dict[str, str | Path | None],
    made: Recording | None = None,
    *,
    who: str = "",
    why: str = "tables loaded",
    write: bool = True,
) -> Taken:
    """Load CSV files by table, and say what they did; ``write`` false: what they would do."""
    rows = {table: table_rows(path, table) for table, path in paths.items() if path is not None}
    return take(archive, named(slug), rows, made=made, who=who, why=why, write=write)


def table_rows(path: str | Path, table: str) -> list[Row]:
    """Read the rows of one table from CSV; of the matras of a grid, given for sams, those of number 1."""
    rows = read_rows(path, NEEDED[table])
    if table == "sams" and rows and "sam_s" not in rows[0].cells:
        sams = (row for row in rows if row.optional_whole("matra") in (None, 1))
        rows = [replace(row, cells={**row.cells, "sam_s": row.text("matra_s")}) for row in sams]
    return rows


def named(slug: str) -> str:
    """Return a slug, made of the name if it is none."""
    return slug if is_slug(slug) else slug_of(slug)


def new_recording(archive: Archive, slug: str, *, title: str = "", raga: str = "", tala: str = "") -> Recording | None:
    """Return the recording that is made for rows, without sound; None if the archive holds it."""
    name = named(slug)
    if name in archive:
        return None
    made = Recording(name, title or slug, raga=raga_key(raga) if raga else "")
    return replace(made, tala=get_tala(tala).key if tala else "")
