"""What people's labels say: the tala and kind of a section, the key of a raga.

Labels come from people: "Vilambit teental (16 beats)", "Drut gat in jhap tal", "Alap".
"""

from __future__ import annotations

import re

from theory.errors import UnknownName
from theory.names import fold
from theory.ragas import get_raga
from theory.talas import all_talas

KINDS = ("alap", "jor", "jhala", "tabla solo", "gat", "talk", "tuning", "applause")
"""Kinds of section that a label may name, the trade's words; another may be written."""


def tala_in(label: str) -> str:
    """Return the key of the tala that a label names, the longest name first; empty when it names none."""
    words = [fold(word) for word in re.findall(r"[^\W\d_]+", label)]
    runs = {"".join(words[first:last]) for first in range(len(words)) for last in range(first + 1, len(words) + 1)}
    found = [
        (len(fold(name)), tala.key)
        for tala in all_talas()
        for name in (tala.key, tala.name, *tala.aliases)
        if fold(name) in runs
    ]
    return max(found)[1] if found else ""


def kind_in(label: str, tala: str) -> str:
    """Return the kind that a label names; lacking that, ``gat`` in a tala and ``alap`` outside any."""
    text = label.casefold()
    named = next((kind for kind in KINDS if re.search(rf"\b{kind}\b", text)), None)
    return named or ("gat" if tala else "alap")


def raga_key(raga: str) -> str:
    """Return the key of a raga in the table, or the text itself, trimmed: a raga of one's own is allowed."""
    try:
        return get_raga(raga).key
    except UnknownName:
        return raga.strip()


def raga_name(raga: str) -> str:
    """Return the name for people of a raga kept by its key, or the text itself."""
    try:
        return get_raga(raga).name
    except UnknownName:
        return raga
