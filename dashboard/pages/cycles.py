"""Cycles: a performance folded at sam, with its sound and the marking panel."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dash import dcc, html

from dashboard import words
from dashboard.folded import fold_data
from dashboard.library import Library
from dashboard.pages import marking
from dashboard.pages.page import Page
from dashboard.parts import Part, empty, facts

LEGEND = (
    ("k-treble", "treble (dayan), up"),
    ("k-bass", "bass (bayan), down"),
    ("k-palla", "palla"),
    ("k-landing", "landing"),
    ("k-aim", "aimed here, missed"),
    ("k-phrase", "phrase"),
    ("k-marked", "sam marked"),
    ("k-tracked", "sam tracked"),
    ("k-khali", "khali vibhag"),
)


def page(library: Library, slug: str, wanted: Mapping[str, str]) -> Page:
    """Show a performance; ``?at=12.5`` opens it there.

    Raises
    ------
    annotate.errors.NoSuchRecording
        There is no such performance.
    """
    state = library.archive.state(slug)
    recording = state.recording
    sound = library.archive.has_sound(slug)
    data = fold_data(library.archive, slug, library.verdicts(slug), _seconds(wanted.get("at")))
    count = len(state.tihais)
    content = [
        html.H1(recording.title or slug),
        facts(
            [
                ("Raga", words.raga_name(recording.raga)),
                ("Tala", words.tala_name(recording.tala)),
                ("Sa", f"{recording.sa_hz:.1f} Hz" if recording.sa_hz else ""),
                ("", words.musicians(recording)),
                ("", ", ".join(filter(None, [recording.venue, words.day(recording.performed_on)]))),
                (
                    "",
                    dcc.Link(f"{count} tihai{'' if count == 1 else 's'}", href=f"/tihais?recording={slug}")
                    if count
                    else "",
                ),
            ]
        ),
        *player(slug, sound),
        html.Div(
            [html.Div(_rows(data, slug), className="rows"), marking.panel(library, slug, sound=sound)],
            className="workbench",
        ),
        dcc.Store(id="fold-data", data=data),
        dcc.Store(id="fold-slug", data=slug),
    ]
    return Page(recording.title or slug, content, "Concerts")


def player(slug: str, sound: bool, *, play: str = "Play") -> list[Part]:
    """Make the player: button, clock, place in the tala, what was last said, and the keys (filled in the browser)."""
    if not sound:
        return [
            html.P(
                "The archive has no sound for this recording: its marks and grid are shown without it.",
                className="quiet",
            )
        ]
    return [
        html.Audio(id="player", src=f"/sound/{slug}", preload="metadata"),
        html.Div(
            [
                html.Button(id="play", type="button", title=f"{play} (space)", **{"aria-label": play}),
                html.Span(id="clock"),
                html.Span(id="place"),
                html.Span(id="said", role="status"),
                html.Details([html.Summary("Keys"), html.Div(id="key-list")], id="keys"),
            ],
            className="transport",
        ),
    ]


def fold_region(label: str, *, tall: bool) -> Part:
    """Make the region that ``assets/window/folded.mjs`` fills with rows."""
    return html.Div(
        id="fold",
        className="fold-region tall" if tall else "fold-region",
        tabIndex="0",
        role="region",
        **{"aria-label": label},
    )


def legend() -> Part:
    """Explain the signs on the rows; the unit of the strokes is said here, since the rows carry no scale."""
    return html.Ul(
        [html.Li([html.I(className=name, **{"aria-hidden": "true"}), text]) for name, text in LEGEND]
        + [html.Li("stroke height: onset strength, share of the recording's strong strokes")],
        className="legend",
    )


def _rows(data: dict[str, Any], slug: str) -> list[Part]:
    if not data["rows"]:
        return [
            empty(
                "Nothing to fold yet",
                html.P("This recording has neither sound nor sections. Load its annotations:"),
                html.Code(f"layakosh load {slug} --sections sections.csv --sams sams.csv", className="command"),
            )
        ]
    return [fold_region("Avartans, one row each, matra 1 at the left", tall=True), legend()]


def _seconds(text: str | None) -> float | None:
    try:
        return max(float(text), 0.0) if text else None
    except ValueError:
        return None
