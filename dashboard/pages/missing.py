"""The page for an address that names nothing."""

from __future__ import annotations

from dash import dcc, html

from dashboard.pages.page import Page
from dashboard.parts import empty


def page(why: str, title: str = "Not found") -> Page:
    """Say what was not found, and where to go."""
    return Page(
        title,
        [
            html.H1(title),
            empty(why, html.P(["What the archive holds is listed under ", dcc.Link("Concerts", href="/"), "."])),
        ],
    )
