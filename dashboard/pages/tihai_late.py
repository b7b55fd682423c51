"""What a tihai's page shows after the rest: strokes, pallas one above the other, the same elsewhere, history."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd
from dash import dcc, html

from annotate.errors import BadAnnotation
from annotate.history.points import moment_words
from annotate.history.timeline import Entry, history
from annotate.records import TihaiRecord
from annotate.search.tihais import like_tihai
from annotate.strokes_played import FARTHEST_S, PlayedStroke, played_strokes
from annotate.verify import section_of, tolerance_at
from dashboard import words
from dashboard.figures.deviation import strokes_drawing
from dashboard.figures.pallas import PallaSound, pallas_drawing
from dashboard.later import Tell
from dashboard.library import Library
from dashboard.marking.strokes import strokes_of
from dashboard.pages.drawn import drawing, heard_at
from dashboard.pages.late import Asked, LatePart, version_of_all, version_of_recording
from dashboard.parts import Column, Part, table, verdict_mark
from theory.clock import format_clock
from theory.numbers import spoken

POINTS = 500
"""Points of a palla's waveform: about two to a pixel in a narrow window."""
_AFTER_S = 0.15  # of sound after a palla's last stroke or the landing
MOST_ELSEWHERE = 40


def _strokes(library: Library, slug: str, record: TihaiRecord) -> tuple[PlayedStroke, ...]:
    section = section_of(record, library.archive.grid(slug))
    return played_strokes(record, section, strokes_of(library.archive, slug))


def _make_strokes(library: Library, asked: Asked, _tell: Tell) -> Part:
    slug, record = asked["slug"], library.archive.state(asked["slug"]).tihai(asked["tihai"])
    if not len(strokes_of(library.archive, slug)):
        return html.P("The strokes of this recording were not measured, so only the marks above are compared.")
    strokes = _strokes(library, slug, record)
    if not strokes:
        return html.P(
            "Single strokes can be told once start, palla and dam are written down, each palla is marked, and the "
            "section has its matras. Write down what is missing in the marking panel of the performance."
        )
    pallas = _by_palla(strokes)
    names = _names(pallas[-1])
    told = [[_played(each, library.archive.has_sound(slug)) for each in palla] for palla in pallas]
    section = section_of(record, library.archive.grid(slug))
    tolerance_ms = tolerance_at(section, record.landing_s) if section is not None else None
    return [
        html.P(_found_words(strokes)),
        drawing(
            "deviations",
            strokes_drawing(names, told, tolerance_ms),
            "Each stroke against paper, palla by palla; late is up. The band is within what counts as landing; a click "
            "on a sign plays that stroke.",
            table=_strokes_table(names, told),
            summary="The numbers, and their sound",
        ),
    ]


def _found_words(strokes: Sequence[PlayedStroke]) -> str:
    missing = [stroke for stroke in strokes if stroke.played_s is None]
    reach_ms = 1000 * min(stroke.reach_s for stroke in strokes)
    farthest = f"{1000 * FARTHEST_S:.0f} ms"
    near = (
        farthest if reach_ms >= 1000 * FARTHEST_S else f"{reach_ms:.0f} to {farthest}, by how close its neighbours are"
    )
    told = f"For {len(strokes) - len(missing)} of {len(strokes)} notes a stroke was found within {near}."
    if missing:
        listed = ", ".join(
            f"{_symbol(stroke)} of palla {stroke.palla} (matra {spoken(stroke.matra)})" for stroke in missing
        )
        told += f" Not found: {listed}."
    return f"{told} A stroke is told by its onset, not by who plays it: a tabla stroke that falls on a note counts too."


def _symbol(stroke: PlayedStroke) -> str:
    return stroke.symbol or "the landing"


def _by_palla(strokes: Sequence[PlayedStroke]) -> list[list[PlayedStroke]]:
    return [[stroke for stroke in strokes if stroke.palla == number] for number in range(1, strokes[-1].palla + 1)]


def _names(last: Sequence[PlayedStroke]) -> list[str]:
    return [f"{number} {stroke.symbol}" if stroke.symbol else "landing" for number, stroke in enumerate(last, 1)]


_Told = tuple[float, float | None] | None
"""A stroke's deviation in ms and when it is heard in s; None where none was found."""


def _played(stroke: PlayedStroke, has_sound: bool) -> _Told:
    return None if stroke.dev_ms is None else (stroke.dev_ms, stroke.played_s if has_sound else None)


def _strokes_table(names: Sequence[str], pallas: Sequence[Sequence[_Told]]) -> Part:
    columns = [Column("Note"), *(Column(f"Palla {number}", number=True) for number in range(1, len(pallas) + 1))]
    rows = [
        [name, *(_dev(palla[index]) if index < len(palla) else "" for palla in pallas)]
        for index, name in enumerate(names)
    ]
    return table("Played minus paper; late is +", columns, rows, cards=False)


def _dev(told: _Told) -> Part:
    return "not found" if told is None else heard_at(told[1], words.amount_ms(told[0]))


