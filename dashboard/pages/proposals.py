"""Proposals: the tihais that were found in a recording, each to be heard and accepted or rejected by a key.

Conventions: the shell alone; list and opened proposal are filled in by ``assets/window/proposals.mjs``.
"""

from __future__ import annotations

from collections.abc import Mapping

import dash
from dash import ClientsideFunction, Input, Output, dcc, html

from dashboard.library import Library
from dashboard.pages.cycles import fold_region
from dashboard.pages.page import Page
from dashboard.pages.transport import player


def page(library: Library, slug: str, wanted: Mapping[str, str]) -> Page:
    """Show what is proposed in a recording; ``?open=p83.4`` opens one of them.

    Raises
    ------
    annotate.errors.NoSuchRecording
    """
    title = library.archive.state(slug).recording.title or slug
    content = [
        html.H1("Proposed tihais"),
        html.P(
            [
                "in ",
                dcc.Link(title, href=f"/cycles/{slug}"),
                ". Hear each, then accept or reject it. The likeliest come first.",
            ],
            className="lede",
        ),
        html.Div(id="proposals-state", className="proposals-state"),
        html.Div(
            [
                html.Section(
                    [html.Div(id="proposals-choices"), html.Ol(id="proposals-list", className="proposals-list")],
                    className="proposals-side",
                    **{"aria-label": "The proposals"},
                ),
                html.Section(
                    [
                        html.Div(id="proposal-head"),
                        *player(slug, library.archive.has_sound(slug), play="Play it"),
                        fold_region("The run of the proposed tihai through the cycles", tall=False),
                        html.Div(id="proposal-told"),
                    ],
                    id="proposal",
                    className="proposal",
                    **{"aria-label": "The proposal that is open"},
                ),
            ],
            id="proposals",
            className="proposals",
        ),
        dcc.Store(id="proposals-data", data={"slug": slug, "open": wanted.get("open", "")}),
    ]
    return Page(f"Proposed tihais in {title}", content, "Tihais")


def bind(app: dash.Dash) -> None:
    """Let the browser fill the page in when it is turned to."""
    app.clientside_callback(
        ClientsideFunction("layakosh", "proposals"), Output("proposals", "data-shown"), Input("proposals-data", "data")
    )
