"""Parts of a page that come after the rest has been drawn: a placeholder that says what is awaited, then the part.

Conventions: a late part has a name, which is also the id of its place on the page. It follows from a few words in its
store (``asked``) and from a version; it is made aside (:mod:`dashboard.later`) and kept until the version is another.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import dash
from dash import Input, Output, State, dcc, html
from dash.exceptions import PreventUpdate

from dashboard.later import Later, Tell
from dashboard.library import Library
from dashboard.parts import Part, told
from theory.errors import LayakoshError

ASK_AGAIN_MS = 700
"""Only a part that was not done when it was first asked for is asked for again: what stands on the page is never put in
twice, under somebody's hand."""

Asked = Mapping[str, str]


@dataclass(frozen=True)
class LatePart:
    """A part that is made later.

    Attributes
    ----------
    name : str
    asks : tuple of str
        What must be in its store, and nothing else.
    make : callable
        From the library and what is asked to the part; it may tell the share done.
    version : callable
        A text that changes whenever another part would be made.
    """

    name: str
    asks: tuple[str, ...]
    make: Callable[[Library, Asked, Tell], Part]
    version: Callable[[Library, Asked], str]


def version_of_all(library: Library, _asked: Asked) -> str:
    """Return a text that changes with every revision and every new evidence of the archive."""
    seen = library.archive.seen()
    whole = repr([(slug, each.revision, each.evidence) for slug, each in seen.items()])
    return hashlib.blake2b(whole.encode(), digest_size=12).hexdigest()


def version_of_recording(library: Library, asked: Asked) -> str:
    """Return a text that changes with every revision and every new evidence of the recording asked for."""
    return library.version(asked["slug"])


def place_of(part: LatePart, asked: Asked, waiting: str) -> Part:
    """Make the place of a late part.

    Parameters
    ----------
    part : LatePart
    asked : mapping of str to str
    waiting : str
        What is said until it is there: "Counting the phrases".
    """
    return html.Div(
        [
            html.Div(
                html.P(f"{waiting} …", className="quiet"), id=part.name, className="late", **{"aria-busy": "true"}
            ),
            dcc.Store(id=f"{part.name}-asked", data=dict(asked)),
            dcc.Interval(id=f"{part.name}-again", interval=ASK_AGAIN_MS, disabled=True),
        ]
    )


def bind(app: dash.Dash, library: Library, parts: Sequence[LatePart]) -> None:
    """Register the callbacks of late parts."""
    later: Later[Part] = Later()
    for part in parts:
        _bind(app, library, later, part)


def _bind(app: dash.Dash, library: Library, later: Later[Part], part: LatePart) -> None:
    @app.callback(
        Output(part.name, "children"),
        Output(f"{part.name}-again", "disabled"),
        Output(part.name, "aria-busy"),
        Input(f"{part.name}-again", "n_intervals"),
        State(f"{part.name}-asked", "data"),
    )
    def come(_times: int | None, asked: Any) -> tuple[Part, bool, str]:
        if (
            not isinstance(asked, dict)
            or {*asked} != {*part.asks}
            or not all(isinstance(v, str) for v in asked.values())
        ):
            raise PreventUpdate  # no page of ours asks so
        try:
            key = part.name, part.version(library, asked), tuple(sorted(asked.items()))
            answer = later.ask(key, lambda tell: part.make(library, asked, tell))
        except LayakoshError as error:
            return told(str(error)), True, "false"
        if not answer.done:
            return _progress(answer.share), False, "true"
        return answer.result, True, "false"


def _progress(share: float) -> Part:
    return html.P(
        [
            html.Progress(value=str(round(100 * share)), max="100", **{"aria-label": "Share done"})
            if share > 0
            else html.Progress(**{"aria-label": "Still counting"}),
            f" {share:.0%} read" if share > 0 else " Counting; this takes a moment the first time",
        ],
        className="quiet progress",
    )
