"""One tihai opened: the arithmetic as taught, its run through the cycles, paper against played."""

from __future__ import annotations

from dash import dcc, html

from annotate.records import TihaiRecord
from annotate.verify import Verdict, section_of
from annotate.wording import place
from dashboard import words
from dashboard.composing.asked import paper_address
from dashboard.figures.deviation import Statement, deviation_drawing
from dashboard.library import Library
from dashboard.pages.cycles import fold_region
from dashboard.pages.drawn import drawing, heard_at
from dashboard.pages.late import place_of
from dashboard.pages.page import Page
from dashboard.pages.tihai_late import ELSEWHERE, HISTORY, PALLAS, STROKES
from dashboard.pages.transport import player
from dashboard.parts import Column, Part, facts, table, verdict_mark
from dashboard.practice.asked import clap_address
from dashboard.sheets.asked import sheet_address
from dashboard.sounds.asked import FROM_NOTATION, page_address
from theory.clock import format_clock
from theory.numbers import spoken


def page(library: Library, slug: str, key: str) -> Page:
    """Open a tihai.

    Raises
    ------
    annotate.errors.NoSuchRecording, annotate.errors.NoSuchTihai
        There is none.
    """
    state = library.archive.state(slug)
    record = state.tihai(key)
    title = state.recording.title or slug
    verdict = next((each for each in library.verdicts(slug) if each.tihai == key), None)
    heading = html.H1(f"Tihai {key}{f', {record.label}' if record.label else ''}")
    back = html.P(
        [
            "in ",
            dcc.Link(title, href=f"/cycles/{slug}?at={record.palla_s[0]:.3f}"),
            f", at {format_clock(record.palla_s[0], 1)}",
            *_sheet(slug, record, library.archive.has_sound(slug)),
        ],
        className="lede",
    )
    if verdict is None:
        return Page(f"{key} in {title}", [heading, back, html.P("It was rejected, so it has no verdict.")], "Tihais")
    asked = {"slug": slug, "tihai": key}
    has_sound = library.archive.has_sound(slug)
    content = [
        heading,
        back,
        html.P(
            [verdict_mark(verdict.verdict, word=not _says_so(verdict)), " ", words.unbroken(verdict.sentence)],
            className="sentence",
        ),
        _facts(record),
        html.H2("Its run through the cycles"),
        *player(slug, has_sound, play="Play the passage"),
        fold_region(f"The run of tihai {key} through the cycles", tall=False),
        html.Div(
            [
                html.Div(_paper(record, verdict)),
                html.Div(_played(verdict, _matras(library, slug, record), library.archive.has_sound(slug))),
            ],
            className="two-columns",
        ),
        html.H2("The pallas one above the other"),
        place_of(PALLAS, asked, "Reading the sound"),
        html.H2("Stroke by stroke"),
        place_of(STROKES, asked, "Looking for the strokes"),
        html.H2("The same elsewhere"),
        place_of(ELSEWHERE, asked, "Looking through the archive"),
        html.H2("What became of it"),
        place_of(HISTORY, asked, "Reading its history"),
        dcc.Store(id="fold-data", data=library.fold(slug).passage(record)),
    ]
    return Page(f"{key} in {title}", content, "Tihais")


def _sheet(slug: str, record: TihaiRecord, recorded: bool) -> list[Part]:
    """Lead to the practice sheet, the practice sound and to clapping along, where there is enough to practise."""
    if not record.palla or record.dam is None:
        return []
    clap = clap_address(f"{slug}/{record.tihai}", record.tala, recorded=recorded)
    return [
        " · ",
        html.A("Practice sheet", href=sheet_address(slug, record.tihai)),
        " · ",
        dcc.Link("Practice sound", href=page_address(slug, record.tihai, None if recorded else FROM_NOTATION)),
        " · ",
        dcc.Link("Clap along", href=clap),
    ]


def _says_so(verdict: Verdict) -> bool:
    return verdict.sentence.casefold().startswith(words.WORDS[verdict.verdict])


def _facts(record: TihaiRecord) -> Part:
    return facts(
        [
            ("Palla", html.Span(record.palla, className="notation") if record.palla else ""),
            ("Dam", words.matra_number(record.dam)),
            ("Starts on", place(record.start) if record.start is not None else ""),
            ("Aims at", place(record.target)),
            ("Rule", words.RULES[record.rule]),
            ("Kind", record.kind),
            ("Played by", record.played_by),
        ]
    )


