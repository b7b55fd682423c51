"""Practice sheets as pages of their own, to print or to keep.

    GET /practice/sheet/<slug>/<keys>              tihais and phrases of a recording, as HTML: t01 or t01,p02
    GET /practice/sheet/<slug>/<keys>.pdf          the same as PDF
    GET /practice/raga-sheet/<raga>                a raga, and with .pdf as PDF
    ... ?script= &paper= &played=1 &tuning= &sa=   see :mod:`dashboard.sheets.asked`; &keep=1 has it saved as a file

Conventions: a sheet carries its own style, so it has a policy of its own, under which nothing but that style (by its
digest) and the fonts within it are taken. On the screen a form with the wishes stands above it; it is not printed and
not kept. A PDF is made in a process of its own, since what makes it keeps some memory for each; one at a time.
"""

from __future__ import annotations

import base64
import hashlib
import re
import threading
from collections.abc import Callable, Sequence
from urllib.parse import quote, urlencode

import flask
from markupsafe import Markup

from annotate.beside import Beside
from annotate.errors import NoSuchRecording, NoSuchRow
from annotate.practice.pieces import Piece, pieces_named
from annotate.practice.sheets import SheetWishes, sheet_html
from annotate.practice.sheets.pdf import beside_as_pdf
from dashboard.library import Library
from dashboard.sheets.asked import ASKED, PAPER_WORDS, SCRIPTS, raga_sheet_address, sheet_address, wishes_of
from theory.errors import LayakoshError, UnknownName
from theory.ragas import get_raga

_STYLE = re.compile(r"<style>(.*?)</style>", re.DOTALL)
_printing = threading.Lock()


def sheets_routes(library: Library) -> flask.Blueprint:
    """Make the routes for an archive."""
    routes = flask.Blueprint("sheets", __name__, template_folder="templates")

    @routes.get("/practice/sheet/<slug>/<keys>")
    def sheet(slug: str, keys: str) -> flask.Response:
        rows, pdf = keys.removesuffix(".pdf"), keys.endswith(".pdf")
        try:
            pieces = pieces_named(library.archive, [f"{slug}/{rows}"])
        except (NoSuchRecording, NoSuchRow) as error:
            return _told(str(error), 404)
        except LayakoshError as error:
            return _told(str(error), 400)
        back = f"/tihais/{quote(slug)}/{quote(rows)}" if pieces[0].tihai and len(pieces) == 1 else f"/cycles/{slug}"
        return _sheet(library, pieces, "", sheet_address(slug, rows), back, f"{slug}-{rows}", pdf)

    @routes.get("/practice/raga-sheet/<path:name>")
    def raga_sheet(name: str) -> flask.Response:
        try:
            raga = get_raga(name.removesuffix(".pdf"))
        except UnknownName as error:
            return _told(str(error), 404)
        back, kept_as = f"/ragas/{quote(raga.key, safe='')}", raga.key.replace("/", "-")
        return _sheet(library, (), raga.key, raga_sheet_address(raga.key), back, kept_as, name.endswith(".pdf"))

    return routes


def _sheet(
    library: Library, pieces: Sequence[Piece], raga: str, address: str, back: str, kept_as: str, pdf: bool
) -> flask.Response:
    asked = {name: flask.request.args[name] for name in ASKED if flask.request.args.get(name)}
    try:
        wishes = wishes_of(asked, pieces[0].sa_hz if pieces else None, raga)
        page = sheet_html(library.archive, pieces, wishes)
        if pdf:
            with _printing:
                return _file(Beside(beside_as_pdf, page).result(), "application/pdf", f"{kept_as}.pdf")
    except LayakoshError as error:
        if pdf:
            return _told(str(error), 400)
        page = sheet_html(library.archive, pieces, SheetWishes(raga=raga))
        return _page(page, _form(asked, address, back, str(error)), 400)
    if flask.request.args.get("keep") == "1":
        return _file(page.encode(), "text/html", f"{kept_as}.html")
    return _page(page, _form(asked, address, back, ""), 200)


def _form(asked: dict[str, str], address: str, back: str, fault: str) -> Callable[[], str]:
    def rendered() -> str:
        return flask.render_template(
            "sheets/form.html",
            asked=asked,
            address=address,
            back=back,
            fault=fault,
            scripts=SCRIPTS,
            papers=PAPER_WORDS,
            pdf=f"{address}.pdf?{urlencode(asked)}",
            kept=f"{address}?{urlencode(asked | {'keep': '1'})}",
        )

    return rendered


def _page(page: str, form: Callable[[], str], status: int) -> flask.Response:
    """Put the form above a sheet, and answer with a policy that takes nothing but what is there."""
    style = flask.render_template("sheets/form.css")
    page = page.replace("</head>", f"<style>{Markup(style)}</style>\n</head>", 1).replace(
        "<main", f"{form()}\n<main", 1
    )
    digests = (base64.b64encode(hashlib.sha256(each.encode()).digest()).decode() for each in _STYLE.findall(page))
    allowed = " ".join(f"'sha256-{digest}'" for digest in digests)
    response = flask.Response(page, status, mimetype="text/html")
    response.headers["Content-Security-Policy"] = "; ".join(
        (
            "default-src 'none'",
            f"style-src {allowed}",
            "font-src data:",
            "form-action 'self'",
            "base-uri 'none'",
            "frame-ancestors 'none'",
        )
    )
    return response


def _file(content: bytes, kind: str, name: str) -> flask.Response:
    response = flask.Response(content, mimetype=kind)
    how = "attachment" if kind == "text/html" else "inline"
    response.headers["Content-Disposition"] = f"{how}; filename*=UTF-8''{quote(name)}"
    return response


def _told(message: str, status: int) -> flask.Response:
    return flask.Response(f"{message}\n", status, mimetype="text/plain")
