"""The page for an address that names nothing."""

from __future__ import annotations

from dash import dcc, html

from dashboard.pages.page import Page
from dashboard.parts import empty


def page(why: str) -> Page:
    """Say what was not found, and where to go."""
    return Page(
        "Not found",
        [
            html.H1("Not found"),
            empty(why, html.P(["What the archive holds is listed under ", dcc.Link("Concerts", href="/"), "."])),
        ],
    )
