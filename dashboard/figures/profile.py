"""Shares of time by swara: as written and as heard, or group by group.

Conventions: swaras from Sa upwards, twelve of them; shares in percent of what was counted. Bars are told apart by their
filling and lines by their dashes and marks, not only by colour.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import plotly.graph_objects as go

from dashboard.figures.theme import DASHES, SERIES, SYMBOLS, figure

FILLINGS = ("", "/", "x", ".", "\\", "+", "-", "|")


def profile_figure(swaras: Sequence[str], shares: Mapping[str, Sequence[float]], unit: str) -> go.Figure:
    """Draw bars, one group per swara.

    Parameters
    ----------
    swaras : sequence of str
        As shown under the bars.
    shares : mapping of str to sequence of float
        By name, 0 to 1, one per swara.
    unit : str
        What they are a share of: "share of time".
    """
    made = figure("swara", f"{unit} (%)", 340, barmode="group", bargap=0.28)
    for number, (name, values) in enumerate(shares.items()):
        colour = SERIES[number % len(SERIES)]
        made.add_bar(
            x=list(swaras),
            y=[round(100 * value, 2) for value in values],
            name=name,
            marker={
                "color": colour,
                "line": {"width": 1, "color": colour},
                "pattern": {"shape": FILLINGS[number % len(FILLINGS)], "solidity": 0.45},
            },
            hovertemplate="%{x}: %{y:.1f} %<extra>" + name.replace("%", "%%") + "</extra>",
        )
    made.update_xaxes(type="category", categoryorder="array", categoryarray=list(swaras), showgrid=False)
    made.update_yaxes(rangemode="tozero")
    made.update_layout(showlegend=len(shares) > 1, legend={"orientation": "h", "y": 1.02, "yanchor": "bottom", "x": 0})
    return made


def groups_figure(swaras: Sequence[str], shares: Mapping[str, Sequence[float]]) -> go.Figure:
    """Draw one line per group over the swaras; parameters as :func:`profile_figure`."""
    made = figure("swara", "share of written time (%)", 380)
    for number, (name, values) in enumerate(shares.items()):
        colour = SERIES[number % len(SERIES)]
        made.add_scatter(
            x=list(swaras),
            y=[round(100 * value, 2) for value in values],
            name=name,
            mode="lines+markers",
            line={"color": colour, "width": 2, "dash": DASHES[number % len(DASHES)]},
            marker={"size": 9, "symbol": SYMBOLS[number % len(SYMBOLS)], "color": colour, "opacity": 1},
            hovertemplate="%{x}: %{y:.1f} %<extra>" + name.replace("%", "%%") + "</extra>",
        )
    made.update_xaxes(type="category", categoryorder="array", categoryarray=list(swaras))
    made.update_yaxes(rangemode="tozero")
    made.update_layout(showlegend=True, legend={"orientation": "h", "y": 1.02, "yanchor": "bottom", "x": 0})
    return made
