"""Tihais: all of them, over all performances, to be filtered and sorted.

Conventions: verdict, performance and order stand in the address, so that a view can be kept as a bookmark; the search
field narrows what is listed while one types.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import parse_qs, urlencode

import dash
from dash import Input, Output, State, dcc, html

from annotate.records import Recording, TihaiRecord
from annotate.verify import Verdict
from annotate.wording import place
from dashboard import words
from dashboard.library import Library
from dashboard.pages.page import Page
from dashboard.parts import Column, Part, choices, empty, table, verdict_mark
from theory.clock import format_clock

ORDER = ("lands", "early", "late", "misses", "unknown")


@dataclass(frozen=True)
class Entry:
    """One tihai with what the table shows of it."""

    recording: Recording
    record: TihaiRecord
    verdict: Verdict

    @property
    def text(self) -> str:
        """What the search field looks in."""
        record = self.record
        shown = (self.recording.title, self.recording.raga, record.tihai, record.palla, record.label, record.played_by)
        return " ".join((*shown, record.kind)).casefold()


SORTS: dict[str, tuple[str, Callable[[Entry], Any]]] = {
    "performance": ("Performance", lambda e: (e.recording.title, e.record.palla_s[0])),
    "tihai": ("Tihai", lambda e: (e.record.tihai, e.recording.title)),
    "at": ("At", lambda e: e.record.palla_s[0]),
    "start": ("Starts on", lambda e: (e.record.start is None, e.record.start or 0)),
    "palla": ("Palla", lambda e: (not e.record.palla, e.record.palla)),
    "dam": ("Dam", lambda e: (e.record.dam is None, e.record.dam or 0)),
    "rule": ("Rule", lambda e: str(e.record.rule)),
    "target": ("Aims at", lambda e: e.record.target),
    "paper": (
        "On paper",
        lambda e: (e.verdict.paper is None, abs(e.verdict.paper.shortfall) if e.verdict.paper else 0),
    ),
    "played": ("As played", lambda e: (e.verdict.landing_dev_ms is None, abs(e.verdict.landing_dev_ms or 0))),
    "verdict": ("Verdict", lambda e: ORDER.index(e.verdict.verdict)),
}
_NUMBERS = {"at", "start", "dam", "played"}


def page(library: Library, wanted: Mapping[str, str]) -> Page:
    """List the tihais that the address asks for (``verdict``, ``recording``, ``sort``, ``down``)."""
    everything = entries(library)
    if not everything:
        return Page("Tihais", [html.H1("Tihais"), _empty()], "Tihais")
    content = [
        html.H1("Tihais"),
        html.P("Every tihai of the archive: its arithmetic on paper, and where it landed as played.", className="lede"),
        _verdict_choices(everything, wanted),
        _performance_choices(everything, wanted),
        html.Div(
            [
                html.Label("Find", htmlFor="tihai-find"),
                dcc.Input(id="tihai-find", type="search", placeholder="palla, title, who plays it"),
            ],
            className="find",
            role="search",
        ),
        html.Div(listing(everything, wanted, ""), id="tihai-list"),
    ]
    return Page("Tihais", content, "Tihais")


def bind(app: dash.Dash, library: Library) -> None:
    """Register the search field's callback."""

    @app.callback(
        Output("tihai-list", "children"),
        Input("tihai-find", "value"),
        State("where", "search"),
        prevent_initial_call=True,
    )
    def find(text: str | None, search: str | None) -> Part:
        wanted = {key: values[-1] for key, values in parse_qs((search or "").removeprefix("?")).items()}
        return listing(entries(library), wanted, text or "")


def entries(library: Library) -> list[Entry]:
    """Gather every tihai that is not rejected, with its verdict."""
    found = []
    for slug in library.archive.slugs():
        state = library.archive.state(slug)
        found += [Entry(state.recording, state.tihai(verdict.tihai), verdict) for verdict in library.verdicts(slug)]
    return found


def listing(everything: Sequence[Entry], wanted: Mapping[str, str], find: str) -> Part:
    """Make the table of the entries that are wanted."""
    key = wanted.get("sort", "performance")
    key = key if key in SORTS else "performance"
    down = wanted.get("down") == "1"
    shown = [entry for entry in everything if _is_wanted(entry, wanted) and find.casefold().strip() in entry.text]
    shown.sort(key=SORTS[key][1], reverse=down)
    if not shown:
        return html.P(["No tihai fits. ", dcc.Link("Show all", href="/tihais")])
    columns = [
        Column(
            heading,
            number=name in _NUMBERS,
            href=_address(wanted, sort=name, down="1" if name == key and not down else None),
            order=("descending" if down else "ascending") if name == key else None,
        )
        for name, (heading, _) in SORTS.items()
    ]
    caption = f"{len(shown)} of {len(everything)} tihais" if len(shown) < len(everything) else f"{len(shown)} tihais"
    return table(caption, columns, [_row(entry) for entry in shown])


def _row(entry: Entry) -> list[Part]:
    record, verdict, slug = entry.record, entry.verdict, entry.recording.slug
    at_s = record.palla_s[0]
    return [
        dcc.Link(entry.recording.title or slug, href=f"/cycles/{slug}?at={at_s:.3f}"),
        [dcc.Link(record.tihai, href=f"/tihais/{slug}/{record.tihai}"), html.Small(record.label)],
        format_clock(at_s, decimals=1),
        words.matra_number(record.start),
        html.Span(record.palla, className="notation"),
        words.matra_number(record.dam),
        str(record.rule),
        place(record.target),
        words.on_paper(verdict),
        words.amount_ms(verdict.landing_dev_ms),
        verdict_mark(verdict.verdict),
    ]


def _is_wanted(entry: Entry, wanted: Mapping[str, str]) -> bool:
    verdict, slug = wanted.get("verdict"), wanted.get("recording")
    return (verdict is None or entry.verdict.verdict == verdict) and (slug is None or entry.recording.slug == slug)


def _address(wanted: Mapping[str, str], **changed: str | None) -> str:
    kept = {key: value for key, value in {**wanted, **changed}.items() if value}
    return f"/tihais?{urlencode(kept)}" if kept else "/tihais"


def _verdict_choices(everything: Sequence[Entry], wanted: Mapping[str, str]) -> Part:
    slug = wanted.get("recording")
    counts: Counter[str] = Counter(
        entry.verdict.verdict for entry in everything if slug is None or entry.recording.slug == slug
    )
    options = [("all", _address(wanted, verdict=None), sum(counts.values()), wanted.get("verdict") is None)]
    options += [
        (
            f"{words.SIGNS[name]} {words.WORDS[name]}",
            _address(wanted, verdict=name),
            counts[name],
            wanted.get("verdict") == name,
        )
        for name in ORDER
        if counts[name]
    ]
    return choices("Verdict", options)


def _performance_choices(everything: Sequence[Entry], wanted: Mapping[str, str]) -> Part | None:
    titles = {entry.recording.slug: entry.recording.title or entry.recording.slug for entry in everything}
    if len(titles) < 2:
        return None
    options = [("all performances", _address(wanted, recording=None), None, wanted.get("recording") is None)]
    options += [
        (title, _address(wanted, recording=slug), None, wanted.get("recording") == slug)
        for slug, title in titles.items()
    ]
    return choices("Performance", options)


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
