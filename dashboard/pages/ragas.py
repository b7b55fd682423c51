"""A raga: its rules and typical phrases as the sources have them, beside what was played; and the list of ragas.

Conventions: the raga stands in the path by its key in the table, or as the archive has it where it is in no table.
"""

from __future__ import annotations

from collections.abc import Mapping

from dash import dcc, html

from annotate.errors import BadPattern
from annotate.labels import raga_key
from annotate.search.phrases import PhraseSearch, find_phrases
from annotate.statistics.usage import ragas_played
from dashboard.access.at_hand import at_hand
from dashboard.later import Tell
from dashboard.library import Library
from dashboard.pages.counted_words import raga_address, raga_words
from dashboard.pages.heard_again import EDITS, HEARD_AGAIN
from dashboard.pages.late import Asked, LatePart, place_of, version_of_all
from dashboard.pages.page import Page
from dashboard.pages.phrases import by_choices, by_of
from dashboard.pages.raga_played import BY, ENDINGS, PROFILE, STEPS, TRENDS, TURNS
from dashboard.parts import Column, Part, empty, facts, table
from dashboard.sheets.asked import raga_sheet_address
from theory.errors import LayakoshError, UnknownName
from theory.notation import parse
from theory.ragas import Raga, all_ragas, get_raga, raga_variants
from theory.swaras import split_symbol

SCHOOLS = "Schools and teachers differ in ragas. Where your own teacher says otherwise, the teacher is right."


def index(library: Library) -> Page:
    """List the ragas of the archive, and those of the table that nobody has played yet."""
    with library.archive.one_look():
        recordings = library.archive.index("recordings", ["raga"])["raga"].fillna("")
        phrases = ragas_played(library.archive)
    performances = recordings[recordings != ""].value_counts()
    played = list(dict.fromkeys([*(name for name in phrases.index if name), *performances.index]))
    rows = [_row(str(raga), int(performances.get(raga, 0)), int(phrases.get(raga, 0))) for raga in played]
    heard = {raga_key(str(raga)) for raga in played}
    others = [raga for raga in all_ragas() if raga.key not in heard]
    columns = [Column("Raga"), Column("Performances", number=True), Column("Phrases written down", number=True)]
    columns += [Column("Aroha"), Column("Avaroha"), Column("Time")]
    content = [
        html.H1("Ragas"),
        html.P(f"What the sources say of a raga, beside what was played. {SCHOOLS}", className="lede"),
        table(f"{len(rows)} raga{'' if len(rows) == 1 else 's'} of this archive", columns, rows)
        if rows
        else empty(
            "No recording names a raga yet",
            html.P(
                ["Name the raga of a recording under ", dcc.Link("Concerts", href="/"), "; until then, look one up:"]
            ),
        ),
        html.Details(
            [
                html.Summary(f"{len(others)} more ragas of the table, not played here yet"),
                html.Ul(
                    [html.Li(dcc.Link(raga.name, href=raga_address(raga.key))) for raga in others], className="choices"
                ),
            ],
            open=not rows,
        ),
    ]
    return Page("Ragas", content, "Ragas")


def _row(raga: str, performances: int, phrases: int) -> list[Part]:
    known = _known(raga)
    return [
        dcc.Link(raga_words(raga), href=raga_address(raga)),
        str(performances),
        dcc.Link(str(phrases), href=f"/phrases?raga={raga}") if phrases else "0",
        html.Span(known.aroha if known else "", className="notation"),
        html.Span(known.avaroha if known else "", className="notation"),
        known.time if known else "not in the table of ragas",
    ]


