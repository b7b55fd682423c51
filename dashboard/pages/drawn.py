"""A figure as it stands on a page: the drawing, what it shows in a sentence, and its numbers in a table.

Conventions: the drawing can be scrolled to and through with the keyboard; whoever cannot see it has the sentence and
the table, which also carry the links to what the numbers count.
"""

from __future__ import annotations

from typing import Any

import plotly.graph_objects as go
from dash import dcc, html

from dashboard.parts import Part

CALM: dict[str, Any] = {"displayModeBar": False, "scrollZoom": False, "doubleClick": False, "showTips": False}
"""No toolbar, and scrolling the page over a figure scrolls the page."""


def drawn(
    figure: go.Figure,
    caption: str,
    *,
    table: Part = None,
    small: bool = False,
    narrow: bool = False,
    summary: str = "The numbers",
) -> Part:
    """Put a figure on a page.

    Parameters
    ----------
    figure : plotly Figure
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
    graph = dcc.Graph(figure=figure, config=CALM, responsive=True)
    parts: list[Part] = [
        html.Div(
            graph,
            className="figure small" if small else "figure",
            role="img",
            tabIndex="0",
            **{"aria-label": caption},
        ),
        html.Figcaption(caption),
    ]
    if table is not None:
        parts.append(html.Details([html.Summary(summary), table]))
    return html.Figure(parts, className="drawn narrow" if narrow else "drawn")