def _paper(record: TihaiRecord, verdict: Verdict) -> list[Part]:
    paper = verdict.paper
    if paper is None:
        missing = [
            name
            for name, value in (("the palla", record.palla), ("its dam", record.dam), ("its start", record.start))
            if value is None or value == ""
        ]
        listed = " and ".join(filter(None, [", ".join(missing[:-1]), missing[-1]]))
        verb = "is" if len(missing) == 1 else "are"
        return [html.H2("On paper"), html.P(f"Nothing to sum yet: {listed} {verb} not written down.")]
    parts: list[Part] = [
        html.H2("On paper"),
        html.P(words.unbroken(paper.sum), className="taught-sum"),
        html.Ol([html.Li(words.unbroken(line)) for line in paper.lines if line != paper.sum], className="sum"),
        html.P(words.unbroken(paper.sentence)),
        html.P(dcc.Link("Open it in Compose: hear it over the theka, carry it elsewhere", href=paper_address(paper))),
    ]
    if paper.mends:
        parts += [
            html.H3("The smallest mends"),
            html.Ul([html.Li(words.unbroken(mend.sentence)) for mend in paper.mends], className="mends"),
        ]
    return parts


def _matras(library: Library, slug: str, record: TihaiRecord) -> int:
    section = section_of(record, library.archive.grid(slug))
    return section.tala.matras if section is not None else 0


def _played(verdict: Verdict, matras: int, has_sound: bool) -> list[Part]:
    heading = html.H2("As played")
    if verdict.landing_dev_ms is None:
        return [heading, html.P(verdict.sentence)]
    rows = [
        [
            _name(number, len(verdict.pallas)),
            heard_at(palla.start_s if has_sound else None, format_clock(palla.start_s, 2)),
            words.matra_number(palla.paper_matra),
            words.played_matra(palla.matra, matras),
            words.amount_ms(palla.dev_ms),
        ]
        for number, palla in enumerate(verdict.pallas, 1)
    ]
    played = words.played_matra(verdict.landing_matra_played or 1.0, matras)
    rows.append(
        [
            "landing",
            heard_at(verdict.landing_s if has_sound else None, format_clock(verdict.landing_s, 2)),
            spoken(verdict.target_matra),
            played,
            words.amount_ms(verdict.landing_dev_ms),
        ]
    )
    columns = (
        Column("Statement"),
        Column("At", number=True),
        Column("Paper, matra", number=True),
        Column("Played, matra", number=True),
        Column("Off by", number=True),
    )
    tolerance = f"; within ±{verdict.tolerance_ms:.0f} ms counts as landing" if verdict.tolerance_ms else ""
    return [
        heading,
        table(f"Late is +, early is \N{MINUS SIGN}{tolerance}", columns, rows, cards=False),
        *_evenness(verdict),
        _figure(verdict, has_sound),
    ]


def _evenness(verdict: Verdict) -> list[Part]:
    if len(verdict.spacing_matras) < 2 or verdict.unevenness_ms is None:
        return []
    first, second = verdict.spacing_matras
    even = f"From palla to palla {first:.2f} and {second:.2f} matras: "
    if abs(verdict.unevenness_ms) < 1:
        even += "even to the millisecond."
    else:
        longer = "second" if verdict.unevenness_ms > 0 else "first"
        even += f"the {longer} is {abs(verdict.unevenness_ms):.0f} ms longer."
    if verdict.nearest_period is not None:
        even += f" Palla and dam together are played as {spoken(verdict.nearest_period)} matras."
    return [html.P(even)]


def _figure(verdict: Verdict, has_sound: bool) -> Part | None:
    statements = [
        Statement(_name(number, len(verdict.pallas)), palla.dev_ms, palla.start_s if has_sound else None)
        for number, palla in enumerate(verdict.pallas, 1)
        if palla.dev_ms is not None
    ]
    if not statements:
        return None  # one point is told by the table
    landing_s = verdict.landing_s if has_sound else None
    statements.append(Statement("landing", float(verdict.landing_dev_ms or 0.0), landing_s))
    return drawing(
        "deviations",
        deviation_drawing(statements, verdict.tolerance_ms),
        "How far each palla's start and the landing lie from paper. The band is within what counts as landing.",
    )


def _name(number: int, count: int) -> str:
    return f"palla {number}" if count > 1 else "start"
