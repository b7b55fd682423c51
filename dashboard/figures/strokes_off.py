"""How far each stroke of a tihai lies from paper.

Conventions: ms, late is up; strokes in the order played, one line per palla, so that the three lie over each other.
"""

from __future__ import annotations

from collections.abc import Sequence

import plotly.graph_objects as go

from dashboard.figures.theme import BAND, MARK_STRONG, SERIES, figure

SYMBOLS = ("circle", "square", "diamond", "triangle-up", "x", "star")
DASHES = ("solid", "dash", "dot", "dashdot", "longdash", "longdashdot")


def strokes_figure(
    names: Sequence[str], pallas: Sequence[Sequence[float | None]], tolerance_ms: float | None
) -> go.Figure:
    """Draw the deviations palla by palla over the notes of the palla.

    Parameters
    ----------
    names : sequence of str
        The notes of one palla in order ("1 R", "2 m" ...), and what lands after it, if anything.
    pallas : sequence of sequence of float or None
        Per palla, the deviation of each note in ms; None where no stroke was found.
    tolerance_ms : float or None
        Half the height of the band: within it a landing lands.
    """
    made = figure("note of the palla, in order", "played minus paper (ms), late is up", 340)
    if tolerance_ms:
        made.add_hrect(y0=-tolerance_ms, y1=tolerance_ms, fillcolor=BAND, line_width=0, layer="below")
    for number, values in enumerate(pallas):
        colour = SERIES[number % len(SERIES)]
        made.add_scatter(
            x=list(names),
            y=list(values),
            name=f"palla {number + 1}",
            mode="lines+markers",
            connectgaps=False,
            line={"color": colour, "width": 2, "dash": DASHES[number % len(DASHES)]},
            marker={"size": 10, "symbol": SYMBOLS[number % len(SYMBOLS)], "color": colour, "opacity": 1},
            hovertemplate="%{x}: %{y:+.0f} ms<extra>palla " + str(number + 1) + "</extra>",
        )
    told = [abs(value) for values in pallas for value in values if value is not None]
    reach = 1.15 * max([60.0, tolerance_ms or 0.0, *told])
    last = next((values[-1] for values in reversed(pallas) if values and values[-1] is not None), None)
    if last is not None:
        made.add_scatter(
            x=[names[-1]],
            y=[last],
            mode="markers",
            name="landing",
            marker={"size": 20, "symbol": "circle-open", "color": MARK_STRONG, "line": {"width": 2}, "opacity": 1},
            hovertemplate="landing: %{y:+.0f} ms<extra></extra>",
        )
    made.update_xaxes(type="category", categoryorder="array", categoryarray=list(names), showgrid=False)
    made.update_yaxes(range=[-reach, reach], zeroline=True, nticks=7)
    made.update_layout(legend={"orientation": "h", "y": 1.02, "yanchor": "bottom", "x": 0})
    return made
