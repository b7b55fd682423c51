"""A number with its interval, item by item: a change per year, or the difference between two sides.

Conventions: percentage points; the interval is the 95 % one. A full sign stands where the interval leaves out zero, a
hollow one where it does not, or where there is none.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import plotly.graph_objects as go

from dashboard.figures.theme import MARK, SERIES, figure


def intervals_figure(
    items: Sequence[str],
    values: Sequence[float],
    lows: Sequence[float],
    highs: Sequence[float],
    x_title: str,
    y_title: str,
) -> go.Figure:
    """Draw values with their intervals, the first item on top.

    Parameters
    ----------
    items : sequence of str
    values, lows, highs : sequence of float
        In percentage points; NaN where there is no interval.
    x_title, y_title : str
        Titles of the axes, with the unit.
    """
    made = figure(x_title, y_title, 130 + 30 * len(items), showlegend=False)
    known = [math.isfinite(low) and math.isfinite(high) for low, high in zip(lows, highs, strict=True)]
    told = [is_known and (low > 0 or high < 0) for is_known, low, high in zip(known, lows, highs, strict=True)]
    rows = list(zip(items, values, lows, highs, known, strict=True))
    for item, _, low, high, is_known in rows:
        if is_known:
            made.add_scatter(
                x=[low, high],
                y=[item, item],
                mode="lines+markers",
                line={"color": SERIES[0], "width": 2},
                marker={"symbol": "line-ns", "size": 10, "line": {"width": 2, "color": SERIES[0]}, "opacity": 1},
                hoverinfo="skip",
            )
    made.add_scatter(
        x=list(values),
        y=list(items),
        mode="markers",
        marker={
            "size": 12,
            "symbol": ["diamond" if each else "diamond-open" for each in told],
            "color": MARK,
            "opacity": 1,
            "line": {"width": [0 if each else 2 for each in told], "color": MARK},
        },
        customdata=[_interval(low, high) if is_known else "no interval" for _, _, low, high, is_known in rows],
        hovertemplate="%{y}: %{x:+.2f} points, %{customdata}<extra></extra>",
    )
    made.update_xaxes(zeroline=True)
    made.update_yaxes(type="category", categoryorder="array", categoryarray=list(items), autorange="reversed", dtick=1)
    return made


def _interval(low: float, high: float) -> str:
    return f"{low:+.2f} to {high:+.2f}"
