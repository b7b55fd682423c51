"""Courses: the list, and one of them, read and edited; their parts: :mod:`dashboard.courses`.

Conventions: a page's parts are markup that is sent along with it and put in by ``assets/window/courses.mjs``.
"""

from __future__ import annotations

import dash
from dash import ClientsideFunction, Input, Output, dcc, html

from annotate.courses.shelf import Courses
from dashboard.courses.routes import course_markup, list_markup
from dashboard.library import Library
from dashboard.pages.page import Page
from dashboard.pages.practice import ways
from dashboard.parts import Part

SECTION = "Practice"


def page(library: Library) -> Page:
    """List the courses of the archive."""
    lede = html.P("Pieces of the archive in chapters, with notes on how to practise them.", className="lede")
    parts = _parts("list", list_markup(Courses(library.archive)))
    return Page("Courses", [html.H1("Courses"), lede, ways("courses"), *parts], SECTION)


def course(library: Library, key: str) -> Page:
    """Show a course, chapter by chapter, to be read and edited.

    Raises
    ------
    annotate.shelves.errors.NoSuchThing
        There is no such course.
    """
    courses = Courses(library.archive)
    title = courses.get(key).content.title
    return Page(title, [html.H1(title), *_parts("course", course_markup(courses, key))], SECTION)


def bind(app: dash.Dash) -> None:
    """Let the browser put the parts in when one of the pages is turned to."""
    app.clientside_callback(
        ClientsideFunction("layakosh", "courses"), Output("courses", "data-shown"), Input("courses-parts", "data")
    )


def _parts(kind: str, markup: str) -> list[Part]:
    return [
        html.Div(id="courses", className=f"concerts-page courses-page {kind}"),
        dcc.Store(id="courses-parts", data={"page": kind, "markup": markup}),
    ]
