"""The dashboard as a Dash application: shell, routing, sound.

Conventions: one shell, in which the address chooses the page (:mod:`dashboard.routes`). Style sheets and modules come
from ``assets``, everything else from the installed packages: no request leaves the machine. The ``.mjs`` modules are
imported by ``assets/start.js`` when a page first needs them, so Dash is told not to load them itself. Every request
passes :mod:`dashboard.access.gate` first.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import dash
import flask
from dash import ClientsideFunction, Input, Output, dcc, html
from dash.exceptions import DependencyException, InvalidResourceError

from annotate.archive import Archive
from annotate.errors import NoSuchRecording
from dashboard.access.at_hand import ROLE_WORDS, Person, at_hand
from dashboard.access.gate import Access, keep_gate
from dashboard.access.guarded import GuardedArchive
from dashboard.access.headers import send_headers
from dashboard.access.login import login_routes
from dashboard.access.people import People
from dashboard.access.sending import Sendings
from dashboard.access.sending_routes import sending_routes
from dashboard.access.sessions import Sessions
from dashboard.access.sharing import Sharing
from dashboard.composing.routes import composing_routes
from dashboard.compression import compress_answers
from dashboard.concerts.adding_routes import adding_routes
from dashboard.concerts.routes import concerts_routes
from dashboard.concerts.work import Work
from dashboard.courses.routes import courses_routes
from dashboard.fold_routes import fold_routes
from dashboard.library import Library
from dashboard.listening import listening_routes
from dashboard.marking.routes import marking_routes
from dashboard.pages import (
    agreement,
    alike,
    compose,
    concerts,
    courses,
    heard_again,
    late,
    marking,
    phrases,
    practice,
    proposals,
    raga_played,
    ragas,
    side_by_side,
    tihai_late,
    tihais,
)
from dashboard.passages import passage_routes
from dashboard.practice.routes import practice_routes
from dashboard.proposals.routes import proposals_routes
from dashboard.proposals.runs import Runs
from dashboard.routes import NAVIGATION, page_at
from dashboard.sheets.routes import sheets_routes
from dashboard.sound import sound_routes
from dashboard.sounds.routes import practice_sound_routes
from dashboard.taking_up import taking_up_routes

_HERE = Path(__file__).parent
LATE = (
    *tihai_late.PARTS,
    *phrases.PARTS,
    *ragas.PARTS,
    *heard_again.PARTS,
    *raga_played.PARTS,
    *side_by_side.PARTS,
    *agreement.PARTS,
    *alike.PARTS,
)
"""Parts of pages that are made after the rest."""
_HTML = """<!DOCTYPE html>
<html lang="en">
  <head>
    {%metas%}
    <title>{%title%}</title>
    <link rel="icon" href="/assets/mark.svg" type="image/svg+xml">
    <script src="/assets/light.js"></script>
    {%css%}
  </head>
  <body>
    {%app_entry%}
    <noscript>Layakosh needs JavaScript. All of it comes from this server; nothing is fetched elsewhere.</noscript>
    <footer>{%config%}{%scripts%}{%renderer%}</footer>
  </body>
