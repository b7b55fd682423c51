"""Spans from elsewhere as rows of the tables: what their labels say.

A label as :mod:`annotate.exchange.spans` writes it is read as that row, and where no table is named so is any that
begins with the word for a row (``section Alap``, ``sam``, ``tihai in the drut``, ``phrase R m P``). Any other label
becomes a row of the table that is named:

* sections: the label is the name, and tells kind and tala as in a CSV file; a name that comes again gets a number.
* sams: the start counts; a label that is a number is that of the avartan.
* tihais: from the first stroke to the landing; the label is kept as its label.
* phrases: the label is the phrase's swaras, and in brackets behind them its role.

A sam that was tracked is passed over: it follows from the sound and the marks, and nobody marked it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from annotate.cells import TABLES, seconds
from annotate.csv_read import Row
from annotate.exchange.spans import COUNTED, TRACKED, Span
from annotate.records import WORD_FOR

Cells = dict[str, str]

_TABLE_OF_WORD = {WORD_FOR[table]: table for table in TABLES}
_WORDED = re.compile(rf"({'|'.join(_TABLE_OF_WORD)})\b\s*(.*)", re.DOTALL)
_SECTION = re.compile(r"(?P<section>.+?) \((?P<kind>[^()]+), (?P<tala>[^(),]+)\)", re.DOTALL)
_SAM = re.compile(r"(?P<cycle>-?\d{1,7})(?: \((?P<note>" + f"{TRACKED}|{COUNTED}" + r")\))?")


@dataclass(frozen=True)
class Found:
    """A span where it stands: ``number`` is the line, or ``place`` says it in a file without lines."""

    span: Span
    number: int
    place: str = ""


@dataclass(frozen=True)
class Read:
    """The rows of each table, and what was passed over: how many of what."""

    rows: dict[str, list[Row]]
    passed_over: dict[str, int]


def rows_of(file: str, found: Iterable[Found], table: str | None, within_s: float) -> Read:
    """Return the rows that spans stand for.

    Parameters
    ----------
    file : str
        The file's name, for messages.
    found : iterable of Found
    table : str, optional
        What a label without a word of ours becomes.
    within_s : float
        The resolution of the file, in seconds.

    Raises
    ------
    BadTable
        A label that is none of these; names the line.
    """
    rows: dict[str, list[Row]] = {}
    names: set[str] = set()
    last_number: dict[str, int] = {}
    tracked = 0
    for each in found:
        blank = Row(file, each.number, {}, within_s, each.place)
        to, cells = _read(each.span, table, blank)
        if cells is None:
            tracked += 1
            continue
        if to == "sections" and not _is_ours(each.span.label):
            cells["section"] = _numbered(cells["section"], names, last_number)
        names.add(cells.get("section", ""))
        rows.setdefault(to, []).append(Row(file, each.number, cells, within_s, each.place))
    return Read(rows, {"tracked sams": tracked} if tracked else {})


def _full(word: str, rest: str) -> dict[str, str]:
    """Return what a label says that is written in full, as we write it; nothing for any other."""
    if word in ("section", "sam"):
        found = (_SECTION if word == "section" else _SAM).fullmatch(rest)
        return found.groupdict("") if found else {}
    key, colon, text = rest.partition(":")
    notation, bracket, note = text.partition("(")
    if not colon or any(sign.isspace() or sign == "(" for sign in key) or (bracket and not note.endswith(")")):
        return {}
    return {"key": key, "notation": notation.strip(), "note": note.removesuffix(")")}


def _is_ours(label: str) -> bool:
    """Tell whether a label is written in full."""
    worded = _WORDED.fullmatch(label)
    return worded is not None and bool(_full(worded[1], worded[2]))


def _read(span: Span, table: str | None, blank: Row) -> tuple[str, Cells | None]:
    """Return the table and the cells of a span; no cells for a tracked sam."""
    worded = _WORDED.fullmatch(span.label)
    if worded is not None and (table is None or _is_ours(span.label)):
        return _TABLE_OF_WORD[worded[1]], _worded(worded[1], worded[2], span)
    if table is None:
        raise blank.bad(
            "label",
            f"'{_short(span.label)}' begins with none of section, sam, tihai, phrase. "
            "Say with --table what such labels are.",
        )
    return table, _plain(table, span)


def _worded(word: str, rest: str, span: Span) -> Cells | None:
    """Return the cells of a label that says what it is; None for a tracked sam."""
    told = _full(word, rest)
    match word:
        case "section":
            return _times(span) | (told or {"section": rest})
        case "sam":
            if told.get("note") == TRACKED:
                return None
            return {"sam_s": seconds(span.start_s), "cycle": "" if told.get("note") else told.get("cycle", "")}
        case "tihai" if told:
            return _times(span) | {"tihai": told["key"], "palla": told["notation"], "label": told["note"]}
        case "phrase" if told:
            return _times(span) | {"phrase": told["key"], "swaras": told["notation"], "role": told["note"]}
    return _plain(_TABLE_OF_WORD[word], replace(span, label=rest.lstrip(": ")))


def _plain(table: str, span: Span) -> Cells:
    """Return the cells of a label in words of somebody else's."""
    match table:
        case "sections":
            return _times(span) | {"section": span.label}
        case "sams":
            number = _SAM.match(span.label.strip())
            return {"sam_s": seconds(span.start_s), "cycle": number["cycle"] if number else ""}
        case "tihais":
            return _times(span) | {"label": span.label}
    swaras, _, role = span.label.partition("(")
    return _times(span) | {"swaras": swaras.strip(), "role": role.strip().removesuffix(")")}


def _times(span: Span) -> Cells:
    """Start and end; a tihai's end, which is its landing, may stand under the same name."""
    return {"start_s": seconds(span.start_s), "end_s": seconds(span.end_s)}


def _numbered(name: str, names: set[str], last_number: dict[str, int]) -> str:
    """Return a name that no section before has: itself, or with the next number."""
    if name not in names:
        return name
    number = last_number.get(name, 1) + 1
    while f"{name} {number}" in names:
        number += 1
    last_number[name] = number
    return f"{name} {number}"


def _short(text: str) -> str:
    return text if len(text) <= 60 else text[:57] + "..."
