"""Practice: questions on tihais, and clapping along; its parts: :mod:`dashboard.practice`.

Conventions: the shells alone; they are filled in by ``assets/window/practice.mjs`` and ``assets/window/clapping.mjs``.
"""

from __future__ import annotations

import dash
from dash import ClientsideFunction, Input, Output, dcc, html

from dashboard.pages.page import Page
from dashboard.parts import Part, choices


def page() -> Page:
    """Make the page of sums for the choices of an address; its parts are fetched by it."""
    content = [
        *_head(
            "sums", "Count it out: where must it begin, how long is the dam, does it land? Answers are marked at once."
        ),
        html.Div(id="practice", className="compose practice"),
        dcc.Store(id="practice-asked", data="sums"),
    ]
    return Page("Practice", content, "Practice")


def clapping() -> Page:
    """Make the page for clapping along."""
    content = [
        *_head("clap", "Clap with the tihai, by the space bar or a finger, and see in milliseconds how close it came."),
        html.Div(id="practice", className="compose practice"),
        dcc.Store(id="practice-asked", data="clap"),
    ]
    return Page("Clap along", content, "Practice")


def _head(here: str, lede: str) -> list[Part]:
    return [
        html.H1("Practice" if here == "sums" else "Clap along"),
        html.P(lede, className="lede"),
        ways(here),
    ]


def ways(here: str) -> Part:
    """Make the row of links to the ways to practise; ``here`` is the one that is shown: sums, clap or courses."""
    links = (
        ("sums", "Sums", "/practice"),
        ("clap", "Clap along", "/practice/clap"),
        ("courses", "Courses", "/courses"),
    )
    return choices("Ways to practise", [(text, href, None, name == here) for name, text, href in links])


def bind(app: dash.Dash) -> None:
    """Let the browser fill the page in when it is turned to."""
    app.clientside_callback(
        ClientsideFunction("layakosh", "practice"), Output("practice", "data-shown"), Input("practice-asked", "data")
    )
