"""A figure as it stands on a page: the drawing, what it shows in a sentence, and its numbers in a table.

Conventions: the drawing can be scrolled to and through with the keyboard; whoever cannot see it has the sentence and
the table, which also carry the links to what the numbers count. A page brings a figure as numbers and keeps its place
free; it is drawn in the browser. Plotly's figures are drawn when they come near the window
(``assets/window/charts.mjs``), since plotly alone is twice what a page may weigh; light ones at once
(``assets/window/drawings.mjs``).
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, Literal

import plotly.graph_objects as go
from dash import html

from dashboard.figures.deviation import around
from dashboard.parts import Part

Kind = Literal["deviations", "intervals", "waves"]
"""Which module of ``assets`` draws a light figure."""


def drawn(
    figure: go.Figure,
    caption: str,
    *,
    table: Part = None,
    small: bool = False,
    narrow: bool = False,
    summary: str = "The numbers",
) -> Part:
    """Put a figure of plotly on a page.

    Parameters
    ----------
    figure : plotly Figure
        With its height in px.
    caption : str
        What it shows, in a sentence or two.
    table : Part, optional
        Its numbers.
    small : bool
        Whether it fits a narrow window without scrolling sideways.
    narrow : bool
        Whether it has so little in it that a wide window would only stretch it.
    summary : str
        What opens the table.
    """
    figure.update_layout(dragmode=False)
    figure.update_xaxes(fixedrange=True)
    figure.update_yaxes(fixedrange=True)
    height = {"height": f"{figure.layout.height}px"}
    place = html.Div(className="chart", style=height, **{"data-chart": figure.to_json()})
    return _framed(place, caption, table, "figure small" if small else "figure", summary, narrow=narrow)


def drawing(
    kind: Kind, told: Mapping[str, Any], caption: str, *, table: Part = None, summary: str = "The numbers"
) -> Part:
    """Put a light figure on a page, drawn by a module of ours.

    Parameters
    ----------
    kind : str
    told : mapping
        What the module wants, as :mod:`dashboard.figures` makes it.
    caption, table, summary
        As :func:`drawn`.
    """
    numbers = json.dumps(told, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    place = html.Div(className="drawing", **{"data-drawing": numbers, "data-kind": kind})
    return _framed(place, caption, table, "figure small", summary)


def heard_at(time_s: float | None, text: str) -> Part:
    """Make a number in a table into a button that plays the page's recording around a time; text where it is None."""
    stretch = around(time_s)
    if stretch is None:
        return text
    told = {"data-plays": f"{stretch[0]:.3f}-{stretch[1]:.3f}", "aria-pressed": "false"}
    return html.Button(text, type="button", className="plays told", title="Hear it", **told)


def _framed(place: Part, caption: str, table: Part, look: str, summary: str, *, narrow: bool = False) -> Part:
    parts: list[Part] = [
        html.Div(place, className=look, role="img", tabIndex="0", **{"aria-label": caption}),
        html.Figcaption(caption),
    ]
    if table is not None:
        parts.append(html.Details([html.Summary(summary), table]))
    return html.Figure(parts, className="drawn narrow" if narrow else "drawn")
