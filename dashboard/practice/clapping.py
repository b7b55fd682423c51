"""What the page for clapping along offers: whose tihai, how it sounds, what is under it, which strokes are clapped."""

from __future__ import annotations

from typing import Any

from annotate.search.tihais import TihaiSearch, find_tihais
from dashboard import words
from dashboard.composing.shown import Choice, tala_choices
from dashboard.library import Library
from dashboard.practice.asked import ARCHIVE, SOUNDS, SPEEDS, TAPS, UNDERS, Clapped
from dashboard.practice.shown import whose_of
from theory.exercises.wishes import LEVELS

MOST_LISTED = 300
"""Tihais of the archive that are offered by name; any other is given as RECORDING/ROW in the address."""


def form_of(library: Library, asked: Clapped) -> dict[str, Any]:
    """Return what the form offers and holds."""
    fields = asked.fields
    of_the_archive = fields["whose"] == ARCHIVE
    pieces = _pieces(library, asked) if of_the_archive and asked.wishes is not None else []
    return {
        "fields": fields,
        "talas": tala_choices(fields["tala"]),
        "whose": whose_of(fields["whose"]),
        "of_the_archive": of_the_archive,
        "pieces": pieces,
        "levels": [Choice(str(each), str(each), str(each) == fields["level"]) for each in LEVELS],
        "rules": [Choice(str(rule), text, str(rule) == fields["by"]) for rule, text in words.RULES.items()],
        "sounds": _choices(SOUNDS, fields["sound"]),
        "speeds": [Choice(each, f"{each} %", each == fields["speed"]) for each in SPEEDS],
        "unders": _choices(UNDERS, fields["under"]),
        "taps": _choices(TAPS, fields["taps"]),
        "recorded": of_the_archive and fields["sound"] == "recording",
    }


def _choices(offered: dict[str, str], chosen: str) -> list[Choice]:
    return [Choice(value, told, value == chosen) for value, told in offered.items()]


def _pieces(library: Library, asked: Clapped) -> list[Choice]:
    """Return the tihais of the archive in the tala that have a palla and a dam, in order of recording and time."""
    archive, tala = library.archive, asked.fields["tala"]
    with library.reading_tables, archive.one_look():
        rows = find_tihais(archive, TihaiSearch(tala=tala))
        about = archive.index("recordings", ["recording", "title"])
    titles = dict(zip(about["recording"], about["title"], strict=True))
    whole = rows[rows["dam"].notna() & (rows["palla"] != "")].head(MOST_LISTED)
    chosen = asked.fields["piece"]
    listed = [
        (f"{slug}/{key}", f"{titles.get(slug) or slug}, {key}: {palla}")
        for slug, key, palla in zip(*(whole[name].tolist() for name in ("recording", "tihai", "palla")), strict=True)
    ]
    if chosen and chosen not in dict(listed):
        listed.insert(0, (chosen, chosen))
    return [Choice("", "choose a tihai", not chosen), *(Choice(each, told, each == chosen) for each, told in listed)]
