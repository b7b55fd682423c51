"""Words and addresses for what is counted: the links that lead from a number to the places it counts."""

from __future__ import annotations

import math
from collections.abc import Mapping
from urllib.parse import quote, urlencode

from dash import dcc

from annotate.labels import raga_key
from annotate.statistics.counted import Of
from annotate.statistics.performances import By
from dashboard import words
from dashboard.parts import Part
from theory.swaras import all_swaras

OF_WORDS: Mapping[Of, str] = {
    "phrases": "phrases",
    "roles": "roles of phrases",
    "ngrams": "turns of three swaras",
    "swaras": "time of each swara, as written",
    "heard": "time of each swara, as heard",
    "endings": "swaras that phrases end on",
    "places": "matras that phrases begin on",
}
NO_ROLE = "no role"
"""Stands for a phrase without a role, in addresses and where roles are counted."""
BY_WORDS: Mapping[By, str] = {
    "performance": "by performance",
    "year": "by year",
    "instrument": "by instrument",
    "musician": "by musician",
}


def raga_address(raga: str) -> str:
    """Return the address of a raga's page; its variants have one page with it."""
    return f"/ragas/{quote(raga_key(raga) or raga, safe='')}"


def raga_words(raga: str) -> str:
    """Name a raga, or say that none is named."""
    return words.raga_name(raga) or "no raga named"


def instances_address(raga: str, of: Of, item: str, **more: str) -> str:
    """Return the address of the list of instances of an item; ``more``: length, role, by, value."""
    return f"/instances?{urlencode({'raga': raga, 'of': of, 'item': item, **more})}"


def number_link(text: str, href: str, what: str) -> Part:
    """Make a number into a link to the places it counts; ``what`` is said of it to whoever cannot see the row."""
    return dcc.Link(text, href=href, title=f"Hear {what}")


def swara_words(letter: str, leading: Mapping[str, str] | None = None) -> str:
    """Return a swara's letter with its role in the raga: ``"R vadi"``."""
    role = (leading or {}).get(letter, "")
    return f"{letter} {role}" if role else letter


def swara_name(letter: str) -> str:
    """Return a swara's full name: "komal gandhar"."""
    return next((each.full for each in all_swaras() if each.letter == letter), letter)


def percent(share: float) -> str:
    """Write a share; small ones keep two digits."""
    if math.isnan(share):
        return ""
    return f"{share:.1%}" if share >= 0.01 or share == 0 else f"{share:.2%}"
