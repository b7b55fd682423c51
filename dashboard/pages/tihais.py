"""Tihais: all of them, over all performances, to be searched, sorted and paged through.

Conventions: whatever is asked stands in the address (:mod:`dashboard.tihai_list`), so that a view can be kept as a
bookmark. What was typed stays in its field also where it cannot be read; then the fault is told above the list.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any
from urllib.parse import parse_qs

import dash
import pandas as pd
from dash import Input, Output, State, ctx, dcc, html
from dash.exceptions import PreventUpdate

from annotate.archive import Archive
from annotate.wording import place
from dashboard import words
from dashboard.library import Library
from dashboard.pages import agreement
from dashboard.pages.page import Page
from dashboard.parts import Column, Part, choices, empty, label_words, table, told, verdict_mark
from dashboard.tihai_list import FIELDS, ON_PAPER, RULES, SORTS, VERDICTS, Found, address, asked, find
from theory.clock import format_clock
from theory.errors import LayakoshError
from theory.kinds import all_kinds
from theory.ragas import all_ragas
from theory.talas import all_talas

HEADINGS = {
    "performance": "Performance",
    "tihai": "Tihai",
    "at": "At",
    "raga": "Raga",
    "start": "Starts on",
    "palla": "Palla",
    "dam": "Dam",
    "rule": "Rule",
    "target": "Aims at",
    "laya": "Laya",
    "paper": "On paper",
    "played": "As played",
    "verdict": "Verdict",
}
_NUMBERS = {"at", "start", "dam", "laya", "played"}
_MAIN = 3  # fields that stand open; the others are behind "More to search by"


def page(library: Library, wanted: Mapping[str, str]) -> Page:
    """List the tihais that the address asks for."""
    try:
        found: Found | None = find(library.archive, wanted)
        fault = None
    except LayakoshError as error:
        found, fault = None, str(error)
    if found is not None and found.all == 0:
        return Page("Tihais", [html.H1("Tihais"), _empty()], "Tihais")
    content = [
        html.H1("Tihais"),
        html.P("Every tihai of the archive: its arithmetic on paper, and where it landed as played.", className="lede"),
        _form(library.archive, wanted),
        _given(wanted),
        _annotators(library, wanted.get("recording", "")),
        *_choices(found, wanted),
        html.Div(_listing(found, fault, wanted), id="tihai-list"),
    ]
    return Page("Tihais", content, "Tihais")


def _annotators(library: Library, slug: str) -> Part | None:
    """Where the list is of one performance that several people wrote down: the way to how far they agree."""
    told = agreement.link(library.archive.state(slug)) if slug in library.archive else ""
    return html.P(told) if told else None


def bind(app: dash.Dash) -> None:
    """Let what is typed become the address: with Enter in any field, or the button."""

    @app.callback(
        Output("where", "search", allow_duplicate=True),
        Input("tihai-search", "n_clicks"),
        [Input(_id(each.name), "n_submit") for each in FIELDS],
        [State(_id(each.name), "value") for each in FIELDS],
        State("where", "search"),
        prevent_initial_call=True,
    )
    def search(clicks: int | None, *given: Any) -> str:
        submits, values, here = given[: len(FIELDS)], given[len(FIELDS) : -1], given[-1]
        if not ctx.triggered_id or not (clicks or any(submits)):
            raise PreventUpdate  # the fields have only just been put in
        wanted = {key: each[-1] for key, each in parse_qs((here or "").removeprefix("?")).items()}
        typed = {each.name: str(value or "").strip() for each, value in zip(FIELDS, values, strict=True)}
        return address(wanted, **typed).removeprefix("/tihais")


def _id(name: str) -> str:
    return f"tihai-{name.replace('_', '-')}"


def _form(archive: Archive, wanted: Mapping[str, str]) -> Part:
    offered = _offered(archive)
    fields = [
        html.Label(
            [
                label_words(each.label, each.meaning),
                dcc.Input(
                    id=_id(each.name),
                    name=each.name,
                    type="search" if each.name == "find" else "text",
                    value=wanted.get(each.name, ""),
                    placeholder=each.example,
                    autoComplete="off",
                    **({"list": f"{_id(each.name)}-list"} if each.name in offered else {}),
                ),
            ],
            className="field",
        )
        for each in FIELDS
    ]
    lists = [
        html.Datalist([html.Option(value=value) for value in values], id=f"{_id(name)}-list")
        for name, values in offered.items()
    ]
    is_open = any(wanted.get(each.name) for each in FIELDS[_MAIN:])
    return html.Div(
        [
            html.Div([*fields[:_MAIN], html.Button("Find", id="tihai-search", type="button", className="main")]),
            html.Details(
                [
                    html.Summary("More to search by"),
                    html.Div(fields[_MAIN:]),
                    html.P(
                        "A count may be a whole number, a fraction (11/2), a mixed one (8 1/2) or a range (4..6, 4.., "
                        "..6). Kinds go by the definitions of the sources; schools differ: go by your own teacher.",
                        className="quiet",
                    ),
                ],
                open=is_open,
            ),
            *lists,
        ],
        className="search-form",
        role="search",
        **{"aria-label": "Search the tihais"},
    )


def _offered(archive: Archive) -> dict[str, list[str]]:
    """What the fields offer while one types: what the archive holds, then the tables."""
    with archive.one_look():
        recordings = archive.index("recordings", ["recording", "raga"])
        tihais = archive.index("tihais", ["tala", "kind", "played_by", "who"])
    held = [words.raga_name(raga) for raga in recordings["raga"].dropna().unique() if raga]
    kinds = [kind for kind in tihais["kind"].dropna().unique() if kind]
    offered = {
        "raga": [*held, *(raga.name for raga in all_ragas())],
        "tala": [
            *(words.tala_name(tala) for tala in tihais["tala"].dropna().unique() if tala),
            *(tala.name for tala in all_talas()),
        ],
        "kind": [*kinds, *all_kinds()],
        "played_by": [name for name in tihais["played_by"].dropna().unique() if name],
        "who": [name for name in tihais["who"].dropna().unique() if name],
        "recording": recordings["recording"].tolist()[:500],
    }
    return {name: list(dict.fromkeys(values)) for name, values in offered.items()}


def _given(wanted: Mapping[str, str]) -> Part | None:
    """What narrows the list, each with a way to drop it."""
    labels = {each.name: each.label for each in FIELDS} | {"rule": "Rule", "paper": "On paper"}
    given = [(name, text) for name, text in asked(wanted).items() if name != "verdict"]
    if not given:
        return None
    links = [
        html.Li(
            dcc.Link(
                [f"{labels[name]}: {text} ", html.Span("×", **{"aria-hidden": "true"})],
                href=address(wanted, **{name: None}),
                title="Search without it",
            )
        )
        for name, text in given
    ]
    return html.Nav(
        html.Ul(links, className="choices"), className="given", **{"aria-label": "Searched by; press to drop"}
    )


def _choices(found: Found | None, wanted: Mapping[str, str]) -> list[Part]:
    if found is None:
        return []
    chosen = wanted.get("verdict")
    options = [("all", address(wanted, verdict=None), sum(found.by_verdict.values()), chosen not in VERDICTS)]
    options += [
        (f"{words.SIGNS[name]} {words.WORDS[name]}", address(wanted, verdict=name), count, chosen == name)
        for name in VERDICTS
        if (count := found.by_verdict.get(name, 0)) or chosen == name
    ]
    narrower = [("either rule", address(wanted, rule=None), None, wanted.get("rule") not in RULES)]
    narrower += [(f"counted {rule}", address(wanted, rule=rule), None, wanted.get("rule") == rule) for rule in RULES]
    paper = [("whatever the sum says", address(wanted, paper=None), None, wanted.get("paper") not in ON_PAPER)]
    paper += [(f"{name} on paper", address(wanted, paper=name), None, wanted.get("paper") == name) for name in ON_PAPER]
    rest = html.Details(
        [
            html.Summary("By rule and sum"),
            choices("Landing rule", narrower),
            choices("On paper", paper),
        ],
        open=bool(wanted.get("rule") or wanted.get("paper")),
    )
    return [choices("Verdict", options), rest]


def _listing(found: Found | None, fault: str | None, wanted: Mapping[str, str]) -> list[Part]:
    if found is None:
        return [told(fault or "", "fault"), html.P(dcc.Link("Show all tihais", href="/tihais"))]
    if found.count == 0:
        return [
            empty(
                "No tihai fits",
                html.P(
                    [
                        "All that is asked must hold at once: drop one of the conditions above, or ",
                        dcc.Link(f"show all {found.all}", href="/tihais"),
                        ".",
                    ]
                ),
            )
        ]
    key = wanted.get("sort", "")
    key = key if key in SORTS else "performance"
    down = wanted.get("down") == "1"
    columns = [
        Column(
            heading,
            number=name in _NUMBERS,
            href=address(wanted, sort=name, down="1" if name == key and not down else None),
            order=("descending" if down else "ascending") if name == key else None,
        )
        for name, heading in HEADINGS.items()
    ]
    counted = f"{found.count} of {found.all}" if found.count < found.all else str(found.count)
    caption = f"{counted} tihais" + (f", page {found.page} of {found.pages}" if found.pages > 1 else "")
    rows = [_row(each) for each in found.rows.to_dict("records")]
    return [table(caption, columns, rows), *_pages(found, wanted)]


def _row(row: Mapping[Any, Any]) -> list[Part]:
    slug, key, at_s = row["recording"], row["tihai"], row["first_palla_s"]
    laya = row["laya_matras_per_min"]
    return [
        dcc.Link(row["title"], href=f"/cycles/{slug}?at={at_s:.3f}"),
        [dcc.Link(key, href=f"/tihais/{slug}/{key}"), html.Small(row["label"] or "")],
        format_clock(at_s, decimals=1),
        words.raga_name(row["raga"] or ""),
        _count(row["start"]),
        html.Span(row["palla"] or "", className="notation"),
        _count(row["dam"]),
        row["rule"],
        place(Fraction(row["target"])),
        "" if pd.isna(laya) else f"{laya:.0f}",
        "not written" if pd.isna(row["paper_lands"]) else "lands" if row["paper_lands"] else "misses",
        words.amount_ms(None if pd.isna(row["landing_dev_ms"]) else row["landing_dev_ms"]),
        verdict_mark(row["verdict"]),
    ]


def _count(stored: Any) -> str:
    return words.matra_number(Fraction(stored)) if isinstance(stored, str) and stored else ""


def _pages(found: Found, wanted: Mapping[str, str]) -> list[Part]:
    if found.pages < 2:
        return []
    near = {1, found.pages, *range(found.page - 2, found.page + 3)}
    numbers = sorted(number for number in near if 1 <= number <= found.pages)
    options = [(str(number), _page_address(wanted, number), None, number == found.page) for number in numbers]
    if found.page > 1:
        options.insert(0, ("before", _page_address(wanted, found.page - 1), None, False))
    if found.page < found.pages:
        options.append(("next", _page_address(wanted, found.page + 1), None, False))
    return [choices("Pages", options)]


def _page_address(wanted: Mapping[str, str], number: int) -> str:
    return address(wanted, page=str(number) if number > 1 else None)


def _empty() -> Part:
    return empty(
        "No tihai is written down yet",
        html.P(
            [
                "Open a performance under ",
                dcc.Link("Concerts", href="/"),
                ", play it, press p where each palla begins and l where it lands. Or from the command line:",
            ]
        ),
        html.Code(
            'layakosh tihai RECORDING --starts 61.2,65.0,68.8 --landing 72.6 --palla "R m P N S\'" --dam 1',
            className="command",
        ),
    )
