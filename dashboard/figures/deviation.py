"""Paper against played: how far each palla's start and the landing lie from where they are written.

Conventions: ms, late is up. The band is the tolerance within which a landing lands.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import plotly.graph_objects as go

from dashboard.figures.theme import BAND, MARK, MARK_STRONG, figure

_LEAST_MS = 60.0  # a figure of small deviations does not blow them up beyond this


@dataclass(frozen=True)
class Statement:
    """One start or the landing, and its deviation in ms."""

    name: str
    dev_ms: float


def deviation_figure(statements: Sequence[Statement], tolerance_ms: float | None) -> go.Figure:
    """Draw the deviations in the order they are played.

    Parameters
    ----------
    statements : sequence of Statement
        In order; the last one is the landing.
    tolerance_ms : float or None
        Half the height of the band.
    """
    made = figure("statement, in the order played", "played minus paper (ms), late is up", 300, showlegend=False)
    names = [statement.name for statement in statements]
    values = [statement.dev_ms for statement in statements]
    reach = 1.2 * max([_LEAST_MS, *(abs(value) for value in values), tolerance_ms or 0.0])
    if tolerance_ms:
        made.add_hrect(y0=-tolerance_ms, y1=tolerance_ms, fillcolor=BAND, line_width=0, layer="below")
    for name, value in zip(names, values, strict=True):
        made.add_scatter(x=[name, name], y=[0, value], mode="lines", line={"color": MARK, "width": 3}, hoverinfo="skip")
    is_landing = [index == len(names) - 1 for index in range(len(names))]
    made.add_scatter(
        x=names,
        y=values,
        mode="markers+text",
        text=[_signed(value) for value in values],
        textposition=["top center" if value >= 0 else "bottom center" for value in values],
        marker={
            "opacity": 1,
            "line": {"width": 0},
            "size": [15 if last else 11 for last in is_landing],
            "symbol": ["circle" if last else "square" for last in is_landing],
            "color": [MARK_STRONG if last else MARK for last in is_landing],
        },
        cliponaxis=False,
        hovertemplate="%{x}: %{y:+.1f} ms<extra></extra>",
    )
    made.update_xaxes(showgrid=False)
    made.update_layout(margin={"r": 36})  # for the words beside the last one
    made.update_yaxes(range=[-reach, reach], zeroline=True, nticks=7)
    return made


def _signed(dev_ms: float) -> str:
    whole = round(dev_ms)
    return f"{whole:+d} ms".replace("-", "\N{MINUS SIGN}") if whole else "0 ms"
