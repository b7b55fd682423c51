"""Phrases: what a raga is played with, across performances.

Conventions: the raga stands in the address (``?raga=desh``). Performances are named by their title.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pandas as pd
from dash import dcc, html

from annotate.statistics.usage import phrase_usage, ragas_played, usage_by_performance
from dashboard import words
from dashboard.figures.usage import position_figure, usage_figure
from dashboard.library import Library
from dashboard.pages.page import Page
from dashboard.parts import Column, Part, choices, empty, table
from theory.talas import get_tala

MOST_SHOWN = 24
"""Phrases drawn in a figure; the table has all of them."""


def page(library: Library, wanted: Mapping[str, str]) -> Page:
    """Show the phrases of one raga."""
    ragas = ragas_played(library.archive)
    if ragas.empty:
        return Page("Phrases", [html.H1("Phrases"), _empty()], "Phrases")
    raga = wanted.get("raga", "")
    raga = raga if raga in ragas.index else str(ragas.index[0])
    options = [
        (words.raga_name(str(name)) or "no raga named", f"/phrases?raga={name}", int(count), name == raga)
        for name, count in ragas.items()
    ]
    here, each = phrase_usage(library.archive, raga), usage_by_performance(library.archive, raga)
    titles = _titles(library, each)
    content = [
        html.H1("Phrases"),
        html.P(
            "Which phrases a raga is played with: how often, for how much of the time, where in the avartan.",
            className="lede",
        ),
        choices("Raga", options),
        html.H2(
            f"{words.raga_name(raga) or 'No raga named'}: {len(titles)} performance{'' if len(titles) == 1 else 's'}"
        ),
        table(
            "Share of time is of all performances of this raga together",
            _COLUMNS,
            [_row(row) for row in here.itertuples()],
        ),
        html.H2("How often, and for how long"),
        _figure(
            usage_figure(*_counts(here, each, titles), list(here.head(MOST_SHOWN)["share_of_time"])),
            "How often each phrase is played, and for what share of the time; the table has the numbers",
        ),
        *_positions(here),
        *_each_performance(each, titles),
    ]
    return Page("Phrases", content, "Phrases")


_COUNT = 4  # "count" is a method of every tuple, so that column is read by its place (index, raga, swaras, role, count)
_COLUMNS = (
    Column("Phrase"),
    Column("Role"),
    Column("Times", number=True),
    Column("Performances", number=True),
    Column("Share of time", number=True),
    Column("Begins about"),
)


def _row(row: Any) -> list[Part]:
    return [
        html.Span(row.swaras, className="notation"),
        row.role,
        str(row[_COUNT]),
        str(row.performances),
        f"{row.share_of_time:.1%}",
        _begins(row),
    ]


def _row_of_performance(row: Any, titles: Mapping[str, str]) -> list[Part]:
    return [
        html.Span(row.swaras, className="notation"),
        dcc.Link(titles[row.recording], href=f"/cycles/{row.recording}"),
        row.role,
        str(row[_COUNT + 1]),
        f"{row.share_of_time:.1%}",
        _begins(row),
    ]


def _each_performance(each: pd.DataFrame, titles: Mapping[str, str]) -> list[Part]:
    if len(titles) < 2:
        return []
    columns = [Column("Phrase"), Column("Performance"), *_COLUMNS[1:3], *_COLUMNS[4:]]
    rows = [_row_of_performance(row, titles) for row in each.itertuples()]
    return [html.H2("Performance by performance"), table("Share of time is of that performance", columns, rows)]


def _begins(row: Any) -> str:
    if pd.isna(row.mean_matra):
        return ""
    tala = get_tala(row.tala)
    return f"matra {words.played_matra(row.mean_matra, tala.matras, 1)} of {tala.name}"


def _titles(library: Library, each: pd.DataFrame) -> dict[str, str]:
    slugs = dict.fromkeys(each["recording"])
    return {slug: library.archive.state(slug).recording.title or slug for slug in slugs}


def _counts(
    here: pd.DataFrame, each: pd.DataFrame, titles: Mapping[str, str]
) -> tuple[list[str], dict[str, list[int]]]:
    """The labels of the most used phrases, and per performance how often each is played."""
    top = here.head(MOST_SHOWN)
    keys = list(zip(top["swaras"], top["role"], strict=True))
    found = {
        (row.recording, row.swaras, row.role): int(count)
        for row, count in zip(each.itertuples(), each["count"], strict=True)
    }
    counts = {titles[slug]: [found.get((slug, *key), 0) for key in keys] for slug in titles}
    return _labels(top), counts


def _labels(phrases: pd.DataFrame) -> list[str]:
    return [
        f"{swaras}  ({role})" if role else swaras
        for swaras, role in zip(phrases["swaras"], phrases["role"], strict=True)
    ]


def _positions(here: pd.DataFrame) -> list[Part]:
    parts: list[Part] = []
    inside = here[here["tala"] != ""].head(MOST_SHOWN)
    for tala, phrases in inside.groupby("tala", sort=False):
        name = words.tala_name(str(tala))
        parts += [
            html.H2(f"Where in {name} they begin"),
            _figure(
                position_figure(_labels(phrases), list(phrases["histogram"]), name),
                f"On which matra of {name} each phrase begins; the table has the means",
            ),
        ]
    return parts


def _figure(drawn: Any, label: str) -> Part:
    graph = dcc.Graph(figure=drawn, config={"displayModeBar": False}, responsive=True)
    return html.Div(graph, className="figure", role="img", **{"aria-label": label})


def _empty() -> Part:
    return empty(
        "No phrase is written down yet",
        html.P("Write one down from the command line, or load a table of them:"),
        html.Code(
            'layakosh phrase RECORDING --from 12.5 --to 16 --swaras "R m P n D P" --role pakad\n'
            "layakosh load RECORDING --phrases phrases.csv",
            className="command",
        ),
    )
