"""The page for an address that names nothing."""

from __future__ import annotations

from collections.abc import Sequence

from dash import dcc, html

from dashboard.pages.page import Page
from dashboard.parts import empty


def page(why: str, title: str = "Not found", near: Sequence[tuple[str, str]] = ()) -> Page:
    """Say what was not found, and where to go.

    ``near`` are the names that may have been meant, each with its address.
    """
    links = [part for name, href in near for part in (" or ", dcc.Link(name, href=href))][1:]
    return Page(
        title,
        [
            html.H1(title),
            empty(
                why,
                html.P(["Did you mean ", *links, "?"]) if links else None,
                html.P(["What the archive holds is listed under ", dcc.Link("Concerts", href="/"), "."]),
            ),
        ],
    )
