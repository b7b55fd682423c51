"""How phrases are used, as figures: how often and for how much of the time, and where in the avartan they begin.

Conventions: one colour and filling per performance (or year ...), in the order given; counts are whole numbers; matras
from 1, sam first. Long phrases are cut short under their axis, and told whole when pointed at.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import plotly.graph_objects as go

from dashboard.figures.profile import FILLINGS
from dashboard.figures.theme import MARK, SERIES, figure

LONGEST = 28


def usage_figure(phrases: Sequence[str], counts: Mapping[str, Sequence[int]], shares: Sequence[float]) -> go.Figure:
    """Draw how often each phrase is played, by performance, and beside it the share of time it takes.

    Parameters
    ----------
    phrases : sequence of str
        Most used first.
    counts : mapping of performance, year, instrument or musician to its counts
        One count per phrase.
    shares : sequence of float
        Share of the time of all performances, 0 to 1, one per phrase.
    """
    several = len(counts) > 1
    made = figure("times played (count)", "phrase (swaras)", 120 + 34 * len(phrases) + 26 * several)
    for number, (performance, values) in enumerate(counts.items()):
        made.add_bar(
            y=list(phrases),
            x=list(values),
            orientation="h",
            name=performance,
            marker={
                "color": SERIES[number % len(SERIES)],
                "line": {"width": 1, "color": SERIES[number % len(SERIES)]},
                "pattern": {"shape": FILLINGS[number % len(FILLINGS)], "solidity": 0.45},
            },
            hovertemplate="%{y}: %{x} in " + performance.replace("%", "%%") + "<extra></extra>",
        )
    made.add_scatter(
        y=list(phrases),
        x=[100 * share for share in shares],
        xaxis="x2",
        mode="markers",
        marker={"size": 11, "symbol": "diamond", "color": MARK, "opacity": 1, "line": {"width": 0}},
        name="share of time",
        showlegend=False,
        hovertemplate="%{y}: %{x:.1f} % of the time<extra></extra>",
    )
    most = max((sum(each) for each in zip(*counts.values(), strict=True)), default=0)
    made.update_layout(
        barmode="stack",
        bargap=0.35,
        xaxis={"domain": [0, 0.6], "dtick": 1 if most <= 12 else None, "rangemode": "tozero"},
        xaxis2={
            "domain": [0.66, 1],
            "anchor": "y",
            "title": {"text": "share of time (%)"},
            "rangemode": "tozero",
            "automargin": True,
            "zeroline": False,
        },
        showlegend=several,
        legend={"orientation": "h", "y": 1.02, "yanchor": "bottom", "x": 0},
    )
    made.update_yaxes(autorange="reversed", type="category", showgrid=True, **_cut_short(phrases))
    return made


def position_figure(phrases: Sequence[str], starts: Sequence[Sequence[int]], tala: str) -> go.Figure:
    """Draw on which matra each phrase begins, as a field of dots: the bigger, the more often.

    Parameters
    ----------
    phrases : sequence of str
    starts : sequence of sequence of int
        For each phrase, how often it begins on each matra (matra 1 first).
    tala : str
        The tala they are counted in.
    """
    matras = max((len(each) for each in starts), default=0)
    made = figure(
        f"matra on which it begins ({tala}, 1 is sam)", "phrase (swaras)", 120 + 34 * len(phrases), showlegend=False
    )
    points = [(x + 1, phrase, n) for phrase, row in zip(phrases, starts, strict=True) for x, n in enumerate(row) if n]
    most = max((n for _, _, n in points), default=1)
    made.add_scatter(
        x=[x for x, _, _ in points],
        y=[phrase for _, phrase, _ in points],
        mode="markers",
        marker={
            "size": [9 + 15 * (n / most) ** 0.5 for _, _, n in points],
            "color": SERIES[0],
            "opacity": 1,
            "line": {"width": 0},
        },
        customdata=[n for _, _, n in points],
        hovertemplate="%{y} on matra %{x}: %{customdata} times<extra></extra>",
    )
    made.update_xaxes(range=[0.3, matras + 0.7], dtick=1, tick0=1)
    made.update_yaxes(autorange="reversed", type="category", categoryorder="array", categoryarray=list(phrases))
    made.update_yaxes(**_cut_short(phrases))
    return made


def _cut_short(phrases: Sequence[str]) -> dict[str, Any]:
    """The ticks of an axis of phrases, none of them longer than :data:`LONGEST`."""
    texts = [phrase if len(phrase) <= LONGEST else f"{phrase[: LONGEST - 2]} …" for phrase in phrases]
    return {"tickmode": "array", "tickvals": list(phrases), "ticktext": texts}