def _make_pallas(library: Library, asked: Asked, _tell: Tell) -> Part:
    slug, record = asked["slug"], library.archive.state(asked["slug"]).tihai(asked["tihai"])
    if len(record.palla_s) < 2:
        return html.P("Only its start and its landing are marked. Mark where each palla begins to compare them.")
    if not library.archive.has_sound(slug):
        return html.P("The archive has no sound of this recording, so there is nothing to hear one above the other.")
    spans = _spans(record)
    strokes = _strokes(library, slug, record)
    longest_s = max(to_s - from_s for from_s, to_s in spans)
    rows = [
        _row(library, slug, number, span, longest_s, [each for each in strokes if each.palla == number])
        for number, span in enumerate(spans, 1)
    ]
    shown = [row for row in rows if row is not None]
    return [
        _buttons(spans),
        drawing(
            "waves",
            pallas_drawing(shown),
            "The sound of each palla from its own start. Dotted: where each note stands on paper, counted from there; "
            "triangles below: the strokes heard. A click plays from there to the end of the palla.",
        )
        if shown
        else html.P("The waveform of this recording was not measured; the pallas can be heard all the same."),
    ]


def _spans(record: TihaiRecord) -> list[tuple[float, float]]:
    """From each palla's start to the next one's; the last one to a little after the landing."""
    ends = [*record.palla_s[1:], record.landing_s + _AFTER_S]
    return list(zip(record.palla_s, ends, strict=True))


def _buttons(spans: Sequence[tuple[float, float]]) -> Part:
    def button(text: str, played: Sequence[tuple[float, float]]) -> Part:
        told = " ".join(f"{from_s:.3f}-{to_s:.3f}" for from_s, to_s in played)
        return html.Button(text, type="button", className="plays", **{"data-plays": told, "aria-pressed": "false"})

    each = [button(f"Palla {number}", [span]) for number, span in enumerate(spans, 1)]
    pause = html.Small("at the speed set above; pressed again it stops", className="quiet")
    return html.Div([*each, button("One after the other", spans), pause], className="plays-row")


def _row(
    library: Library,
    slug: str,
    number: int,
    span: tuple[float, float],
    length_s: float,
    strokes: Sequence[PlayedStroke],
) -> PallaSound | None:
    start_s, end_s = span
    wave = library.archive.waveform(slug, start_s, start_s + length_s, POINTS)
    if wave is None or not len(wave.low):
        return None
    first_s = strokes[0].paper_s if strokes else 0.0
    return PallaSound(
        f"palla {number}",
        start_s,
        end_s,
        np.asarray(wave.edge_s) - start_s,
        wave.low,
        wave.high,
        [(stroke.paper_s - first_s, stroke.symbol or "lands") for stroke in strokes],
        [stroke.played_s - start_s for stroke in strokes if stroke.played_s is not None],
    )


def _make_elsewhere(library: Library, asked: Asked, _tell: Tell) -> Part:
    try:
        likes = like_tihai(library.archive, asked["slug"], asked["tihai"])
    except BadAnnotation as error:
        return html.P(str(error))
    if likes.empty:
        return html.P("Nowhere else in the archive: no other tihai has its arithmetic or its swaras.")
    titles = library.archive.index("recordings", ["recording", "title"], likes["recording"].unique().tolist())
    named = dict(zip(titles["recording"], titles["title"], strict=True))
    caption = f"{len(likes)} elsewhere" + (f", the nearest {MOST_ELSEWHERE}" if len(likes) > MOST_ELSEWHERE else "")
    columns = [
        Column("Tihai"), Column("In common"), Column("At", number=True), Column("Palla"), Column("As played"),
        Column("Verdict"),
    ]  # fmt: skip
    return table(caption, columns, [_like_row(row, named) for row in likes.head(MOST_ELSEWHERE).to_dict("records")])


def _like_row(row: Mapping[Any, Any], named: Mapping[str, str]) -> list[Part]:
    slug, key = row["recording"], row["tihai"]
    common = [
        "the arithmetic" if row["same_arithmetic"] else "",
        ("the swaras" if row["same_octaves"] else "the swaras, in another octave") if row["same_swaras"] else "",
    ]
    dev_ms = row["landing_dev_ms"]
    return [
        [dcc.Link(key, href=f"/tihais/{slug}/{key}"), html.Small(named.get(slug) or slug)],
        " and ".join(filter(None, common)),
        dcc.Link(format_clock(row["first_palla_s"], 1), href=f"/cycles/{slug}?at={row['first_palla_s']:.3f}"),
        html.Span(row["palla"] or "", className="notation"),
        words.amount_ms(None if pd.isna(dev_ms) else dev_ms),
        verdict_mark(row["verdict"]),
    ]


def _make_history(library: Library, asked: Asked, _tell: Tell) -> Part:
    entries = history(library.archive, asked["slug"], table="tihais", key=asked["tihai"])
    return html.Ol([html.Li(_entry(entry)) for entry in reversed(entries)], className="history", reversed=True)


def _entry(entry: Entry) -> list[Part]:
    mine = [change for change in entry.changes if change.table == "tihais"]
    told = "; ".join(
        "; ".join(change.field_sentences) if change.action == "changed" else change.action for change in mine
    )
    taken = f" (taken back by revision {entry.taken_back_by})" if entry.taken_back_by else ""
    return [
        html.B(f"{moment_words(entry.head.when)}, {entry.head.who}: "),
        f"{told or 'nothing in it'}{taken}",
        html.Small(f" revision {entry.head.number}: {entry.head.why}"),
    ]


STROKES = LatePart("tihai-strokes", ("slug", "tihai"), _make_strokes, version_of_recording)
PALLAS = LatePart("tihai-pallas", ("slug", "tihai"), _make_pallas, version_of_recording)
ELSEWHERE = LatePart("tihai-elsewhere", ("slug", "tihai"), _make_elsewhere, version_of_all)
HISTORY = LatePart("tihai-history", ("slug", "tihai"), _make_history, version_of_recording)
PARTS = (STROKES, PALLAS, ELSEWHERE, HISTORY)
