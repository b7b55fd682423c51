"""Tables of pandas as the commands print them: JSON without NaN, or columns for the terminal."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

import click

from commands.printing import print_json, print_table

if TYPE_CHECKING:
    import pandas as pd

Columns = Mapping[str, tuple[str, Callable[[Any], str]]]
"""Of a frame's columns those shown in the terminal: the heading, and what makes a text of a value."""

MOST_SHOWN = 50
"""Rows shown in the terminal unless more are asked for."""


def rows_of(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """Return the rows as plain values; what is missing is None."""
    if frame.empty:
        return []
    return list(json.loads(frame.to_json(orient="records", date_format="iso", double_precision=6)))


def print_frame(
    frame: pd.DataFrame,
    title: str,
    columns: Columns,
    *,
    as_json: bool,
    none: str,
    most: int | None = None,
) -> None:
    """Print a table: all of it as JSON, or its first rows for the terminal.

    Parameters
    ----------
    frame : DataFrame
    title : str
    columns : mapping
        What is shown in the terminal; a missing value is left empty.
    as_json, none, most
        See :func:`print_rows`.
    """

    def shown(rows: list[dict[str, Any]]) -> None:
        headings = [heading for heading, _ in columns.values()]
        cells = [["" if row[name] is None else text(row[name]) for name, (_, text) in columns.items()] for row in rows]
        print_table(title, headings, cells)

    print_rows(frame, shown, as_json=as_json, none=none, most=most)


def print_rows(
    frame: pd.DataFrame,
    shown: Callable[[list[dict[str, Any]]], None],
    *,
    as_json: bool,
    none: str,
    most: int | None = None,
) -> None:
    """Print rows: all of them as JSON, or the first for the terminal.

    Parameters
    ----------
    frame : DataFrame
    shown : callable
        Prints rows for the terminal.
    as_json : bool
        Print every row and column as JSON.
    none : str
        What is said when there is no row.
    most : int, optional
        Rows printed; by default all as JSON, :data:`MOST_SHOWN` in the terminal.
    """
    if as_json:
        print_json(rows_of(frame if most is None else frame.head(most)))
        return
    rows = rows_of(frame.head(MOST_SHOWN if most is None else most))
    if not rows:
        click.echo(none)
        return
    shown(rows)
    if len(frame) > len(rows):
        click.echo(f"{len(rows)} of {len(frame)} shown; --most N shows more.")
