"""Parts of pages that several pages use: tables, verdict marks, choices, facts, told boxes.

Conventions: every part is a function from plain values to a Dash component; nothing here reads the archive. A table's
cells carry their heading in ``data-label``, which the style sheet shows when the window is narrow and rows become
cards.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from dash import dcc, html

from dashboard.glossary import meaning
from dashboard.words import SIGNS, WORDS

Part = Any
"""A Dash component, or text."""


@dataclass(frozen=True)
class Column:
    """A column of a table; ``href`` sorts by it, ``order`` is "ascending" or "descending" when it is sorted so."""

    heading: str
    number: bool = False
    href: str | None = None
    order: str | None = None


def table(caption: str, columns: Sequence[Column], rows: Sequence[Sequence[Part]], *, cards: bool = True) -> Part:
    """Make a table whose first column names the row; in a narrow window rows become cards, unless told otherwise."""
    return html.Div(
        html.Table(
            [
                html.Caption(caption),
                html.Thead(html.Tr([_heading(column) for column in columns])),
                html.Tbody([html.Tr([_cell(i, columns[i], part) for i, part in enumerate(row)]) for row in rows]),
            ]
        ),
        className="table-region cards" if cards else "table-region",
    )


def _heading(column: Column) -> Part:
    arrow = {"ascending": " ↑", "descending": " ↓"}.get(column.order or "", "")
    content = term(column.heading) if column.href is None else dcc.Link(column.heading + arrow, href=column.href)
    told = meaning(column.heading) if column.href is not None else ""
    sorting = {"aria-sort": column.order} if column.order else {}
    return html.Th(content, scope="col", className="number" if column.number else None, **sorting, **_meaning(told))


def _cell(index: int, column: Column, part: Part) -> Part:
    if index == 0:
        return html.Th(part, scope="row")
    return html.Td(part, className="number" if column.number else None, **{"data-label": column.heading})


def term(word: str) -> Part:
    """Write a word of the trade with its meaning, which is shown when it is pointed at or has the focus."""
    told = meaning(word)
    return html.Span(word, className="term", tabIndex="0", **_meaning(told)) if told else word


def label_words(words: str, told: str = "") -> Part:
    """Write the words of a field's label; what they mean (``told``, or the glossary's word of it) is told when the
    keyboard comes to the field.
    """
    told = told or meaning(words)
    return html.Span(words, className="term", **_meaning(told)) if told else words


def _meaning(told: str) -> dict[str, str]:
    return {"data-meaning": told} if told else {}


def verdict_mark(verdict: str, *, word: bool = True) -> Part:
    """Tell a verdict by sign, word and colour; without the word where a sentence that begins with it follows."""
    return html.Span(
        [html.Span(SIGNS[verdict], className="sign", **{"aria-hidden": "true"}), WORDS[verdict] if word else None],
        className=f"verdict {verdict}",
    )


def choices(label: str, options: Sequence[tuple[str, str, int | None, bool]]) -> Part:
    """Make a row of links to choose from: (text, address, count, chosen)."""
    return html.Nav(
        html.Ul(
            [
                html.Li(
                    html.A(_choice(text, count), href=href, **{"aria-current": "true"})
                    if chosen
                    else dcc.Link(_choice(text, count), href=href)
                )
                for text, href, count, chosen in options
            ],
            className="choices",
        ),
        **{"aria-label": label},
    )


def _choice(text: str, count: int | None) -> Part:
    return text if count is None else [text, html.Span(f" {count}", className="count")]


def facts(pairs: Sequence[tuple[str, Part]]) -> Part:
    """List what is known in a line; pairs without a value are left out."""
    return html.Ul([html.Li([term(name), " ", html.B(value)]) for name, value in pairs if value], className="facts")


def told(message: str, kind: str = "") -> Part:
    """Say something in a box; a message of several lines points at a place with a caret, so its columns are kept."""
    first, _, rest = message.partition("\n")
    return html.Div([html.P(first), html.Pre(rest) if rest else None], className=f"told {kind}".strip())


def empty(heading: str, *content: Part) -> Part:
    """Say that there is nothing here yet, and what to do."""
    return html.Div([html.H2(heading), *content], className="empty")


def command(text: str) -> Part:
    """Show a command to type."""
    return html.Code(text, className="command")
