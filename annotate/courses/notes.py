"""Notes in Markdown as markup that may stand on any page: CommonMark with tables, and nothing that could do harm.

Conventions: HTML in notes is shown as the text that it is. Links lead to http and https addresses, and to places of the
same site; whatever else is written as a link stays text. A picture becomes a link to it, since a page fetches nothing
from elsewhere. There is no style and no script in the markup, so that it may stand under a strict content security
policy.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import cache
from itertools import pairwise
from urllib.parse import urlsplit

from markdown_it import MarkdownIt
from markdown_it.token import Token

from annotate.courses.headings import Depths

_ODD = re.compile(r"\\|%5c", re.IGNORECASE)
"""What browsers may take for a slash."""
_CELL = re.compile(r"text-align:(left|right|center)")


def to_html(notes: str, beneath: int = 2, *, at_home: bool = True) -> str:
    """Return notes as markup.

    Parameters
    ----------
    notes : str
        Markdown.
    beneath : int
        The level of the heading that they stand under: their own begin one deeper.
    at_home : bool
        Whether they are shown by the dashboard; elsewhere links to its places are words without a link.
    """
    reader = _reader()
    tokens = reader.parse(notes)
    depths = Depths(beneath)
    for opened, inline, closed in zip(tokens, tokens[1:], tokens[2:], strict=False):
        if opened.type == "heading_open":
            opened.tag = closed.tag = f"h{depths.level(int(opened.tag[1:]))}" if inline.content else "p"
        elif opened.type in ("th_open", "td_open"):
            _set_cell(opened, inline, closed)
    for token in tokens:
        if token.children:
            token.children = list(_with_links(token.children, at_home))
    return str(reader.renderer.render(tokens, reader.options, {}))


def headings_in(notes: str) -> list[tuple[int, int, int, str]]:
    """Return the headings of notes that stand in no list and no quotation: first line, end, level as written, words."""
    tokens = _reader().parse(notes)
    return [
        (token.map[0], token.map[1], int(token.tag[1:]), " ".join(words.content.split("\n")))
        for token, words in pairwise(tokens)
        if token.type == "heading_open" and token.level == 0 and token.map and words.content
    ]


def is_safe(address: str) -> bool:
    """Tell whether a link may lead to an address: http, https, or a place of the same site."""
    try:
        parts = urlsplit(address.strip())
    except ValueError:
        return False
    if parts.scheme:
        return parts.scheme in ("http", "https") and bool(parts.netloc)
    return not parts.netloc and not _ODD.search(address) and ":" not in parts.path.partition("/")[0]


@cache
def _reader() -> MarkdownIt:
    reader = MarkdownIt("commonmark", {"html": False, "xhtmlOut": False}).enable("table")
    reader.validateLink = is_safe  # type: ignore[method-assign, assignment]
    return reader


def _set_cell(opened: Token, inline: Token, closed: Token) -> None:
    """Set a cell by a class, since the pages' policy refuses a style; a heading of nothing is no heading."""
    if aligned := _CELL.search(str(opened.attrs.pop("style", ""))):
        opened.attrSet("class", f"to-{aligned[1]}")
    if not inline.content:
        opened.tag = closed.tag = "td"


def _with_links(tokens: Sequence[Token], at_home: bool) -> Iterator[Token]:
    """Give what stands in a line, with links as they may be: pictures are links, and each link says something."""
    said, within = "", ""

    def leads(address: str) -> bool:
        return at_home or bool(urlsplit(address).scheme)

    for token in tokens:
        if token.type == "image":
            address = str(token.attrs["src"])
            words = Token("text", "", 0, content=_text_of(token.children or []) or address)
            alone = within or not leads(address)
            yield from [words] if alone else [_opened(address), words, Token("link_close", "a", -1)]
            said += words.content
        elif token.type == "link_open":
            said, within = "", str(token.attrs["href"])
            if leads(within):
                yield _opened(within)
        elif token.type == "link_close":
            if not said.strip():
                yield Token("text", "", 0, content=within)
            if leads(within):
                yield token
            within = ""
        else:
            said += token.content
            yield token


def _opened(address: str) -> Token:
    return Token("link_open", "a", 1, attrs={"href": address, "rel": "noopener noreferrer"})


def _text_of(tokens: Sequence[Token]) -> str:
    return "".join(_text_of(token.children) if token.children else token.content for token in tokens).strip()
