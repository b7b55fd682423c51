"""Phrases: what a raga is played with, across performances, years, instruments and musicians.

Conventions: the raga and what it is split by stand in the address (``?raga=desh&by=year``). The list is there at once,
what is counted further comes after the rest of the page; every number leads to the places it counts.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, cast

import pandas as pd
from dash import dcc, html

from annotate.statistics.performances import COLUMN_OF, By
from annotate.statistics.usage import phrase_usage, ragas_played
from dashboard import words
from dashboard.figures.usage import position_figure, usage_figure
from dashboard.later import Tell
from dashboard.library import Library
from dashboard.pages.counted_words import (
    BY_WORDS,
    NO_ROLE,
    instances_address,
    number_link,
    percent,
    raga_address,
    raga_words,
)
from dashboard.pages.drawn import drawn
from dashboard.pages.late import Asked, LatePart, place_of, version_of_all
from dashboard.pages.page import Page
from dashboard.parts import Column, Part, choices, empty, table
from theory.talas import get_tala

MOST_SHOWN = 24
"""Phrases drawn in a figure."""
MOST_LISTED = 200
"""Phrases in the table: beyond them are those played once or twice."""
MOST_GROUPS = 7
"""Performances, years ... told apart in a figure, those with the most phrases; the others count together."""
MOST_RAGAS = 12
REST = "all others"


def page(library: Library, wanted: Mapping[str, str]) -> Page:
    """Show the phrases of one raga."""
    ragas = ragas_played(library.archive)
    if ragas.empty:
        return Page("Phrases", [html.H1("Phrases"), _empty()], "Phrases")
    raga = wanted.get("raga", "")
    raga = raga if raga in ragas.index else str(ragas.index[0])
    by = by_of(wanted)
    asked = {"raga": raga, "by": by}
    content = [
        html.H1("Phrases"),
        html.P(
            "Which phrases a raga is played with: how often, for how much of the time, where in the avartan.",
            className="lede",
        ),
        _ragas(ragas, raga, by),
        html.H2(raga_words(raga)[:1].upper() + raga_words(raga)[1:]),
        html.P(
            [
                dcc.Link(f"{raga_words(raga)}: rules, swaras, turns", href=raga_address(raga)) if raga else None,
                " · " if raga else None,
                dcc.Link("set two side by side", href=f"/side-by-side?a={raga}" if raga else "/side-by-side"),
                " · ",
                dcc.Link("find a phrase by its sound", href="/like"),
            ]
        ),
        _listed(library, raga),
        html.H2("How often, and for how long"),
        by_choices(f"/phrases?raga={raga}&", by),
        place_of(USAGE, asked, "Counting the phrases"),
        html.H2("Where in the avartan they begin"),
        place_of(PLACES, asked, "Counting where they begin"),
    ]
    return Page("Phrases", content, "Phrases")


def by_of(wanted: Mapping[str, str]) -> By:
    """Return what an address splits by; by performance where it names nothing known."""
    by = wanted.get("by", "")
    return cast("By", by) if by in BY_WORDS else "performance"


def by_choices(address: str, by: str) -> Part:
    """Choose what is split by; ``address`` ends before ``by=``."""
    options = [(text, f"{address}by={name}", None, name == by) for name, text in BY_WORDS.items()]
    return choices("Split", options)


def _ragas(ragas: pd.Series, chosen: str, by: str) -> Part:
    first = [name for name in ragas.index[:MOST_RAGAS] if name != chosen]
    shown = [chosen, *first][:MOST_RAGAS] if len(ragas) > MOST_RAGAS else list(ragas.index)
    options: list[tuple[str, str, int | None, bool]] = [
        (raga_words(str(name)), f"/phrases?raga={name}&by={by}", int(ragas[name]), name == chosen) for name in shown
    ]
    if len(ragas) > len(shown):
        options.append((f"all {len(ragas)} ragas", "/ragas", None, False))
    return choices("Raga", options)


def _listed(library: Library, raga: str) -> Part:
    """List the phrases of a raga, counted while the page is asked for: what the page is opened for is there at once."""
    here = phrase_usage(library.archive, raga)
    played = int(library.archive.index("recordings", ["raga"])["raga"].fillna("").eq(raga).sum())
    listed = here.head(MOST_LISTED)
    more = f"; the {MOST_LISTED} most used of {len(here)}" if len(here) > MOST_LISTED else ""
    return table(
        f"{played} performance{'' if played == 1 else 's'}; share of time is of all of them together{more}",
        _COLUMNS,
        [_row(raga, row) for row in listed.to_dict("records")],
    )


def _make_usage(library: Library, asked: Asked, _tell: Tell) -> Part:
    raga, by = asked["raga"], by_of(asked)
    top, split = phrase_usage(library.archive, raga).head(MOST_SHOWN), phrase_usage(library.archive, raga, by)
    groups = _groups(library, split, by)
    return drawn(
        usage_figure(_labels(top), _counts(top, split, groups, by), list(top["share_of_time"])),
        f"How often each phrase is played, {BY_WORDS[by]}, and to the right the share of all time it takes.",
        table=_split_table(raga, top, split, groups, by),
        summary="The numbers, and their sound",
    )


_COLUMNS = (
    Column("Phrase"),
    Column("Role"),
    Column("Times", number=True),
    Column("Performances", number=True),
    Column("Share of time", number=True),
    Column("Begins about"),
)


def _row(raga: str, row: Mapping[Any, Any]) -> list[Part]:
    href = instances_address(raga, "phrases", row["swaras"], role=row["role"] or NO_ROLE)
    return [
        html.Span(row["swaras"], className="notation"),
        row["role"],
        number_link(str(row["count"]), href, f"{row['swaras']}, all {row['count']} of them"),
        str(row["performances"]),
        percent(row["share_of_time"]),
        _begins(row),
    ]


def _begins(row: Mapping[Any, Any]) -> str:
    if pd.isna(row["mean_matra"]):
        return ""
    tala = get_tala(row["tala"])
    return f"matra {words.about_matra(row['mean_matra'], tala.matras)} of {tala.name}"


def _groups(library: Library, split: pd.DataFrame, by: By) -> dict[str, str]:
    """The values that are told apart, with their names: titles for performances."""
    column = COLUMN_OF[by]
    if split.empty:
        return {}
    most = split.groupby(split[column].astype(str))["count"].sum().sort_values(ascending=False, kind="stable")
    values = [str(value) for value in most.index[:MOST_GROUPS]]
    if by != "performance":
        return {value: value for value in sorted(values)}
    rows = library.archive.index("recordings", ["recording", "title"], values)
    titles = dict(zip(rows["recording"], rows["title"], strict=True))
    named = [titles.get(value) or value for value in values]
    return {
        value: name if named.count(name) == 1 else f"{name} ({value})"
        for value, name in zip(values, named, strict=True)
    }


def _counts(top: pd.DataFrame, split: pd.DataFrame, groups: Mapping[str, str], by: By) -> dict[str, list[int]]:
    """Per group, how often each of the phrases is played; what is in no group told apart is in the rest."""
    keys = list(zip(top["swaras"], top["role"], strict=True))
    counts = {name: [0] * len(keys) for name in (*groups.values(), REST)}
    place = {key: number for number, key in enumerate(keys)}
    for row in split.to_dict("records"):
        number = place.get((row["swaras"], row["role"]))
        if number is not None:
            counts[groups.get(str(row[COLUMN_OF[by]]), REST)][number] += int(row["count"])
    if not any(counts[REST]):
        del counts[REST]
    return counts


def _split_table(raga: str, top: pd.DataFrame, split: pd.DataFrame, groups: Mapping[str, str], by: By) -> Part:
    counts = _counts(top, split, groups, by)
    values = {name: value for value, name in groups.items()}
    columns = [Column("Phrase"), Column("Role"), *(Column(name, number=True) for name in counts)]
    rows = [
        [
            html.Span(swaras, className="notation"),
            role,
            *(
                number_link(
                    str(numbers[index]),
                    instances_address(raga, "phrases", swaras, role=role or NO_ROLE, by=by, value=values[name]),
                    f"{swaras} of {name}",
                )
                if numbers[index] and name in values
                else str(numbers[index])
                for name, numbers in counts.items()
            ),
        ]
        for index, (swaras, role) in enumerate(zip(top["swaras"], top["role"], strict=True))
    ]
    return table("Times played", columns, rows)


def _labels(phrases: pd.DataFrame) -> list[str]:
    return [
        f"{swaras}  ({role})" if role else swaras
        for swaras, role in zip(phrases["swaras"], phrases["role"], strict=True)
    ]


def _make_places(library: Library, asked: Asked, _tell: Tell) -> Part:
    raga = asked["raga"]
    here = phrase_usage(library.archive, raga)
    inside = here[here["tala"] != ""].head(MOST_SHOWN)
    if inside.empty:
        return html.P("No phrase of it stands in a tala yet, so none has a place in the avartan.")
    parts: list[Part] = []
    for tala, phrases in inside.groupby("tala", sort=False):
        name = words.tala_name(str(tala))
        parts += [
            html.H3(name),
            drawn(
                position_figure(_labels(phrases), list(phrases["histogram"]), name),
                f"On which matra of {name} each phrase begins: the larger the dot, the more often.",
                table=_places_table(raga, str(tala), phrases),
                summary="The numbers, and their sound",
            ),
        ]
    return parts


def _places_table(raga: str, tala: str, phrases: pd.DataFrame) -> Part:
    """Matras on which phrases begin, the sums of all phrases leading to their sound."""
    sums = [sum(each) for each in zip(*phrases["histogram"], strict=True)]
    rows = []
    for matra, count in enumerate(sums, 1):
        if count:
            most = max(phrases.to_dict("records"), key=_beginning_on(matra))
            href = instances_address(raga, "places", f"{tala} {matra}")
            named = f"{most['swaras']} ({most['histogram'][matra - 1]})"
            rows.append([str(matra), number_link(str(count), href, f"what begins on matra {matra}"), named])
    columns = [Column("Matra"), Column("Phrases begin", number=True), Column("Most of them")]
    return table("Of the phrases drawn above; the list has all that begin there", columns, rows, cards=False)


def _beginning_on(matra: int) -> Callable[[Mapping[Any, Any]], int]:
    return lambda row: int(row["histogram"][matra - 1])


USAGE = LatePart("phrases-usage", ("raga", "by"), _make_usage, version_of_all)
PLACES = LatePart("phrases-places", ("raga", "by"), _make_places, version_of_all)
PARTS = (USAGE, PLACES)


def _empty() -> Part:
    return empty(
        "No phrase is written down yet",
        html.P(
            [
                "Open a performance under ",
                dcc.Link("Concerts", href="/"),
                ", select a passage by dragging over its rows (or press a for the avartan that sounds), and press d. "
                "Or from the command line, also from a table:",
            ]
        ),
        html.Code(
            'layakosh phrase RECORDING --from 12.5 --to 16 --swaras "R m P n D P" --role pakad\n'
            "layakosh load RECORDING --phrases phrases.csv",
            className="command",
        ),
    )
