"""The pallas one above the other: each one's sound from its own start, with the written notes and the strokes heard.

Aim
    Three times the same should look three times the same. Beginnings stand in one line, so whatever is pulled or
    rushed shows as strokes that do not stand below each other.

Conventions: seconds from each palla's own start. Loudness as a share of the loudest of the passage, so that the rows
can be compared.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import plotly.graph_objects as go
from numpy.typing import NDArray

from dashboard.figures.theme import MARK_STRONG, SERIES, figure

Floats = NDArray[np.floating]


@dataclass(frozen=True)
class PallaSound:
    """One row.

    Attributes
    ----------
    name : str
    edge_s : ndarray, shape (n + 1,)
        Limits of the waveform's points, in seconds from the palla's start.
    low, high : ndarray, shape (n,)
    written : sequence of (float, str)
        Where each note is due by the paper, in seconds from the palla's start, and the note.
    played_s : sequence of float
        Strokes that were told, from the palla's start.
    """

    name: str
    edge_s: Floats
    low: Floats
    high: Floats
    written: Sequence[tuple[float, str]] = ()
    played_s: Sequence[float] = ()


def pallas_figure(rows: Sequence[PallaSound]) -> go.Figure:
    """Draw the pallas one above the other."""
    loudest = max((float(np.abs([row.low, row.high]).max()) for row in rows if len(row.low)), default=0.0) or 1.0
    made = figure(
        "time from the palla's own start (s)", "sound (share of the loudest)", 80 + 125 * len(rows), showlegend=False
    )
    room = 1 / max(len(rows), 1)
    for number, row in enumerate(rows):
        axis = "y" if number == 0 else f"y{number + 1}"
        top = 1 - room * number
        made.update_layout(
            {
                f"yaxis{'' if number == 0 else number + 1}": {
                    "domain": [top - room * 0.86, top],
                    "range": [-1.15, 1.75],
                    "title": {"text": row.name},
                    "tickvals": [-1, 0, 1],
                    "zeroline": True,
                    "automargin": True,
                    "showgrid": False,
                    "anchor": "x",
                }
            }
        )
        middle_s = (row.edge_s[:-1] + row.edge_s[1:]) / 2
        made.add_scatter(
            x=np.concatenate([middle_s, middle_s[::-1]]).round(4),
            y=(np.concatenate([row.high, row.low[::-1]]) / loudest).round(3),
            yaxis=axis,
            fill="toself",
            mode="lines",
            line={"width": 0.5, "color": SERIES[0]},
            fillcolor=SERIES[0],
            hoverinfo="skip",
        )
        made.add_scatter(
            x=[at_s for at_s, _ in row.written],
            y=[1.32] * len(row.written),
            yaxis=axis,
            mode="text",
            text=[symbol for _, symbol in row.written],
            hovertemplate="%{text}: on paper %{x:.3f} s from the palla's start<extra></extra>",
        )
        made.add_scatter(
            x=[at_s for at_s, _ in row.written for _ in range(3)],
            y=[-1.0, 1.05, None] * len(row.written),
            yaxis=axis,
            mode="lines",
            line={"width": 1, "dash": "dot", "color": MARK_STRONG},
            hoverinfo="skip",
        )
        made.add_scatter(
            x=list(row.played_s),
            y=[-1.0] * len(row.played_s),
            yaxis=axis,
            mode="markers",
            marker={"symbol": "triangle-up", "size": 10, "color": MARK_STRONG, "opacity": 1, "line": {"width": 0}},
            hovertemplate="stroke heard %{x:.3f} s from the palla's start<extra></extra>",
        )
    made.update_layout(xaxis={"anchor": f"y{len(rows)}" if len(rows) > 1 else "y", "zeroline": False})
    return made
