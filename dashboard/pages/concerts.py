"""Concerts: what the archive holds, a performance's details, adding recordings, and those that were withdrawn.

Conventions: the pages' parts are markup from :mod:`dashboard.concerts`, sent along with the page and put in by
``assets/window/concerts.mjs``.
"""

from __future__ import annotations

from collections.abc import Mapping

import dash
from dash import ClientsideFunction, Input, Output, dcc, html

from dashboard.access.at_hand import at_hand
from dashboard.concerts.adding_routes import adding_markup
from dashboard.concerts.asked import read
from dashboard.concerts.routes import concerts_parts, details_markup, withdrawn_markup
from dashboard.library import Library
from dashboard.pages.page import Page
from dashboard.parts import Part, empty

SECTION = "Concerts"


def page(library: Library, wanted: Mapping[str, str] | None = None) -> Page:
    """List the performances that the address asks for (:mod:`dashboard.concerts.asked`), newest first."""
    lede = html.P("Open a performance to see it folded at sam, hear it, and mark sams and tihais.", className="lede")
    with library.archive.one_look():
        performances = library.overviews()
        parts = _parts("list", concerts_parts(library, read(wanted or {})))
        count = len(library.archive.withdrawn_slugs()) if at_hand().may_edit else 0
    is_offered = at_hand().may_edit and performances  # where there are none the page says it in its middle
    add = dcc.Link("Add a recording", href="/add", className="button main") if is_offered else None
    heading = html.Div([html.H1("Concerts"), add], className="heading-line")
    gone = [html.P(dcc.Link(f"Withdrawn ({count})", href="/withdrawn"))] if count else []
    return Page("Concerts", [heading, lede, *parts, *gone], SECTION)


def details(library: Library, slug: str) -> Page:
    """Show what is said of a performance, to be changed, and what to do next.

    Raises
    ------
    annotate.errors.NoSuchRecording
        There is no such performance.
    """
    title = library.archive.state(slug).recording.title or slug
    return Page(
        f"{title}: details", [html.H1(title), *_parts("details", {"details": details_markup(library, slug)})], SECTION
    )


def adding() -> Page:
    """Show the form by which recordings are added, and those that are being taken in."""
    content: list[Part] = [html.H1("Add a recording")]
    if at_hand().may_edit:
        content += _parts("add", {"add": adding_markup()})
    else:
        content.append(empty("You may look and listen", html.P("Whoever keeps this archive can let you add to it.")))
    return Page("Add a recording", content, SECTION)


def withdrawn(library: Library) -> Page:
    """List the recordings that were withdrawn, to be brought back."""
    content: list[Part] = [html.H1("Withdrawn")]
    if at_hand().may_edit:
        content += _parts("withdrawn", {"withdrawn": withdrawn_markup(library)})
    else:
        content.append(empty("You may look and listen", html.P("Whoever may edit this archive brings these back.")))
    return Page("Withdrawn", content, SECTION)


def bind(app: dash.Dash) -> None:
    """Let the browser put the parts in when one of the pages is turned to."""
    app.clientside_callback(
        ClientsideFunction("layakosh", "concerts"), Output("concerts", "data-shown"), Input("concerts-parts", "data")
    )


def _parts(kind: str, parts: Mapping[str, str]) -> list[Part]:
    return [
        html.Div(id="concerts", className=f"concerts-page {kind}"),
        dcc.Store(id="concerts-parts", data={"page": kind, "parts": dict(parts)}),
    ]
