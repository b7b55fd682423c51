"""Cycles: a performance folded at sam, with its sound and the marking panel."""

from __future__ import annotations

from collections.abc import Mapping

from dash import dcc, html

from dashboard import words
from dashboard.heard import stamp_of
from dashboard.library import Library
from dashboard.pages import agreement, marking
from dashboard.pages.page import Page
from dashboard.pages.transport import player
from dashboard.parts import Part, empty, facts, term
from dashboard.proposals.shown import address

LEGEND = (
    ("k-melody", "", "melody, thin where it may not be the lead"),
    ("k-treble", "treble (dayan)", ", up"),
    ("k-bass", "bass (bayan)", ", down"),
    ("k-palla", "palla", ""),
    ("k-landing", "landing", ""),
    ("k-aim", "", "aimed here, missed"),
    ("k-phrase", "phrase", ""),
    ("k-marked", "sam marked", ""),
    ("k-tracked", "sam tracked", ""),
    ("k-khali", "khali vibhag", ""),
)
"""Sign, word of the trade, and what else is said of it."""


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
                ("", _proposed(library, slug)),
                ("", dcc.Link("Details, and what next", href=f"/concerts/{slug}")),
                ("", agreement.link(state)),
            ]
        ),
        *player(slug, sound),
        html.Div(
            [html.Div(_rows(library, slug), className="rows"), marking.panel(sound=sound)],
            className="workbench",
        ),
        dcc.Store(
            id="fold-data",
            data={"slug": slug, "version": library.version(slug), "at_s": _seconds(wanted.get("at"))},
        ),
        dcc.Store(id="fold-slug", data=slug),
    ]
    return Page(recording.title or slug, content, "Concerts")


def _proposed(library: Library, slug: str) -> Part:
    """Lead to the tihais that were found, or to looking for them; empty where nothing was heard."""
    waiting = library.waiting(slug)
    if waiting is None:
        return dcc.Link("Look for tihais", href=address(slug)) if stamp_of(library.archive, slug).strip() else ""
    if not waiting:
        return ""
    return dcc.Link(f"{waiting} proposed tihai{'' if waiting == 1 else 's'} waiting", href=address(slug))


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
    """Explain the signs on the rows; the units of what has no room for a scale in the rows are said here."""
    return html.Ul(
        [html.Li([html.I(className=name, **{"aria-hidden": "true"}), term(word), text]) for name, word, text in LEGEND]
        + [html.Li("stroke height: onset strength, share of the recording's strong strokes")]
        + [html.Li("melody height: swaras a semitone apart")],
        className="legend",
    )


def _rows(library: Library, slug: str) -> list[Part]:
    state = library.archive.state(slug)
    if not (state.sections or state.recording.duration_s):
        return [
            empty(
                "Nothing to fold yet",
                html.P("This recording has neither sound nor sections. Load its annotations:"),
                html.Code(f"layakosh load {slug} --sections sections.csv --sams sams.csv", className="command"),
            )
        ]
    return [
        html.H2("Avartans", className="unseen"),
        overview(),
        tools(),
        fold_region("Avartans, one row each, matra 1 at the left", tall=True),
        legend(),
    ]


def overview() -> Part:
    """Make the strip that ``assets/window/overview.mjs`` fills: the whole concert, to jump from."""
    return html.Div(
        id="overview",
        className="overview",
        tabIndex="0",
        role="slider",
        title="The whole concert: click, or use the arrow keys, to go there",
        **{
            "aria-label": "Place in the whole concert",
            "aria-valuemin": "0",
            "aria-valuemax": "0",
            "aria-valuenow": "0",
        },
    )


def tools() -> Part:
    """Make the buttons over the rows: how much a row holds, unfolded or folded, following the sound or not."""
    return html.Div(
        [
            html.Div(
                [
                    _button("farther", "\N{MINUS SIGN}", "Farther: more in a row (x)", "Farther"),
                    _button("closer", "+", "Closer: less in a row, down to one matra (z)", "Closer"),
                    html.Span("an avartan a row", id="reach", role="status"),
                ],
                className="reach",
                role="group",
                **{"aria-label": "How much a row holds"},
            ),
            _button("unfold", "Unfold", "Let time run straight on instead of folding it at sam (u)", pressed="false"),
            _button("follow", "Follow the sound", "Scroll along while it plays (f)", pressed="true"),
            _button("find-like", "Find its like", "Where in the archive what is selected comes again (i)"),
            _button("unselect", "Drop the selection", "Nothing selected any more (Escape)"),
        ],
        className="fold-tools",
    )


def _button(name: str, text: str, title: str, label: str = "", pressed: str = "") -> Part:
    told = {key: value for key, value in (("aria-label", label), ("aria-pressed", pressed)) if value}
    return html.Button(text, id=name, type="button", title=title, **told)


def _seconds(text: str | None) -> float | None:
    try:
        return max(float(text), 0.0) if text else None
    except ValueError:
        return None
