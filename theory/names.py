"""Finding a tala, raga or bol by whatever spelling a musician uses.

Indian names have no single Latin spelling, so names are compared after folding the differences that mean nothing:
case, spaces, hyphens, accents, long and short vowels ("taal", "tal"), doubled consonants, "w" and "v", "sh" and "s".
A name of another script is compared as it stands.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Iterable, Mapping
from typing import TypeVar

from theory.errors import BadData, UnknownName

Row = TypeVar("Row")

_SAME_SOUND = (("ee", "i"), ("oo", "u"), ("ou", "au"), ("ow", "au"), ("w", "v"), ("sh", "s"), ("ph", "f"), ("z", "j"))
_LATIN_ACCENTS = re.compile("[\u0300-\u036f]")  # only these: Devanagari vowel signs are combining characters too


def fold(name: str) -> str:
    """Reduce a name to what all its usual spellings share ("Teen-Taal" and "tintal" become the same)."""
    text = _LATIN_ACCENTS.sub("", unicodedata.normalize("NFKD", name)).casefold()
    text = "".join(letter for letter in text if letter.isalnum() or unicodedata.category(letter).startswith("M"))
    for spelling, sound in _SAME_SOUND:
        text = text.replace(spelling, sound)
    return re.sub(r"([a-z])\1", r"\1", text)


def table_of_names(kind: str, rows: Iterable[tuple[Row, Iterable[str]]]) -> dict[str, Row]:
    """Map every folded name to its row.

    Raises
    ------
    BadData
        When two rows claim the same name.
    """
    table: dict[str, Row] = {}
    for row, names in rows:
        for name in names:
            if table.setdefault(fold(name), row) is not row:
                raise BadData(f"Two {kind}s are called '{name}': give one of them another alias.")
    return table


def find(kind: str, name: str, table: Mapping[str, Row], shown: Mapping[str, str], suffix: str = "") -> Row:
    """Look a name up in a table of folded names.

    Parameters
    ----------
    kind : str
        What is looked for, as the user calls it: "tala", "raga".
    name : str
        As typed.
    table : mapping of folded name to row
        From :func:`table_of_names`.
    shown : mapping of folded name to str
        How each name is written when it is offered to the user.
    suffix : str
        A word that may be added or left out ("tal": "rupak taal" finds Rupak).

    Raises
    ------
    UnknownName
        When no row has the name; offers up to three of the nearest.
    """
    folded = fold(name)
    for candidate in (folded, folded + suffix, folded.removesuffix(suffix)):
        if candidate in table:
            return table[candidate]
    close = difflib.get_close_matches(folded, table, n=6, cutoff=0.6)
    nearest = list(dict.fromkeys(shown[key] for key in close))[:3]
    raise UnknownName(kind, name, nearest, known=list(dict.fromkeys(shown.values()))[:6])
