"""What all plotly figures have in common.

Conventions: every axis has a title with its unit. Text and grid colours come from the style sheet
(``40-figures.css``), so a figure follows light and dark; the few colours of marks are set here and are told apart
from both grounds (contrast at least 3 to 1 against each).
"""

from __future__ import annotations

from typing import Any

import plotly.graph_objects as go

MARK = "#b0701c"
MARK_STRONG = "#d0405f"
SERIES = ("#5b7fc4", "#b0701c", "#3f9a6b", "#a566bd", "#c0605f", "#5f8f95", "#8b8b3a", "#7b72c9")
SYMBOLS = ("circle", "square", "diamond", "triangle-up", "x", "star")
DASHES = ("solid", "dash", "dot", "dashdot", "longdash", "longdashdot")


def figure(x_title: str, y_title: str, height: int, **layout: Any) -> go.Figure:
    """Make an empty figure with its axes named.

    Parameters
    ----------
    x_title, y_title : str
        What the axis shows, with its unit.
    height : int
        In px; the width follows the page.
    """
    made = go.Figure()
    made.update_layout(
        template="none",
        height=height,
        paper_bgcolor="rgba(0,0,0,0)",
        plot_bgcolor="rgba(0,0,0,0)",
        margin={"l": 10, "r": 20, "t": 14, "b": 10},
        font={"size": 13},
        hovermode="closest",
        **layout,
    )
    made.update_xaxes(title_text=x_title, automargin=True, showgrid=True, zeroline=False)
    made.update_yaxes(title_text=y_title, title_standoff=12, automargin=True, showgrid=True, zeroline=False)
    return made
