"""A practice sheet as one HTML file: fonts, figures and style are in it; it needs neither script nor network."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from html import escape
from textwrap import shorten
from typing import TypeAlias

import jinja2
from markupsafe import Markup

from annotate.archive import Archive
from annotate.practice.errors import CannotPrint
from annotate.practice.pieces import Piece
from annotate.practice.sheets.drawing import LINE_HEIGHT, Places
from annotate.practice.sheets.fonts import font_data, is_devanagari
from annotate.practice.sheets.phrase_page import PhrasePage, phrase_page
from annotate.practice.sheets.raga_page import RagaPage, raga_page
from annotate.practice.sheets.tihai_page import TihaiPage, tihai_page
from annotate.practice.sheets.wishes import PAPERS, SheetWishes

WIDTH = 492.0
"""What is printed is as wide on A4 as on Letter, in points (about 174 mm); the rest is margin."""
_SIDE_MM = {paper: round((size[0] - WIDTH * 25.4 / 72) / 2, 2) for paper, size in PAPERS.items()}
FOOTER = 220
"""So many letters of a credit stand at the foot, two lines; all of it stands above the piece."""
_FRACTION = re.compile(r"(?<![\d/])(\d+)/(\d+)(?![\d/])")

Page: TypeAlias = TihaiPage | PhrasePage | RagaPage


@dataclass(frozen=True)
class Part:
    """A part of a sheet: its content, the name of its footer, and whether it goes on from the part before.

    A part that does not begins a new page. ``same_tala`` tells that the part before has drawn its cycle already.
    """

    page: Page
    footer: str
    goes_on: bool
    same_tala: bool


def sheet_html(archive: Archive, pieces: Sequence[Piece], wishes: SheetWishes) -> str:
    """Return a practice sheet as a page of HTML.

    Parameters
    ----------
    archive : Archive
        What the pieces are of.
    pieces : sequence of Piece
        In the order of the sheet; a raga comes before them. Each tihai begins a page, phrases follow each other.
    wishes : SheetWishes

    Raises
    ------
    CannotPrint
        There is nothing to print.
    theory.errors.UnknownName, theory.errors.BadFretting
        There is no such raga, or a swara lies nowhere on the student's strings.
    """
    if not pieces and not wishes.raga:
        raise CannotPrint("A sheet of what? Name a piece, such as desh-gat-in-teental/t01, or a raga with --raga.")
    places = Places()
    pages: list[Page] = [raga_page(wishes.raga, wishes, places, WIDTH)] if wishes.raga else []
    pages += [_page(archive, piece, wishes, places) for piece in pieces]
    footers = list(dict.fromkeys(page.credit for page in pages))
    parts = [
        Part(page, f"by{footers.index(page.credit)}", _goes_on(before, page), _same_tala(before, page))
        for before, page in zip([None, *pages], pages, strict=False)
    ]
    body = _templates().get_template("parts.html").render(parts=parts)
    style = (
        _templates()
        .get_template("sheet.css")
        .render(
            places=Markup(places.style),
            paper=wishes.paper,
            side_mm=_SIDE_MM[wishes.paper],
            width=WIDTH,
            line_height=LINE_HEIGHT,
            footers=[
                (f"by{number}", _css_text(shorten(text, FOOTER, placeholder=" …")))
                for number, text in enumerate(footers)
            ],
            fonts={face: font_data(face) for face in ("text", "italic", "bold")}
            | (
                {"devanagari": font_data("devanagari")}
                if is_devanagari(body) or is_devanagari("".join(footers))
                else {}
            ),
        )
    )
    return (
        _templates()
        .get_template("sheet.html")
        .render(title=_title(pages, pieces), first="by0", style=Markup(style), body=Markup(body))
    )


def _page(archive: Archive, piece: Piece, wishes: SheetWishes, places: Places) -> Page:
    if piece.tihai is not None:
        return tihai_page(archive, piece, piece.tihai, wishes, places, WIDTH)
    assert piece.phrase is not None
    return phrase_page(archive, piece, piece.phrase, wishes, places, WIDTH)


def _goes_on(before: Page | None, page: Page) -> bool:
    """Tell whether a part may follow the one before on the same page of paper."""
    both_phrases = isinstance(before, PhrasePage) and isinstance(page, PhrasePage)
    return both_phrases and before is not None and before.credit == page.credit


def _same_tala(before: Page | None, page: Page) -> bool:
    return isinstance(before, PhrasePage) and isinstance(page, PhrasePage) and before.legend == page.legend


def _title(pages: Sequence[Page], pieces: Sequence[Piece]) -> str:
    names = [page.title for page in pages if page.kind == "raga"] + [piece.name for piece in pieces]
    return f"Practice sheet: {names[0]}" + (f" and {len(names) - 1} more" if len(names) > 1 else "")


def _source(pages: Sequence[Page]) -> str:
    return next((page.source for page in pages if isinstance(page, RagaPage)), "")


def _css_text(text: str) -> Markup:
    """Write a text so that it may stand in a style sheet, within quotes: all but letters and digits by their code."""
    return Markup(
        '"' + "".join(each if each.isalnum() and each.isascii() else f"\\{ord(each):x} " for each in text) + '"'
    )


def _fractions(text: str) -> Markup:
    """Set "1/2" as a fraction; it stays "1/2" when it is copied."""
    return Markup(_FRACTION.sub(r'<span class="fraction">\1/\2</span>', escape(text)))


def _minus(value: float, digits: int = 0) -> str:
    """Write a deviation with its sign, and a real minus."""
    return f"{value:+.{digits}f}".replace("-", "\N{MINUS SIGN}")


@cache
def _templates() -> jinja2.Environment:
    templates = jinja2.Environment(
        loader=jinja2.PackageLoader(__name__.rpartition(".")[0], "templates"),
        autoescape=jinja2.select_autoescape(("html",)),
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    templates.filters |= {"fractions": _fractions, "signed": _minus}
    return templates
