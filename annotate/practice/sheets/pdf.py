"""A practice sheet as PDF, made of its HTML."""

from __future__ import annotations

import contextlib
import io
from collections.abc import Sequence
from typing import TYPE_CHECKING

from annotate.archive import Archive
from annotate.practice.errors import CannotPrint
from annotate.practice.pieces import Piece
from annotate.practice.sheets.sheet import sheet_html
from annotate.practice.sheets.wishes import SheetWishes

if TYPE_CHECKING:
    from types import ModuleType


_TO_THE_END = """
section.notes { break-inside: auto !important; continue: discard; }
section.notes .rule { display: block !important; }
section.notes h3, section.notes .rule:nth-of-type(-n+3) { break-after: avoid; }
"""
"""Lines for notes go on to the end of the page, and what is beyond is left out; browsers do not know how to do that."""


def sheet_pdf(archive: Archive, pieces: Sequence[Piece], wishes: SheetWishes) -> bytes:
    """Return a practice sheet as PDF.

    Parameters
    ----------
    archive, pieces, wishes
        As for :func:`annotate.practice.sheets.sheet_html`.

    Raises
    ------
    CannotPrint
        There is nothing to print, or what makes PDF is not installed.
    theory.errors.UnknownName, theory.errors.BadFretting
        As for :func:`annotate.practice.sheets.sheet_html`.
    """
    return html_as_pdf(sheet_html(archive, pieces, wishes))


def html_as_pdf(page: str) -> bytes:
    """Return a page of HTML that has all it needs within itself as PDF.

    Raises
    ------
    CannotPrint
        What makes PDF is not installed.
    """
    printer = _printer()
    style = printer.CSS(string=_TO_THE_END)
    within = printer.urls.URLFetcher(allowed_protocols=["data"])  # nothing is fetched from outside the page
    pdf: bytes = printer.HTML(string=page, url_fetcher=within).write_pdf(stylesheets=[style], pdf_tags=True)
    return pdf


def beside_as_pdf(page: str, _tell: object) -> bytes:
    """Do the same as :func:`html_as_pdf`, for :class:`annotate.beside.Beside`, which ends the process afterwards."""
    return html_as_pdf(page)


def _printer() -> ModuleType:
    """Import what makes PDF, or say how to get it."""
    try:
        with contextlib.redirect_stdout(io.StringIO()):  # it prints what it looked for; the message below says it
            import weasyprint
    except ImportError:
        missing = "weasyprint is missing (pip install 'layakosh[sheets]')"
    except OSError:  # its C libraries are looked for when it is imported
        missing = "weasyprint does not find Pango (Debian: apt-get install libpangoft2-1.0-0 libharfbuzz-subset0)"
    else:
        return weasyprint
    raise CannotPrint(
        f"A PDF cannot be made on this machine: {missing}. A sheet as HTML needs neither: name a file that ends in "
        ".html, open it in a browser and print it from there."
    )