def page(library: Library, name: str, wanted: Mapping[str, str]) -> Page:
    """Show one raga.

    Raises
    ------
    theory.errors.UnknownName
        Neither the table nor the archive has it.
    """
    held = library.archive.index("recordings", ["raga"])["raga"].fillna("")
    known = _known(name)
    raga = known.key if known else name
    mine = [each for each in held.unique() if each and raga_key(each) == raga]
    if known is None and not mine:
        get_raga(name)  # says so, and offers the nearest
    performances = int(held.isin(mine).sum())
    by = by_of(wanted) if wanted.get("by") else "instrument"
    asked = {"raga": raga, "by": by}
    title = known.name if known else name
    heading = [
        html.H1(title),
        html.P(
            [
                f"{performances} performance{'' if performances == 1 else 's'} in this archive. {SCHOOLS}",
                *([" ", html.A("Practice sheet", href=raga_sheet_address(known.key))] if known else []),
            ],
            className="lede",
        ),
    ]
    theory = html.Section([html.H2("By the sources"), *_theory(known)], className="by-the-sources")
    if not performances:
        nothing = empty(
            "Nobody has played it here yet",
            html.P(["Take in a recording of it under ", dcc.Link("Concerts", href="/"), " and name its raga."]),
        )
        return Page(title, [*heading, theory, nothing], "Ragas")
    played = [
        html.Div(
            [
                theory,
                html.Section(
                    [
                        html.H2("As played"),
                        html.P(
                            [
                                dcc.Link("Its phrases", href=f"/phrases?raga={mine[0]}"),
                                " · ",
                                dcc.Link("its tihais", href=f"/tihais?raga={raga}"),
                                " · ",
                                dcc.Link("beside another raga or performance", href=f"/side-by-side?a={raga}"),
                            ]
                        ),
                        *([html.H3("Typical phrases"), place_of(TYPICAL, asked, "Looking for them")] if known else []),
                    ]
                ),
            ],
            className="two-columns",
        ),
        html.H2("Heard again and again"),
        place_of(
            HEARD_AGAIN, {"raga": raga, "edits": EDITS if at_hand().may_edit else ""}, "Listening for what comes again"
        ),
        html.H2("How long each swara sounds"),
        place_of(PROFILE, asked, "Measuring the swaras"),
        html.H2("From swara to swara"),
        place_of(STEPS, asked, "Counting the steps"),
        html.H2("Turns of three swaras"),
        place_of(TURNS, asked, "Counting the turns"),
        html.H2("Where phrases come to rest"),
        place_of(ENDINGS, asked, "Counting the last swaras"),
        html.H2("Who plays it how"),
        by_choices(f"{raga_address(raga)}?", by),
        place_of(BY, asked, "Measuring the swaras"),
        html.H2("Over the years"),
        place_of(TRENDS, asked, "Comparing the years"),
    ]
    return Page(title, [*heading, *played], "Ragas")


def _known(name: str) -> Raga | None:
    try:
        return get_raga(name)
    except UnknownName:
        return None


def _theory(raga: Raga | None) -> list[Part]:
    if raga is None:
        return [
            html.P(
                "It is not in the table of ragas, so there is nothing to hold the playing against. A raga of your own "
                "can be added to the table; the README tells how."
            )
        ]
    leading = [f"vadi {raga.vadi}" if raga.vadi else "", f"samvadi {raga.samvadi}" if raga.samvadi else ""]
    variants = raga_variants(raga)
    return [
        html.Dl(
            [
                part
                for term, told in (
                    ("Aroha", html.Span(raga.aroha, className="notation")),
                    ("Avaroha", html.Span(raga.avaroha, className="notation")),
                    ("Typical phrases", html.Span("; ".join(raga.phrases), className="notation")),
                )
                for part in (html.Dt(term), html.Dd(told))
            ],
            className="scales",
        ),
        facts(
            [
                ("Thaat", raga.thaat),
                ("Swaras", " ".join(raga.swaras)),
                ("", ", ".join(filter(None, leading))),
                ("Jati", raga.jati),
                ("Time", raga.time),
            ]
        ),
        html.Ul([html.Li(line) for line in _rules(raga)], className="mends"),
        html.P(raga.notes) if raga.notes else None,
        html.P(
            [
                "Other schools: ",
                *(part for each in variants for part in (dcc.Link(each.key, href=raga_address(each.key)), " ")),
            ]
        )
        if variants
        else None,
        html.P(f"Source: {raga.source}.", className="quiet"),
    ]


def _rules(raga: Raga) -> list[str]:
    rules = []
    if raga.ascent_only:
        rules.append(f"Only going up: {', '.join(raga.ascent_only)}.")
    if raga.descent_only:
        rules.append(f"Only going down: {', '.join(raga.descent_only)}.")
    rules += [f"{swara} only within {' or '.join(ways)}." for swara, ways in raga.only_within]
    if raga.never:
        rules.append(f"Not straight: {', '.join(raga.never)}.")
    if raga.allowed:
        rules.append(f"Used against these rules all the same: {', '.join(raga.allowed)}.")
    return rules


def _make_typical(library: Library, asked: Asked, _tell: Tell) -> Part:
    raga = get_raga(asked["raga"])
    rows = []
    for phrase in raga.phrases:
        try:
            pattern = " ".join(split_symbol(symbol)[0].letter for symbol in parse(phrase).symbols)
            found = find_phrases(library.archive, PhraseSearch(swaras=pattern, anywhere=True, raga=asked["raga"]))
        except (BadPattern, LayakoshError) as error:
            rows.append([html.Span(phrase, className="notation"), str(error), ""])
            continue
        href = f"/instances?raga={asked['raga']}&pattern={pattern.replace(' ', '+')}"
        times = dcc.Link(str(len(found)), href=href, title="Hear them") if len(found) else "0"
        rows.append([html.Span(phrase, className="notation"), times, str(found["recording"].nunique())])
    columns = [Column("Phrase"), Column("Phrases that hold it", number=True), Column("Performances", number=True)]
    return table(
        "Typical phrases of the sources, found in what was written down, in any octave", columns, rows, cards=False
    )


TYPICAL = LatePart("raga-typical", ("raga", "by"), _make_typical, version_of_all)
PARTS = (TYPICAL,)
