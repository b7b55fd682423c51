"""Instances: the places that a number counts, each to be heard at once and to be opened in its performance.

Conventions: what is counted stands in the address, as :func:`annotate.statistics.instances.instances` takes it; a
``pattern`` in its place is a search for swaras anywhere in a phrase.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, cast
from urllib.parse import quote, urlencode

import pandas as pd
from dash import dcc, html

from annotate.search.phrases import PhraseSearch, find_phrases
from annotate.statistics.counted import KINDS, Of
from annotate.statistics.instances import instances
from annotate.statistics.lines import LONGEST_NGRAM
from annotate.statistics.performances import By
from dashboard import words
from dashboard.library import Library
from dashboard.pages.counted_words import BY_WORDS, NO_ROLE, raga_address, raga_words, swara_name
from dashboard.pages.page import Page
from dashboard.parts import Column, Part, choices, empty, table
from dashboard.passages import LONGEST_MS
from dashboard.sheets.asked import sheet_address
from dashboard.sounds.asked import FROM_NOTATION, page_address
from theory.clock import format_clock
from theory.errors import UnknownName
from theory.talas import get_tala

PAGE = 25
_ASKED = ("raga", "of", "item", "length", "role", "by", "value", "pattern")


def page(library: Library, wanted: Mapping[str, str]) -> Page:
    """List the places that an address counts.

    Raises
    ------
    theory.errors.LayakoshError
        A raga or pattern that cannot be found or read.
    """
    raga = wanted.get("raga", "")
    found = _found(library, wanted)
    heading = html.H1(_heading(wanted))
    pages = max(1, math.ceil(len(found) / PAGE))
    text = wanted.get("page", "")
    number = min(max(1, int(text) if text.isdecimal() and len(text) < 9 else 1), pages)
    rows = found.iloc[(number - 1) * PAGE : number * PAGE].to_dict("records")
    sounding = {slug: library.archive.has_sound(slug) for slug in {row["recording"] for row in rows}}
    back = html.P(dcc.Link(f"back to {raga_words(raga)}", href=raga_address(raga)) if raga else "", className="lede")
    if not rows:
        return Page(
            "Instances",
            [
                heading,
                back,
                empty("Nothing is written down here", html.P("The archive has no such place any more, or never had.")),
            ],
            "Phrases",
        )
    caption = f"{len(found)} place{'' if len(found) == 1 else 's'}" + (
        f", page {number} of {pages}" if pages > 1 else ""
    )
    columns = [Column("Performance"), Column("Hear"), Column("At", number=True), Column("Phrase"), Column("Role")]
    columns += [Column("Begins on"), Column("Played on"), Column("To practise")]
    content = [
        heading,
        back,
        table(caption, columns, [_row(row, sounding[row["recording"]]) for row in rows]),
        *_pages(wanted, number, pages),
    ]
    return Page("Instances", content, "Phrases")


def of_of(wanted: Mapping[str, str]) -> Of:
    """Return what an address counts; phrases where it names nothing known."""
    of = wanted.get("of", "")
    return cast("Of", of) if of in KINDS else "phrases"


def _found(library: Library, wanted: Mapping[str, str]) -> pd.DataFrame:
    raga = wanted.get("raga", "")
    if wanted.get("pattern"):
        search = PhraseSearch(swaras=wanted["pattern"], anywhere=True, raga=raga)
        rows = find_phrases(library.archive, search)
        about = library.archive.index("recordings", ["recording", "title", "performed_on"])
        return rows.merge(about, on="recording") if len(rows) else rows
    length, by = wanted.get("length", ""), wanted.get("by", "")
    return instances(
        library.archive,
        raga,
        of_of(wanted),
        wanted.get("item", ""),
        length=int(length) if length in {str(each) for each in range(1, LONGEST_NGRAM + 1)} else 3,
        role="" if wanted.get("role") == NO_ROLE else wanted.get("role"),
        by=cast("By", by) if by in BY_WORDS else "",
        value=wanted.get("value", ""),
    )


def _heading(wanted: Mapping[str, str]) -> str:
    raga, item, of = raga_words(wanted.get("raga", "")), wanted.get("item", ""), of_of(wanted)
    if wanted.get("pattern"):
        return f"{wanted['pattern']} in {raga}"
    match of:
        case "swaras" | "heard":
            told = f"Where {item} ({swara_name(item)}) {'sounds' if of == 'heard' else 'is written'}"
        case "endings":
            told = f"Phrases that end on {item}"
        case "places":
            tala, _, matra = item.rpartition(" ")
            told = f"Phrases that begin on matra {matra} of {words.tala_name(tala)}"
        case "roles":
            told = f"Phrases with {item}" if item == NO_ROLE else f"Phrases in the role {item}"
        case _:
            told = item
    value = f", {wanted['value']}" if wanted.get("value") else ""
    return f"{told} in {raga}{value}"


def _row(row: Mapping[Any, Any], has_sound: bool) -> list[Part]:
    slug, start_s, end_s = row["recording"], float(row["start_s"]), float(row["end_s"])
    title = row["title"] or slug
    key = row.get("phrase") or (row["unit"] if row["swaras"] else "")  # a minute of sound is no phrase
    matra = row["matra"]
    begins = "" if pd.isna(matra) or not row["tala"] else _begins(float(matra), row["tala"])
    when = pd.Timestamp(row["performed_on"]) if not pd.isna(row["performed_on"]) else None
    hear: Part = "no sound"
    if has_sound:
        hear = hear_button(slug, title, start_s, end_s)
    return [
        dcc.Link(title, href=f"/cycles/{slug}?at={start_s:.3f}", title="Open it at this very place"),
        hear,
        format_clock(start_s, 1),
        html.Span(row["swaras"], className="notation"),
        row["role"] or "",
        begins,
        words.day(when.date()) if when is not None else "",
        html.Span(_practise(slug, str(key), has_sound)) if key else "",
    ]


def _practise(slug: str, key: str, has_sound: bool) -> list[Part]:
    return [
        html.A("Practice sheet", href=sheet_address(slug, key)),
        " · ",
        dcc.Link("Practice sound", href=page_address(slug, key, None if has_sound else FROM_NOTATION)),
    ]


def _begins(matra: float, tala: str) -> str:
    """Say where in its tala a phrase begins; a hair before sam is on it."""
    try:
        found = get_tala(tala)
    except UnknownName:
        return f"matra {f'{matra:.1f}'.removesuffix('.0')} of {tala}"
    return f"matra {words.about_matra(matra, found.matras)} of {found.name}"


def hear_button(slug: str, title: str, start_s: float, end_s: float) -> Part:
    """Make a button that plays a stretch of a recording (``assets/window/instance.mjs``)."""
    told = {"data-hear": sound_address(slug, start_s, end_s), "aria-pressed": "false"}
    told["aria-label"] = f"Hear {title} at {format_clock(start_s, 1)}"
    return html.Button("Hear", type="button", className="plays", **told)


def sound_address(slug: str, start_s: float, end_s: float) -> str:
    """Return where a stretch of a recording is heard: as a passage, or, being too long, as a part of the whole."""
    from_ms, to_ms = math.floor(1000 * start_s), math.ceil(1000 * end_s)
    if to_ms - from_ms <= LONGEST_MS:
        return f"/passage/{quote(slug)}?from_ms={from_ms}&to_ms={to_ms}&speed=100"
    return f"/sound/{quote(slug)}#t={start_s:.3f},{end_s:.3f}"


def _pages(wanted: Mapping[str, str], number: int, pages: int) -> list[Part]:
    if pages < 2:
        return []
    kept = {name: wanted[name] for name in _ASKED if wanted.get(name) is not None}
    near = sorted(each for each in {1, pages, *range(number - 2, number + 3)} if 1 <= each <= pages)
    options = [(str(each), f"/instances?{urlencode({**kept, 'page': each})}", None, each == number) for each in near]
    return [choices("Pages", options)]
