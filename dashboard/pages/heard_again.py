"""Heard again and again: the mukhras and phrases that come again in the recordings of a raga, to be heard and taken up.

Conventions: each stands with its recordings; a button writes all its comings in one of them down as phrases
(``assets/window/heard_again.mjs``, answered by :mod:`dashboard.taking_up`). Made aside, for all who may edit alike.
"""

from __future__ import annotations

from dash import dcc, html

from annotate.recurring.across import AcrossRaga, recurring_in_raga
from annotate.recurring.finding import RecurringPhrase
from annotate.recurring.naming import ProposedName
from dashboard.later import Tell
from dashboard.library import Library
from dashboard.pages.instances import hear_button
from dashboard.pages.late import Asked, LatePart, version_of_all
from dashboard.parts import Part
from theory.clock import format_clock

MOST_GROUPS = 20
MOST_RECORDINGS = 6
MOST_TIMES = 4
ROLES = ("mukhra", "sthayi", "antara", "pakad", "tan", "alap")
"""Roles to choose from; the command line takes any."""
NO_ROLE = "no role"
EDITS = "yes"
"""What is asked for by somebody who may edit; what is kept for others has no buttons, and the gate refuses them."""


def _make_heard_again(library: Library, asked: Asked, tell: Tell) -> Part:
    found = recurring_in_raga(library.archive, asked["raga"], tell, follow=False)
    titles = {slug: library.archive.state(slug).recording.title or slug for slug in found.searched}
    edits = asked["edits"] == EDITS
    parts: list[Part] = [
        html.P(
            "Found in the melody: what comes more often than the line's own habit makes likely, and the part of the "
            "avartan that comes back. Swaras are a draft; a name is a proposal, and schools and teachers differ.",
            className="quiet",
        )
    ]
    if found.groups:
        shown = [_group(library, each, titles, edits) for each in found.groups[:MOST_GROUPS]]
        parts.append(html.Ol(shown, className="heard-again"))
    elif found.searched:
        parts.append(html.P("Nothing comes again often enough to be told from chance."))
    if len(found.groups) > MOST_GROUPS:
        parts.append(html.P(f"The first {MOST_GROUPS} of {len(found.groups)}; all: layakosh recurring --raga"))
    if found.not_searched:
        lines = [html.Li(f"{slug}: {why.splitlines()[0]}") for slug, why in found.not_searched.items()]
        parts.append(html.Details([html.Summary(f"{len(lines)} not searched"), html.Ul(lines)]))
    parts.append(html.P("", role="status"))
    return html.Div(parts, **{"data-heard-again": ""})


def _group(library: Library, group: AcrossRaga, titles: dict[str, str], edits: bool) -> Part:
    where = f" in {len(group.recordings)} performances" if len(group.recordings) > 1 else ""
    heading = [html.Span(group.text, className="notation"), f"  {group.count} times{where}"]
    names = html.Ul([_name(each) for each in group.names], className="quiet") if group.names else None
    lines = [_recording(library, each, titles[each.recording], edits) for each in group.phrases[:MOST_RECORDINGS]]
    return html.Li([html.P(heading), names, *lines])


def _name(name: ProposedName) -> Part:
    return html.Li([html.Strong(f"{name.name}, {name.agreement:.0%}"), f": {name.why}"])


def _recording(library: Library, phrase: RecurringPhrase, title: str, edits: bool) -> Part:
    slug = phrase.recording
    sound = library.archive.has_sound(slug)
    times: list[Part] = []
    for each in phrase.comings[:MOST_TIMES]:
        at = dcc.Link(format_clock(each.start_s, 1), href=f"/cycles/{slug}?at={each.start_s:.3f}")
        times += [at, " ", hear_button(slug, title, each.start_s, each.end_s) if sound else "", " "]
    more = len(phrase.comings) - MOST_TIMES
    told = [html.Span(f"{title}: "), *times, f"and {more} more " if more > 0 else ""]
    return html.Div([*told, *(_taking_up(phrase, title) if edits else [])], className="heard-again-in")


def _taking_up(phrase: RecurringPhrase, title: str) -> list[Part]:
    """A role to choose, the proposed one first, and the button."""
    proposed = next((name.role for name in phrase.names if name.role), "")
    roles = dict.fromkeys((proposed, *ROLES, ""))
    about = f"of {phrase.text} in {title}"
    told = {"data-takes-up": phrase.recording, "data-key": phrase.key}
    told["aria-label"] = f"Take up all {len(phrase.comings)} {about} as phrases"
    return [
        html.Select(
            [html.Option(role or NO_ROLE, value=role) for role in roles],
            **{"aria-label": f"Role {about}"},
        ),
        html.Button("Take up as phrases", type="button", **told),
    ]


HEARD_AGAIN = LatePart("raga-heard-again", ("raga", "edits"), _make_heard_again, version_of_all)
PARTS = (HEARD_AGAIN,)
