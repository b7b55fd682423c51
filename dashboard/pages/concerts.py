"""Concerts: what the archive holds."""

from __future__ import annotations

from dash import dcc, html

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


def page(library: Library) -> Page:
    """List the performances, newest first."""
    slugs = library.archive.slugs()
    if not slugs:
        return Page("Concerts", [html.H1("Concerts"), _empty()], "Concerts")
    states = [library.archive.state(slug) for slug in slugs]
    states.sort(key=lambda state: (str(state.recording.performed_on or ""), state.recording.title), reverse=True)
    caption = "1 performance" if len(slugs) == 1 else f"{len(slugs)} performances"
    content = [
        html.H1("Concerts"),
        html.P("Open a performance to see it folded at sam, hear it, and mark sams and tihais.", className="lede"),
        table(caption, COLUMNS, [_row(library, state.slug) for state in states]),
    ]
    return Page("Concerts", content, "Concerts")


def _row(library: Library, slug: str) -> list[Part]:
    state = library.archive.state(slug)
    recording = state.recording
    verdicts = library.verdicts(slug)
    measured = [verdict for verdict in verdicts if verdict.verdict != "unknown"]
    land = sum(verdict.verdict == "lands" for verdict in measured)
    talas = dict.fromkeys(filter(None, [*(section.tala for section in state.sections), recording.tala]))
    return [
        [dcc.Link(recording.title or slug, href=f"/cycles/{slug}"), html.Small(recording.venue)],
        words.raga_name(recording.raga),
        ", ".join(words.tala_name(tala) for tala in talas),
        html.Span(words.day(recording.performed_on), className="whole"),
        words.musicians(recording),
        words.length(recording.duration_s),
        dcc.Link(str(len(verdicts)), href=f"/tihais?recording={slug}") if verdicts else "0",
        f"{land} of {len(measured)}" if measured else "",
        str(len(state.marked_sams)),
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
