"""The marking panel: what was marked from the keyboard, to be corrected and saved to the archive.

Aim
    Keys write times into the fields (``assets/marking.mjs``); here they are read, checked by :mod:`annotate.marking`
    and saved; the grid is fitted again and the page drawn anew. Everything else that the panel does is asked of
    :mod:`dashboard.marking.routes` by the modules of ``assets/window``.

Conventions
    Times in seconds or h:m:s; matras as people write them ("5 1/2"). A message stands in the panel where the fault
    is; one of several lines points at a place with a caret and keeps its columns.
"""

from __future__ import annotations

from typing import Any

import dash
from dash import ClientsideFunction, Input, Output, State, dcc, html

from annotate.marking import mark_sams, record_tihai
from annotate.records import TihaiRecord
from dashboard import words
from dashboard.access.at_hand import at_hand
from dashboard.drafts import TihaiDraft, draft_of, read_times
from dashboard.library import Library
from dashboard.marking.shown import WHO
from dashboard.parts import Part, label_words, term, told
from theory.errors import LayakoshError, NotationError
from theory.tihai import LandingRule

STARTS = ("mark-start-1", "mark-start-2", "mark-start-3")
ON_PAPER = ("mark-palla", "mark-dam", "mark-start", "mark-target", "mark-rule")
WRITTEN_ONCE = (*STARTS, "mark-landing", "mark-palla", "mark-dam", "mark-start")  # emptied when a tihai is saved
_BY_EAR = "While it plays: s on sam; p, p, p where the pallas begin, l where the tihai lands."
_BY_HAND = "Write times in seconds or h:m:s from the start of the recording."
TIHAI_FIELDS = (*STARTS, "mark-landing", *ON_PAPER, "mark-by")


def panel(*, sound: bool) -> Part | None:
    """Make the panel of a recording, with or without sound; None for who may not edit.

    ``assets/window`` fills the lists, the row that is open, what is offered and the counts.
    """
    person = at_hand()
    if not person.may_edit:
        return None
    return html.Aside(
        [
            html.Div(
                [
                    html.H2("Marks"),
                    html.Button("Undo", id="undo", type="button"),
                    html.Button("Redo", id="redo", type="button"),
                ],
                className="panel-head",
            ),
            html.Div(id="kept-marks", role="status"),
            html.P(_BY_EAR if sound else _BY_HAND),
            html.Div(
                [html.P(id="held-words", className="label head"), html.Div(id="held-buttons", className="choices")],
                id="held-mark",
                hidden=True,
                role="group",
                **{"aria-label": "The mark that is held"},
            ),
            html.Div(id="mark-conflict", role="alert"),
            html.Div(id="row-form"),
            *_new_sams(),
            html.Hr(),
            *_new_tihai(),
            html.Hr(),
            html.Button(
                "Phrase over the selection", id="new-phrase", type="button", title="Select a passage, then press d"
            ),
            html.Hr(),
            html.Details([html.Summary("Saved marks"), html.Div(id="saved-marks")]),
            html.Details([html.Summary("History"), html.Div(id="history-list")], id="mark-history"),
        ],
        id="marking",
        className="panel",
        **{"aria-label": "Marking", "data-person": person.name},
    )


def _new_sams() -> list[Part]:
    return [
        _field("Sams (s)", "mark-sams", "none marked yet"),
        html.Button("Save sams", id="save-sams", type="button"),
        html.Div(id="told-sams", role="status"),
    ]


def _new_tihai() -> list[Part]:
    return [
        html.Div(term("Pallas begin at (s)"), className="label head"),
        html.Div(
            [html.Div([html.Label(f"palla {i}", htmlFor=name), _input(name)]) for i, name in enumerate(STARTS, 1)],
            className="thirds field",
        ),
        html.Div([_field("Lands at (s)", "mark-landing"), _field("Played by", "mark-by")], className="halves"),
        _field("Palla, one word a matra", "mark-palla", "R m P N S'"),
        html.Div(
            [
                _field("Dam", "mark-dam"),
                _field("Starts on", "mark-start"),
                _field("Aims at", "mark-target", value="1"),
            ],
            className="thirds",
        ),
        html.P("In matras, sam is 1. Left empty, dam and start are read from what was played.", className="hint"),
        html.Div(term("Landing rule"), className="label", id="rule-label"),
        dcc.RadioItems(
            id="mark-rule",
            options=[{"label": text, "value": rule.value} for rule, text in words.RULES.items()],
            value=LandingRule.WITHIN.value,
            className="rules field",
        ),
        html.Button("Save the tihai", id="save-tihai", type="button", className="main"),
        html.Div(id="told-paper", role="status"),
        html.Div(id="told-tihai", role="status"),
    ]