</html>
"""


def make_app(archive_path: str | Path, sharing: Sharing | None = None) -> dash.Dash:
    """Make the application for an archive.

    Parameters
    ----------
    archive_path : path
        An existing archive; it may be empty.
    sharing : Sharing, optional
        How it is served; by default to this machine alone.

    Raises
    ------
    annotate.errors.NotAnArchive
        There is none.
    dashboard.errors.NotShareable
        It is to be served to others, and nobody may log in.
    """
    archive = Archive.open(archive_path)
    people = People(archive)
    access = Access(people, lambda: Sessions(archive, people), sharing or Sharing())
    access.sharing.check(anybody=bool(people.all()))
    library = Library(GuardedArchive(archive.store, access.login_needed))
    server = flask.Flask("layakosh")
    keep_gate(server, access)
    compress_answers(server)
    app = dash.Dash(
        "layakosh",
        server=server,
        assets_folder=str(_HERE / "assets"),
        assets_ignore=r".*\.mjs|light\.js",
        pages_folder="",
        use_pages=False,
        serve_locally=True,
        suppress_callback_exceptions=True,
        title="Layakosh",
        update_title="",
        index_string=_HTML,
        meta_tags=[{"name": "viewport", "content": "width=device-width, initial-scale=1"}],
    )
    for error in (DependencyException, InvalidResourceError):  # a file of a package that no page has
        server.register_error_handler(error, lambda _error: flask.Response("There is no such file.\n", 404))
    app.layout = lambda: _shell(at_hand())
    send_headers(server, app.csp_hashes)
    server.register_blueprint(login_routes(access))
    sendings = Sendings(archive.workshop, access.sharing.largest_sent)
    server.register_blueprint(sending_routes(sendings))
    server.register_blueprint(concerts_routes(library))
    server.register_blueprint(courses_routes(library))
    server.register_blueprint(adding_routes(library, Work(archive, sendings)))
    server.register_blueprint(sound_routes(_sound_of(library.archive)))
    server.register_blueprint(passage_routes(_sound_of(library.archive)))
    server.register_blueprint(listening_routes(library))
    server.register_blueprint(fold_routes(library))
    server.register_blueprint(marking_routes(library))
    server.register_blueprint(taking_up_routes(library))
    server.register_blueprint(composing_routes(library))
    server.register_blueprint(practice_routes(library))
    server.register_blueprint(sheets_routes(library))
    server.register_blueprint(practice_sound_routes(library))
    server.register_blueprint(proposals_routes(library, Runs(archive.store.place)))
    server.extensions["layakosh"] = library
    _bind(app, library)
    return app


def _sound_of(archive: Archive) -> Any:
    def path_of(slug: str) -> Path | None:
        try:
            return archive.sound_path(slug) if slug in archive else None
        except NoSuchRecording:
            return None

    return path_of


def _shell(person: Person) -> Any:
    return html.Div(
        [
            html.A("Skip to the page", href="#page", className="skip"),
            dcc.Location(id="where", refresh="callback-nav"),
            dcc.Store(id="title"),
            html.Header(
                [
                    dcc.Link([html.Img(src="/assets/mark.svg", alt=""), "Layakosh"], href="/", className="wordmark"),
                    html.Nav(id="navigation", **{"aria-label": "Pages"}),
                    dcc.Link("Words", href="/words", className="aside", title="What the trade's words mean"),
                    _light(),
                    _who(person),
                ],
                className="masthead",
            ),
            html.Main(id="page", tabIndex="-1"),
        ]
    )


def _light() -> Any:
    """Let people choose the light they work in; ``assets/light.js`` keeps it."""
    choices = (("auto", "Auto", "As the system has it"), ("light", "Light", ""), ("dark", "Dark", ""))
    return html.Div(
        [
            html.Button(
                text, type="button", title=title or None, **{"data-light-choice": choice, "aria-pressed": "false"}
            )
            for choice, text, title in choices
        ],
        className="light",
        role="group",
        **{"aria-label": "Light or dark"},
    )


def _who(person: Person) -> Any:
    """Say who is logged in, with a way out; nothing where nobody has to log in."""
    if not person.name:
        return None
    return html.Form(
        [
            html.Span([html.B(person.name), f", {person.role}"], title=ROLE_WORDS[person.role]),
            html.Button("Log out", type="submit"),
        ],
        action="/logout",
        method="POST",
        className="at-hand",
    )


def _bind(app: dash.Dash, library: Library) -> None:
    @app.callback(
        Output("page", "children"),
        Output("navigation", "children"),
        Output("title", "data"),
        Input("where", "pathname"),
        Input("where", "search"),
    )
    def turn_to(pathname: str | None, search: str | None) -> tuple[Any, Any, str]:
        page = page_at(library, pathname or "/", search or "")
        links = [
            html.A(name, href=href, **{"aria-current": "page"}) if name == page.section else dcc.Link(name, href=href)
            for name, href in NAVIGATION
        ]
        return page.content, links, f"{page.title} · Layakosh"

    app.clientside_callback(ClientsideFunction("layakosh", "title"), Input("title", "data"))
    # Dash calls it for a page that has just been put in only if it has an output in that page
    app.clientside_callback(
        ClientsideFunction("layakosh", "show"), Output("fold", "data-shown"), Input("fold-data", "data")
    )
    marking.bind(app, library)
    tihais.bind(app)
    side_by_side.bind(app)
    alike.bind(app)
    late.bind(app, library, LATE)
    compose.bind(app)
    concerts.bind(app)
    courses.bind(app)
    proposals.bind(app)
    practice.bind(app)
