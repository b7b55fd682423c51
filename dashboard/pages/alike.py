"""What is like a passage, or a phrase that is typed: the places of the archive, ranked, each to be heard at once.

Conventions: what is looked for stands in the address, so that it can be kept and sent: ``/like/<slug>?from=12.5&to=15``
or ``/like?phrase=m+P+N+S'&raga=desh``; ``by``, ``transposed`` and ``laya`` say what may differ. The search goes through
the whole archive, so the list comes after the page (:mod:`dashboard.pages.late`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, cast, get_args
from urllib.parse import quote, urlencode

import dash
from dash import Input, Output, State, ctx, dcc, html
from dash.exceptions import PreventUpdate

from annotate.alike.asked import Asked as LookedFor
from annotate.alike.asked import passage_of, phrase_of
from annotate.alike.likes import Like, place_words
from annotate.alike.seek import seek
from dashboard.later import Tell
from dashboard.library import Library
from dashboard.pages.instances import hear_button
from dashboard.pages.late import Asked, LatePart, place_of, version_of_all
from dashboard.pages.page import Page
from dashboard.parts import Column, Part, choices, empty, label_words, table, told
from ingest.finding.like import By, Transposed, Wanted
from theory.clock import format_clock
from theory.errors import LayakoshError
from theory.ragas import all_ragas

BY = {"any": "melody or tabla", "melody": "melody", "tabla": "tabla", "both": "melody and tabla"}
TRANSPOSED = {"also": "at any pitch", "not": "at the same pitch", "only": "higher or lower only"}
LAYA = {"any": "at any laya", "same": "in as many matras"}
_ASKS = ("slug", "from", "to", "phrase", "raga", "by", "transposed", "laya")


def page(library: Library, slug: str, wanted: Mapping[str, str]) -> Page:
    """Look for what an address names; without a slug, for a typed phrase.

    Raises
    ------
    annotate.errors.NoSuchRecording
        There is no such performance.
    theory.errors.LayakoshError
        The passage cannot be looked for.
    """
    asked = _asked(slug, wanted)
    content: list[Part] = [html.H1("Find its like" if slug else "Find by sound")]
    fault = None
    if slug:
        content.append(_passage(library, asked))
        passage_of(library.archive, slug, *_times_s(asked))
    else:
        content.append(
            html.P(
                "Type a phrase in swaras or in bols: where in the archive does it sound like that?", className="lede"
            )
        )
        fault = _fault(asked)
    found: list[Part] = []
    if slug or asked["phrase"]:
        found = [*_choices(asked), told(fault, "fault") if fault else place_of(LIKES, asked, "Looking")]
    content += [*found, _form(asked)] if slug else [_form(asked), *found]
    return Page("Find its like" if slug else "Find by sound", content, "Phrases")


def address_of(slug: str, start_s: float, end_s: float) -> str:
    """Return the address at which the like of a passage is looked for."""
    return f"/like/{quote(slug)}?{urlencode({'from': f'{start_s:.3f}', 'to': f'{end_s:.3f}'})}"


def bind(app: dash.Dash) -> None:
    """Let what is typed become the address: with Enter in a field, or the button."""

    @app.callback(
        Output("where", "href", allow_duplicate=True),
        Input("like-search", "n_clicks"),
        Input("like-phrase", "n_submit"),
        Input("like-raga", "n_submit"),
        State("like-phrase", "value"),
        State("like-raga", "value"),
        prevent_initial_call=True,
    )
    def search(clicks: Any, in_phrase: Any, in_raga: Any, phrase: Any, raga: Any) -> str:
        if not ctx.triggered_id or not (clicks or in_phrase or in_raga) or not str(phrase or "").strip():
            raise PreventUpdate  # the fields have only just been put in, or nothing is typed
        return f"/like?{urlencode({'phrase': str(phrase).strip(), 'raga': str(raga or '').strip()})}"


def _asked(slug: str, wanted: Mapping[str, str]) -> dict[str, str]:
    """What the address says, in one form; what it does not know is as by default."""
    asked = {name: wanted.get(name, "").strip() for name in _ASKS} | {"slug": slug}
    for name, known in (("by", BY), ("transposed", TRANSPOSED), ("laya", LAYA)):
        asked[name] = asked[name] if asked[name] in known else next(iter(known))
    return asked


def _times_s(asked: Asked) -> tuple[float, float]:
    try:
        times_s = float(asked["from"]), float(asked["to"])
    except ValueError:
        times_s = 0.0, 0.0
    return times_s if all(map(math.isfinite, times_s)) else (0.0, 0.0)  # refused, with what is expected


def _looked_for(library: Library, asked: Asked) -> LookedFor:
    if asked["slug"]:
        return passage_of(library.archive, asked["slug"], *_times_s(asked))
    return phrase_of(asked["phrase"], asked["raga"])


def _fault(asked: Asked) -> str | None:
    """Why a typed phrase cannot be looked for; None where it can, or nothing is typed."""
    try:
        if asked["phrase"]:
            phrase_of(asked["phrase"], asked["raga"])
    except LayakoshError as error:
        return str(error)
    return None


def _passage(library: Library, asked: Asked) -> Part:
    """Say which passage is looked for, to be heard."""
    slug, (start_s, end_s) = asked["slug"], _times_s(asked)
    title = library.archive.state(slug).recording.title or slug
    parts: list[Part] = [
        "Of ",
        dcc.Link(title, href=f"/cycles/{slug}?at={start_s:.3f}"),
        f", {format_clock(start_s, 1)} to {format_clock(end_s, 1)}. ",
    ]
    if library.archive.has_sound(slug) and end_s > start_s:
        parts.append(hear_button(slug, title, start_s, end_s))
    return html.P(parts, className="lede")


def _form(asked: Asked) -> Part:
    fields = [
        html.Label(
            [
                label_words("Or a phrase" if asked["slug"] else "Phrase"),
                dcc.Input(
                    id="like-phrase", type="search", value=asked["phrase"], placeholder="m P N S'  or  TiRaKiTa Dha"
                ),
            ],
            className="field",
        ),
        html.Label(
            [
                label_words("Raga"),
                dcc.Input(id="like-raga", type="text", value=asked["raga"], list="like-ragas", autoComplete="off"),
            ],
            className="field",
        ),
    ]
    return html.Div(
        [
            html.Div([*fields, html.Button("Find", id="like-search", type="button", className="main")]),
            html.Datalist([html.Option(value=raga.name) for raga in all_ragas()], id="like-ragas"),
        ],
        className="search-form",
        role="search",
        **{"aria-label": "Find a phrase by its sound"},
    )


def _choices(asked: Asked) -> list[Part]:
    """What may differ, to be chosen."""

    def options(name: str, known: Mapping[str, str]) -> list[tuple[str, str, int | None, bool]]:
        return [(text, _address(asked, **{name: each}), None, asked[name] == each) for each, text in known.items()]

    return [
        choices("What has to be alike", options("by", BY)),
        choices("Pitch", options("transposed", TRANSPOSED)),
        choices("Laya", options("laya", LAYA)),
    ]


def _address(asked: Asked, **changed: str) -> str:
    now = {name: value for name, value in {**asked, **changed}.items() if name != "slug" and value}
    return f"/like{'/' + quote(asked['slug']) if asked['slug'] else ''}?{urlencode(now)}"


def _make_likes(library: Library, asked: Asked, tell: Tell) -> Part:
    wanted = Wanted(
        cast("By", asked["by"] if asked["by"] in get_args(By) else "any"),
        cast("Transposed", asked["transposed"] if asked["transposed"] in get_args(Transposed) else "also"),
        asked["laya"] != "same",
    )
    sought = seek(library.archive, _looked_for(library, asked), wanted, tell=tell)
    left_out = len(sought.not_measured)
    never = f" {left_out} were never measured, and not looked through." if left_out else ""
    many = f"{sought.searched} recording{'' if sought.searched == 1 else 's'}"
    if not sought.likes:
        return empty("Nothing is like it", html.P(f"{many} looked through.{never} A longer passage says more."))
    columns = [
        Column("Performance"), Column("Hear"), Column("At", number=True), Column("Where"), Column("How alike"),
        Column("Stands out", number=True), Column("Melody lies"), Column("Laya"),
    ]  # fmt: skip
    caption = f"The likest places in {many}"
    return [
        table(caption, columns, [_row(library, each) for each in sought.likes]),
        html.P(
            "Stands out: by how many times the usual spread a place lies above what that stretch is like anyway; the "
            f"list goes by it. A likeness in sound, not a proof: listen.{never}",
            className="quiet",
        ),
    ]


def _row(library: Library, like: Like) -> list[Part]:
    title = library.archive.state(like.recording).recording.title or like.recording
    has_sound = library.archive.has_sound(like.recording)
    return [
        dcc.Link(title, href=f"/cycles/{like.recording}?at={like.start_s:.3f}", title="Open it at this very place"),
        hear_button(like.recording, title, like.start_s, like.end_s) if has_sound else "no sound",
        format_clock(like.start_s, 1),
        place_words(like),
        like.alike_words.replace(" %", "\N{NO-BREAK SPACE}%"),
        f"{like.height:.1f}",
        like.moved_words or ("at the same pitch" if like.melody else ""),
        like.laya_words,
    ]


LIKES = LatePart("likes", _ASKS, _make_likes, version_of_all)
PARTS = (LIKES,)
