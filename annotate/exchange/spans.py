"""What a list of labels can hold of a recording: a start, an end and a line of text for each row.

Conventions: times are seconds from the start of the recording. A sam lasts no time. The text begins with the word for
its row: ``section``, ``sam``, ``tihai``, ``phrase``.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass

from annotate.grid import RecordingGrid
from annotate.state import State

LEFT_OUT = (
    "of a section its kind; of a tihai the starts of its second and third palla, rule, target, status and kind; "
    "of every row who wrote it down and when; the recording's title, musicians, date and Sa"
)
"""What a list of labels cannot hold."""


@dataclass(frozen=True)
class Span:
    """A stretch of the recording with its label; ``end_s`` equals ``start_s`` for a moment."""

    start_s: float
    end_s: float
    label: str


def spans_of(state: State, grid: RecordingGrid) -> list[Span]:
    """Return sections, sams (marked and tracked), tihais that are not rejected, and phrases, in order of time."""
    spans = [Span(each.start_s, each.end_s, _line("section", each.section)) for each in state.sections]
    for part in grid.sections:
        sams = zip(part.sam_s.tolist(), part.sam_cycle.tolist(), strict=True)
        spans += [Span(sam_s, sam_s, f"sam {cycle}") for sam_s, cycle in sams]
    spans += [
        Span(each.palla_s[0], each.landing_s, _line("tihai", each.tihai, each.palla, each.label))
        for each in state.tihais
        if each.status != "rejected"
    ]
    spans += [Span(each.start_s, each.end_s, _line("phrase", each.swaras, each.role)) for each in state.phrases]
    return sorted(spans, key=lambda each: (each.start_s, -each.end_s, each.label))


def _line(*parts: str) -> str:
    """Join the parts that are filled into one line; line ends, tabs and control characters become spaces."""
    text = " ".join(part for part in parts if part)
    plain = "".join(" " if unicodedata.category(sign) in ("Cc", "Zl", "Zp") else sign for sign in text)
    return " ".join(plain.split())
