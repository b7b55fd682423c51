"""A set of exercises as one page of HTML to print: questions, the answers by themselves, and what to sing or play.

Conventions: paper, fonts and figures are those of practice sheets (:mod:`annotate.practice.sheets`); nothing is
fetched, and there is no script. Answers begin a page of their own, so that questions can be handed out without them;
so does what is to be sung or played, since how a tihai goes tells answers too.
"""

from __future__ import annotations

from functools import cache

import jinja2
from markupsafe import Markup

from annotate.practice.exercises.drawn import ExerciseSet
from annotate.practice.exercises.shown import counted_words, heading, shown_all, talas_of
from annotate.practice.sheets.cycle import cycle_drawing
from annotate.practice.sheets.drawing import LINE_HEIGHT, Places
from annotate.practice.sheets.fonts import Face, font_data, is_devanagari
from annotate.practice.sheets.pdf import html_as_pdf
from annotate.practice.sheets.sheet import WIDTH
from annotate.practice.sheets.wishes import PAPERS, PaperSize
from theory.layout import Script

_FACES: tuple[Face, ...] = ("text", "italic", "bold")
_MM_PER_POINT = 25.4 / 72


def exercises_html(made: ExerciseSet, *, paper: PaperSize = "a4", script: Script = "latin", again: str = "") -> str:
    """Return a set of exercises as a page of HTML.

    Parameters
    ----------
    made : ExerciseSet
    paper : {"a4", "letter"}
    script : {"latin", "devanagari", "typed"}
        Of the theka in the figures; what is to be played stands as it is typed.
    again : str
        The command that makes the same set, to be printed at the foot; empty for none.
    """
    places = Places()
    cycles = [cycle_drawing(tala, script, places, WIDTH) for tala in talas_of(made)]
    questions = shown_all(made)
    body = (
        _templates()
        .get_template("exercises.html")
        .render(
            heading=heading(made),
            questions=questions,
            cycles=cycles,
            counted=counted_words(made),
            made=made,
            again=again,
        )
    )
    faces = (*_FACES, "devanagari") if is_devanagari(body) else _FACES
    side_mm = round((PAPERS[paper][0] - WIDTH * _MM_PER_POINT) / 2, 2)
    frame = (
        _templates()
        .get_template("sheet.css")
        .render(
            places=Markup(places.style),
            paper=paper,
            side_mm=side_mm,
            width=WIDTH,
            line_height=LINE_HEIGHT,
            footers=[("exercises", Markup(f'"Exercises, seed {made.wishes.seed}"'))],
            fonts={face: font_data(face) for face in faces},
        )
    )
    style = frame + _templates().get_template("exercises.css").render()
    return _templates().get_template("page.html").render(title=heading(made), style=Markup(style), body=Markup(body))


def exercises_pdf(made: ExerciseSet, *, paper: PaperSize = "a4", script: Script = "latin", again: str = "") -> bytes:
    """Return a set of exercises as PDF; parameters as for :func:`exercises_html`.

    Raises
    ------
    CannotPrint
        What makes PDF is not installed.
    """
    return html_as_pdf(exercises_html(made, paper=paper, script=script, again=again))


@cache
def _templates() -> jinja2.Environment:
    return jinja2.Environment(
        loader=jinja2.ChoiceLoader(
            [
                jinja2.PackageLoader("annotate.practice.exercises", "templates"),
                jinja2.PackageLoader("annotate.practice.sheets", "templates"),
            ]
        ),
        autoescape=jinja2.select_autoescape(("html",)),
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
