"""Compose: what lands, to be seen, heard, kept and carried over; its parts: :mod:`dashboard.composing`."""

from __future__ import annotations

from collections.abc import Mapping
from urllib.parse import urlencode

import dash
from dash import ClientsideFunction, Input, Output, dcc, html

from dashboard.pages.page import Page


def page(wanted: Mapping[str, str]) -> Page:
    """Make the page for the choices of an address; its parts are fetched by it."""
    content = [
        html.H1("Compose"),
        html.P(
            "Choose a tala, where to begin and where to land: what lands is found, simplest first.",
            className="lede",
        ),
        html.Div(id="compose", className="compose"),
        dcc.Store(id="compose-asked", data=urlencode(wanted)),
    ]
    return Page("Compose", content, "Compose")


def bind(app: dash.Dash) -> None:
    """Let the browser fetch the page's parts when it is turned to."""
    app.clientside_callback(
        ClientsideFunction("layakosh", "compose"), Output("compose", "data-asked"), Input("compose-asked", "data")
    )
