"""Words: what the trade's words mean, one line each."""

from __future__ import annotations

from dash import html

from dashboard.glossary import MEANINGS
from dashboard.pages.page import Page
from theory.kinds import all_kinds


def page() -> Page:
    """List the words, and the kinds of tihais with whose definition each is."""
    words = [part for word, text in sorted(MEANINGS.items()) for part in (html.Dt(word), html.Dd(text))]
    kinds = [
        part
        for kind in all_kinds().values()
        for part in (html.Dt(kind.name), html.Dd([kind.meaning, html.Small(f"as {kind.by} has it")]))
    ]
    content = [
        html.H1("Words"),
        html.P("Schools differ, and your own teacher's word counts before what stands here.", className="lede"),
        html.Div(
            [
                html.Section([html.H2("In common use"), html.Dl(words, className="words")]),
                html.Section([html.H2("Kinds of tihais"), html.Dl(kinds, className="words")]),
            ],
            className="word-lists",
        ),
    ]
    return Page("Words", content)