def bind(app: dash.Dash, library: Library) -> None:
    """Register the panel's callbacks."""
    drawn = Output("fold-data", "data", allow_duplicate=True)

    @app.callback(
        Output("told-sams", "children"),
        Output("mark-sams", "value"),
        drawn,
        Input("save-sams", "n_clicks"),
        State("mark-sams", "value"),
        State("fold-slug", "data"),
        prevent_initial_call=True,
    )
    def save_sams(_clicks: int, text: str | None, slug: str) -> tuple[Any, ...]:
        try:
            times_s = read_times(text or "")
            mark_sams(library.archive, slug, times_s, who=WHO)
        except LayakoshError as error:
            return told(str(error), "wrong"), dash.no_update, dash.no_update
        count = f"{len(times_s)} sam{'' if len(times_s) == 1 else 's'} saved"
        return told(f"{count}; the grid is fitted again.", "right"), "", _drawn_anew(library, slug)

    @app.callback(
        Output("told-tihai", "children"),
        *[Output(name, "value") for name in WRITTEN_ONCE],
        drawn,
        Input("save-tihai", "n_clicks"),
        *[State(name, "value") for name in TIHAI_FIELDS],
        State("fold-slug", "data"),
        prevent_initial_call=True,
    )
    def save_tihai(_clicks: int, *values: Any) -> tuple[Any, ...]:
        *fields, slug = values
        try:
            record = _record(library, slug, draft_of(*fields))
        except NotationError:  # the place is shown where the palla is counted as it is typed
            wrong = told("Not saved: the palla cannot be read; the message above shows where.", "wrong")
            return wrong, *[dash.no_update] * len(WRITTEN_ONCE), dash.no_update
        except LayakoshError as error:
            return told(str(error), "wrong"), *[dash.no_update] * len(WRITTEN_ONCE), dash.no_update
        verdict = next(each for each in library.verdicts(slug) if each.tihai == record.tihai)
        said = html.Div(
            [
                html.P(
                    [
                        dcc.Link(f"Saved as {record.tihai}", href=f"/tihais/{slug}/{record.tihai}"),
                        ". ",
                        verdict.sentence,
                    ]
                ),
            ],
            className="told right",
        )
        return said, *[""] * len(WRITTEN_ONCE), _drawn_anew(library, slug)

    app.clientside_callback(
        ClientsideFunction("layakosh", "marked"),
        *[Input(name, "value") for name in ("mark-sams", *STARTS, "mark-landing")],
    )


def _record(library: Library, slug: str, draft: TihaiDraft) -> TihaiRecord:
    return record_tihai(
        library.archive,
        slug,
        palla_s=draft.starts_s,
        landing_s=draft.landing_s,
        palla=draft.palla,
        dam=draft.dam,
        start=draft.start,
        rule=draft.rule,
        target=draft.target,
        played_by=draft.played_by,
        status="confirmed",
        who=WHO,
    )


def _drawn_anew(library: Library, slug: str) -> Any:
    return {"slug": slug, "version": library.version(slug)}


def _field(label: str, name: str, placeholder: str = "", value: str = "") -> Part:
    return html.Div(
        [
            html.Label(label_words(label), htmlFor=name),
            _input(name, placeholder, value),
        ],
        className="field",
    )


def _input(name: str, placeholder: str = "", value: str = "") -> Part:
    return dcc.Input(id=name, type="text", value=value, placeholder=placeholder, debounce=True, autoComplete="off")
