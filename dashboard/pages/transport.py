"""The player of a page: its sound, and the transport that ``assets/window/transport.mjs`` fills."""

from __future__ import annotations

from dash import html

from dashboard.parts import Part


def player(slug: str, sound: bool, *, play: str = "Play") -> list[Part]:
    """Make the player: button, clock, place in the tala, what was last said; controls and keys come in the browser.

    Parameters
    ----------
    slug : str
        An existing recording.
    sound : bool
        Whether the archive has sound of it; it is said where not.
    play : str
        What the play button does.
    """
    if not sound:
        return [
            html.P(
                "The archive has no sound for this recording: its marks and grid are shown without it.",
                className="quiet",
            ),
            html.Div([html.Span(id="clock"), html.Span(id="place"), *_keys_and_said()], className="transport"),
        ]
    return [
        html.Audio(id="player", src=f"/sound/{slug}", preload="metadata", **{"data-slug": slug}),
        html.Div(
            [
                html.Button(id="play", type="button", title=f"{play} (space)", **{"aria-label": play}),
                html.Span(id="clock"),
                html.Span(id="place"),
                html.Div(id="listening", role="group", **{"aria-label": "Listening"}),
                *_keys_and_said(),
            ],
            className="transport",
        ),
    ]


def _keys_and_said() -> list[Part]:
    return [
        html.Details([html.Summary("Keys"), html.Div(id="key-list")], id="keys"),
        html.Span(id="said", role="status"),
    ]
