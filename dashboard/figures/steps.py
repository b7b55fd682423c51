"""From which swara to which: every step that is played, and what the raga's ascent and descent say of it.

Conventions: a row is the swara that a step leaves, a column the one it goes to, Sa at the lower left. The sign's area
follows the count. What a step is, is told by its sign: up the aroha, down the avaroha, in both, in neither, unusual; a
hollow sign is a step of the raga that nobody played.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import plotly.graph_objects as go

from dashboard.figures.theme import MARK, MARK_STRONG, SERIES, figure

Kind = Literal["aroha", "avaroha", "both", "other", "unusual", "untold"]
SIGNS: dict[Kind, tuple[str, str, str]] = {
    "aroha": ("triangle-up", SERIES[0], "in the aroha"),
    "avaroha": ("triangle-down", SERIES[2], "in the avaroha"),
    "both": ("diamond", SERIES[3], "in both"),
    "other": ("circle", MARK, "in neither"),
    "unusual": ("x", MARK_STRONG, "unusual"),
    "untold": ("circle", SERIES[0], "played"),
}
_LEAST, _MORE = 8.0, 26.0  # px of the smallest sign, and what the most frequent is larger


@dataclass(frozen=True)
class Step:
    """A step from one swara to another, by their letters, how often it is played and what it is."""

    source: str
    target: str
    count: int
    kind: Kind


def steps_figure(swaras: Sequence[str], steps: Sequence[Step]) -> go.Figure:
    """Draw the steps between some swaras, given from Sa upwards."""
    most = max((step.count for step in steps), default=1) or 1
    made = figure("to the swara", "from the swara", 160 + 34 * len(swaras))
    for kind, (symbol, colour, words) in SIGNS.items():
        mine = [step for step in steps if step.kind == kind]
        if not mine:
            continue
        made.add_scatter(
            x=[step.target for step in mine],
            y=[step.source for step in mine],
            name=words,
            mode="markers",
            marker={
                "symbol": [symbol if step.count else f"{symbol}-open" for step in mine],
                "size": [_LEAST + _MORE * (step.count / most) ** 0.5 for step in mine],
                "color": colour,
                "opacity": 1,
                "line": {"width": [0 if step.count else 1.5 for step in mine], "color": colour},
            },
            customdata=[step.count for step in mine],
            hovertemplate="%{y} to %{x}: %{customdata} times<extra>" + words + "</extra>",
        )
    made.update_layout(
        showlegend=True,
        legend={"orientation": "h", "y": 1.02, "yanchor": "bottom", "x": 0, "itemsizing": "constant"},
    )
    for update in (made.update_xaxes, made.update_yaxes):
        update(type="category", categoryorder="array", categoryarray=list(swaras), range=[-0.6, len(swaras) - 0.4])
    return made
