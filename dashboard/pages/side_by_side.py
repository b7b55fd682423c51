"""Two performances or two ragas side by side: what differs, by how much, and how sure that is.

Conventions: both sides and what is compared stand in the address (``?a=desh&b=bageshri&of=swaras``). A side is a raga
or the short name of a recording.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from urllib.parse import parse_qs, urlencode

import dash
import pandas as pd
from dash import Input, Output, State, ctx, dcc, html
from dash.exceptions import PreventUpdate

from annotate.archive import Archive
from annotate.labels import raga_key
from annotate.statistics.counted import Of
from annotate.statistics.side_by_side import REST, SideBySide, side_by_side
from annotate.statistics.usage import ragas_played
from dashboard import words
from dashboard.figures.intervals import intervals_drawing
from dashboard.later import Tell
from dashboard.library import Library
from dashboard.pages.counted_words import OF_WORDS, instances_address, number_link, percent
from dashboard.pages.drawn import drawing
from dashboard.pages.instances import of_of
from dashboard.pages.late import Asked, LatePart, place_of, version_of_all
from dashboard.pages.page import Page
from dashboard.parts import Column, Part, choices, table

MOST_SHOWN = 24
MOST_LISTED = 100
MOST_OFFERED = 500


def page(library: Library, wanted: Mapping[str, str]) -> Page:
    """Set two sides beside each other, or ask for them."""
    a, b, of = wanted.get("a", "").strip(), wanted.get("b", "").strip(), of_wanted(wanted)
    options = [
        (text, f"/side-by-side?{urlencode({'a': a, 'b': b, 'of': name})}", None, name == of)
        for name, text in OF_WORDS.items()
    ]
    content = [
        html.H1("Side by side"),
        html.P("Two performances, two ragas, or one of each: what differs in what is played.", className="lede"),
        _form(library.archive, a, b),
        choices("Compared", options),
        place_of(DIFFERENCE, {"a": a, "b": b, "of": of}, "Drawing again and again to see how sure it is")
        if a and b
        else html.P("Name both sides: a raga, or a performance by its short name as its address has it."),
    ]
    content += [
        html.P(dcc.Link(f"How far the people agree who wrote down {_name(library, side)}", href=f"/agreement/{side}"))
        for side in dict.fromkeys((a, b))
        if side in library.archive
    ]
    return Page("Side by side", content, "Phrases")


def of_wanted(wanted: Mapping[str, str]) -> Of:
    """Return what is compared; the time of each swara where nothing is named."""
    return of_of(wanted) if wanted.get("of") else "swaras"


def bind(app: dash.Dash) -> None:
    """Let what is typed become the address."""

    @app.callback(
        Output("where", "search", allow_duplicate=True),
        Input("compare", "n_clicks"),
        Input("compare-a", "n_submit"),
        Input("compare-b", "n_submit"),
        State("compare-a", "value"),
        State("compare-b", "value"),
        State("where", "search"),
        prevent_initial_call=True,
    )
    def compare(clicks: Any, in_a: Any, in_b: Any, a: Any, b: Any, here: str | None) -> str:
        if not ctx.triggered_id or not (clicks or in_a or in_b):
            raise PreventUpdate  # the fields have only just been put in
        of = parse_qs((here or "").removeprefix("?")).get("of", ["swaras"])[-1]
        return f"?{urlencode({'a': str(a or '').strip(), 'b': str(b or '').strip(), 'of': of})}"


def _form(archive: Archive, a: str, b: str) -> Part:
    with archive.one_look():
        ragas = [words.raga_name(str(raga)) for raga in ragas_played(archive).index if raga]
        recordings = archive.index("recordings", ["recording", "title"]).head(MOST_OFFERED)
    offered = [html.Option(value=raga) for raga in ragas]
    offered += [
        html.Option(value=row["recording"], label=row["title"] or row["recording"])
        for row in recordings.to_dict("records")
    ]
    fields = [
        html.Label(
            [
                html.Span(label),
                dcc.Input(id=f"compare-{name}", type="text", value=value, list="compare-list", autoComplete="off"),
            ],
            className="field",
        )
        for name, label, value in (("a", "One side", a), ("b", "The other", b))
    ]
    button = html.Button("Set side by side", id="compare", type="button", className="main")
    return html.Div(
        [html.Div([*fields, button]), html.Datalist(offered, id="compare-list")],
        className="search-form",
        role="search",
        **{"aria-label": "What to set side by side"},
    )


def _make_difference(library: Library, asked: Asked, tell: Tell) -> Part:
    of = of_wanted(asked)
    told = side_by_side(library.archive, asked["a"], asked["b"], of, tell=tell)
    top = told.rows.head(MOST_SHOWN)
    names = [_name(library, side) for side in (told.a, told.b)]
    drawn_again = f"{told.units_a} and {told.units_b} {told.drawn} drawn again {told.resamples} times"
    caption = (
        f"Share in {names[0]} minus share in {names[1]}: right of zero there is more of it in {names[0]}. Lines: 95 % "
        f"intervals, {drawn_again}. Full sign: the interval leaves out zero."
    )
    caption += " Of twenty that do not differ, one leaves it out by chance."
    caption += f" Beware: {told.note}." if told.note else ""
    difference, low, high = (list(100 * top[name]) for name in ("difference", "low", "high"))
    return drawing(
        "intervals",
        intervals_drawing(
            [_item(of, str(item)) for item in top["item"]],
            difference,
            low,
            high,
            f"{names[0]} minus {names[1]} (percentage points)",
            OF_WORDS[of].split(",")[0],
        ),
        caption,
        table=_table(library.archive, told, of, asked, names),
        summary="The numbers, and their sound",
    )


def _name(library: Library, side: str) -> str:
    return (library.archive.state(side).recording.title or side) if side in library.archive else side


def _item(of: Of, item: str) -> str:
    if of != "places" or item == REST:
        return item
    tala, _, matra = item.rpartition(" ")
    return f"{words.tala_name(tala)} {matra}"


def _table(archive: Archive, told: SideBySide, of: Of, asked: Asked, names: list[str]) -> Part:
    links = [_side_of(archive, asked[letter]) for letter in "ab"]
    rows = [
        [
            html.Span(_item(of, str(row["item"])), className="notation"),
            *(_share(row, letter, of, link) for letter, link in zip("ab", links, strict=True)),
            f"{100 * row['difference']:+.1f}",
            "none" if pd.isna(row["low"]) else f"{100 * row['low']:+.1f} to {100 * row['high']:+.1f}",
        ]
        for row in told.rows.head(MOST_LISTED).to_dict("records")
    ]
    columns = [
        Column("What"), Column(names[0], number=True), Column(names[1], number=True),
        Column("Difference (points)", number=True), Column("95 % interval", number=True),
    ]  # fmt: skip
    return table("Shares, and their difference", columns, rows)


def _side_of(archive: Archive, side: str) -> dict[str, str]:
    """What an address of instances says of a side."""
    if side in archive:
        return {"raga": archive.state(side).recording.raga, "by": "performance", "value": side}
    return {"raga": raga_key(side)}


def _share(row: Mapping[Any, Any], letter: str, of: Of, link: Mapping[str, str]) -> Part:
    share, item = row[f"share_{letter}"], str(row["item"])
    if not share or item == REST or not link["raga"]:
        return percent(share)
    more = {name: value for name, value in link.items() if name != "raga"}
    return number_link(percent(share), instances_address(link["raga"], of, item, **more), item)


DIFFERENCE = LatePart("difference", ("a", "b", "of"), _make_difference, version_of_all)
PARTS = (DIFFERENCE,)
