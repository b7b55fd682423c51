"""What a list of labels can hold of a recording: a start, an end and a line of text for each row.

Conventions: times are seconds from the start of the recording; a sam lasts no time. The text begins with the word for
its row, and what is not its name or its notation stands in brackets (notation holds none)::

    section Drut gat (gat, teental)
    sam 12
    sam 13 (counted)                    marked, but its avartan counted by the grid
    sam 14 (tracked)                    not marked at all
    tihai t03: S R G m P (five, three times)
    phrase p07: R m P (mukhra)

:mod:`annotate.exchange.spans_in` reads it back.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection
from dataclasses import dataclass

from annotate.cells import NO_TALA, TABLES
from annotate.grid import RecordingGrid
from annotate.state import State

LEFT_OUT = (
    "of a tihai the starts of its second and third palla, tala, start, dam, rule, target, who plays it, status and "
    "kind; of every row who wrote it down and when; the recording's title, musicians, date and Sa"
)
"""What a list of labels cannot hold."""

TRACKED, COUNTED = "tracked", "counted"


@dataclass(frozen=True)
class Span:
    """A stretch of the recording with its label; ``end_s`` equals ``start_s`` for a moment."""

    start_s: float
    end_s: float
    label: str


def spans_of(state: State, grid: RecordingGrid, tables: Collection[str] = TABLES) -> list[Span]:
    """Return sections, sams (marked and tracked), tihais that are not rejected, and phrases, in order of time."""
    spans: list[Span] = []
    if "sections" in tables:
        spans += [
            Span(each.start_s, each.end_s, _line("section", each.section, f"({each.kind}, {each.tala or NO_TALA})"))
            for each in state.sections
        ]
    if "sams" in tables:
        numbered = {(each.section, each.sam_s) for each in state.marked_sams if each.cycle is not None}
        for part in grid.sections:
            sams = zip(part.sam_s.tolist(), part.sam_cycle.tolist(), part.sam_source, strict=True)
            for sam_s, cycle, source in sams:
                counted = "" if (part.section, sam_s) in numbered else COUNTED
                note = TRACKED if source != "marked" else counted
                spans.append(Span(sam_s, sam_s, _line("sam", str(cycle), _bracketed(note))))
    if "tihais" in tables:
        spans += [
            Span(each.palla_s[0], each.landing_s, _line("tihai", _key(each.tihai), each.palla, _bracketed(each.label)))
            for each in state.tihais
            if each.status != "rejected"
        ]
    if "phrases" in tables:
        spans += [
            Span(each.start_s, each.end_s, _line("phrase", _key(each.phrase), each.swaras, _bracketed(each.role)))
            for each in state.phrases
        ]
    return sorted(spans, key=lambda each: (each.start_s, -each.end_s, each.label))


def _key(key: str) -> str:
    """Return a key with its colon; one that could not be told from what follows is left out."""
    return f"{key}:" if re.fullmatch(r"[^\s:(]+", key) else ":"


def _bracketed(text: str) -> str:
    return f"({text})" if text else ""


def _line(*parts: str) -> str:
    """Join the parts that are filled into one line; line ends, tabs and control characters become spaces."""
    text = " ".join(part for part in parts if part)
    plain = "".join(" " if unicodedata.category(sign) in ("Cc", "Zl", "Zp") else sign for sign in text)
    return " ".join(plain.split())
