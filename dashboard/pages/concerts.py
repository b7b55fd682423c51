"""Concerts: what the archive holds."""

from __future__ import annotations

from collections.abc import Mapping

from dash import dcc, html

from annotate.overview import Overview, overviews
from dashboard import words
from dashboard.library import Library
from dashboard.pages.page import Page
from dashboard.parts import Column, Part, command, empty, table

COLUMNS = (
    Column("Performance"),
    Column("Raga"),
    Column("Tala"),
    Column("Date"),
    Column("Musicians"),
    Column("Length", number=True),
    Column("Tihais", number=True),
    Column("Land", number=True),
    Column("Sams marked", number=True),
)


MOST_SHOWN = 200
"""Performances on a page: with more a browser takes seconds to draw it."""


def page(library: Library, wanted: Mapping[str, str] | None = None) -> Page:
    """List the performances, newest first; of many some at a time, from the one that the address names (``from``)."""
    performances = overviews(library.archive)
    if not performances:
        return Page("Concerts", [html.H1("Concerts"), _empty()], "Concerts")
    performances.sort(key=lambda each: (str(each.recording.performed_on or ""), each.recording.title), reverse=True)
    first = _first((wanted or {}).get("from", ""), len(performances))
    shown = performances[first : first + MOST_SHOWN]
    content = [
        html.H1("Concerts"),
        html.P("Open a performance to see it folded at sam, hear it, and mark sams and tihais.", className="lede"),
        table(_caption(first, len(shown), len(performances)), COLUMNS, [_row(each) for each in shown]),
        *_further(first, len(performances)),
    ]
    return Page("Concerts", content, "Concerts")


def _first(asked: str, there: int) -> int:
    """Return the place in the list that was asked for; the beginning where it is none."""
    place = int(asked) - 1 if asked.isascii() and asked.isdigit() and len(asked) < 9 else 0
    return place if 0 <= place < there else 0


def _caption(first: int, shown: int, there: int) -> str:
    if shown == there:
        return "1 performance" if there == 1 else f"{there} performances"
    return f"Performances {first + 1} to {first + shown} of {there}, newest first"


def _further(first: int, there: int) -> list[Part]:
    """Return links to those before and after, where not all are shown."""
    links: list[Part] = []
    if first > 0:
        links.append(dcc.Link("Newer performances", href=f"/?from={max(0, first - MOST_SHOWN) + 1}"))
    if first + MOST_SHOWN < there:
        links.append(dcc.Link("Older performances", href=f"/?from={first + MOST_SHOWN + 1}"))
    spaced = [part for link in links for part in (link, " ")]
    return [html.Nav(spaced, **{"aria-label": "Further performances"})] if links else []


def _row(performance: Overview) -> list[Part]:
    recording = performance.recording
    slug, count = recording.slug, performance.tihais - performance.rejected
    talas = dict.fromkeys(filter(None, [*performance.talas, recording.tala]))
    return [
        [dcc.Link(recording.title or slug, href=f"/cycles/{slug}"), html.Small(recording.venue)],
        words.raga_name(recording.raga),
        ", ".join(words.tala_name(tala) for tala in talas),
        html.Span(words.day(recording.performed_on), className="whole"),
        words.musicians(recording),
        words.length(recording.duration_s),
        dcc.Link(str(count), href=f"/tihais?recording={slug}") if count else "0",
        f"{performance.landing} of {performance.measured}" if performance.measured else "",
        str(performance.sams_marked),
    ]


def _empty() -> Part:
    return empty(
        "The archive is empty",
        html.P("Take in a recording of a performance, and its matras and sams are found for you to correct:"),
        command("layakosh ingest concert.flac --raga Desh --tala teental"),
        html.P("Or try the two sample performances first:"),
        command("layakosh demo"),
        html.P("Then reload this page."),
    )
