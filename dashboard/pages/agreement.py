"""Agreement: how far two people agree on one performance, and where they part, to be heard there.

Conventions: the performance stands in the path, the two people and what is compared in the address
(``?a=asha&b=devkant&table=phrases``). Neither is right.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import combinations
from typing import cast
from urllib.parse import urlencode

import numpy as np
import pandas as pd
from dash import dcc, html

from annotate.state import State
from annotate.statistics.agreement import TOLERANCE_S, Agreement, Marks, agreement
from annotate.statistics.annotators import Table, marks_by
from annotate.statistics.matching import pairs_within
from dashboard.later import Tell
from dashboard.library import Library
from dashboard.pages.counted_words import percent
from dashboard.pages.instances import hear_button
from dashboard.pages.late import Asked, LatePart, place_of, version_of_recording
from dashboard.pages.page import Page
from dashboard.parts import Column, Part, choices, empty, table
from theory.clock import format_clock

TABLES = ("phrases", "tihais")
MOST_PAIRS = 12
MOST_LISTED = 100


def link(state: State) -> Part:
    """Link to how far those agree who wrote down the same of a performance; empty where nobody can be compared."""
    people = {who for name in TABLES if len(_people(state, name)) > 1 for who in _people(state, name)}
    if not people:
        return ""
    return dcc.Link(f"How far its {len(people)} annotators agree", href=f"/agreement/{state.recording.slug}")


def page(library: Library, slug: str, wanted: Mapping[str, str]) -> Page:
    """Show how far two people agree.

    Raises
    ------
    annotate.errors.NoSuchRecording
    """
    state = library.archive.state(slug)
    title = state.recording.title or slug
    heading = [
        html.H1("Agreement"),
        html.P(["of two people on ", dcc.Link(title, href=f"/cycles/{slug}"), ". Neither is right."], className="lede"),
    ]
    pairs = [(name, a, b) for name in TABLES for a, b in combinations(_people(state, name), 2)][:MOST_PAIRS]
    if not pairs:
        nobody = empty(
            "Nobody to compare yet",
            html.P("Two people must have written down phrases, or tihais, of this performance, each under a name."),
            html.P(
                [
                    "Where people log in, whatever they mark bears their name. ",
                    dcc.Link("Open the performance", href=f"/cycles/{slug}"),
                    ", select a passage and press d to write a phrase down.",
                ]
            ),
        )
        return Page("Agreement", [*heading, nobody], "Concerts")
    asked = wanted.get("table", ""), wanted.get("a", ""), wanted.get("b", "")
    chosen = asked if asked in pairs else pairs[0]
    options = [
        (
            f"{a} and {b}, {name}",
            f"/agreement/{slug}?{urlencode({'table': name, 'a': a, 'b': b})}",
            None,
            chosen == (name, a, b),
        )
        for name, a, b in pairs
    ]
    named = dict(zip(("table", "a", "b"), chosen, strict=True))
    return Page(
        "Agreement",
        [*heading, choices("Who, and what", options), place_of(AGREEMENT, {"slug": slug, **named}, "Comparing")],
        "Concerts",
    )


def _people(state: State, name: str) -> list[str]:
    rows = state.phrases if name == "phrases" else state.tihais
    return sorted({each.who for each in rows if each.who})


def _make(library: Library, asked: Asked, _tell: Tell) -> Part:
    slug, name = asked["slug"], cast("Table", asked["table"] if asked["table"] in TABLES else "phrases")
    first, second = marks_by(library.archive, slug, [asked["a"], asked["b"]], name)
    told = agreement(first, second, end_s=library.archive.state(slug).recording.duration_s)
    return [
        table(
            f"Two marks that start within {told.tolerance_s:g} s of each other count as one thing that both marked",
            _MEASURES,
            _measures(told),
            cards=False,
        ),
        html.P(f"Beware: {told.note}.") if told.note else None,
        html.H2("What they call the same thing"),
        _labels(told),
        html.H2("Marked by one alone"),
        _alone(library, slug, first, second),
    ]


_MEASURES = (Column("Measure"), Column("Value", number=True), Column("What it says"))


def _measures(told: Agreement) -> list[list[Part]]:
    interval = "" if math.isnan(told.kappa_low) else f" ({told.kappa_low:.2f} to {told.kappa_high:.2f})"
    return [
        ["Marked", f"{told.marks_a} and {told.marks_b}", f"by {told.a} and {told.b}; {told.pairs} of them by both"],
        ["Found by both", percent(told.found_by_both), "twice those by both, over all marks of the two"],
        ["Starts apart", _ms(told.start_apart_ms), f"median; 95 % within {_ms(told.start_apart_95_ms)}"],
        ["Ends apart", _ms(told.end_apart_ms), f"median; 95 % within {_ms(told.end_apart_95_ms)}"],
        ["Called alike", percent(told.labels_alike), "share of what both marked"],
        [
            "Kappa",
            _number(told.kappa),
            f"called alike beyond what chance gives, up to 1{interval and '; 95 % interval'}{interval}",
        ],
        ["Kappa of moments", _number(told.kappa_of_moments), "the same at every moment of the recording"],
    ]


def _ms(value: float) -> str:
    return "none" if math.isnan(value) else f"{value:.0f} ms"


def _number(value: float) -> str:
    return "none" if math.isnan(value) else f"{value:.2f}"


def _labels(told: Agreement) -> Part:
    rows = [
        [row["label_a"] or "no name", row["label_b"] or "no name", str(row["pairs"])]
        for row in told.labels.to_dict("records")
    ]
    if not rows:
        return html.P("They marked nothing in common.")
    return table("", [Column(told.a), Column(told.b), Column("Times", number=True)], rows, cards=False)


def _alone(library: Library, slug: str, first: Marks, second: Marks) -> Part:
    here, there = (marks.rows.sort_values("start_s", ignore_index=True) for marks in (first, second))
    both = pairs_within(here["start_s"].to_numpy(float), there["start_s"].to_numpy(float), TOLERANCE_S)
    parts = [
        rows[~np.isin(np.arange(len(rows)), paired)].assign(who=marks.who)
        for rows, paired, marks in zip((here, there), both, (first, second), strict=True)
    ]
    alone: pd.DataFrame = pd.concat(parts, ignore_index=True).sort_values("start_s")
    if not len(alone):
        return html.P("Nothing: whatever one marked, the other marked too.")
    sound, title = library.archive.has_sound(slug), library.archive.state(slug).recording.title or slug
    rows = [
        [
            dcc.Link(format_clock(row["start_s"], 1), href=f"/cycles/{slug}?at={row['start_s']:.3f}"),
            hear_button(slug, title, row["start_s"], row["end_s"]) if sound else "no sound",
            row["who"],
            row["label"] or "",
        ]
        for row in alone.head(MOST_LISTED).to_dict("records")
    ]
    cut = f", the first {MOST_LISTED}" if len(alone) > MOST_LISTED else ""
    columns = [Column("At"), Column("Hear"), Column("Marked by"), Column("Called")]
    return table(f"{len(alone)} marks{cut}", columns, rows)


AGREEMENT = LatePart("agreement", ("slug", "table", "a", "b"), _make, version_of_recording)
PARTS = (AGREEMENT,)
