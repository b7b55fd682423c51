"""Annotations as the cells of plain tables: the columns that are written, and that are read back exactly.

Times are seconds with as many decimals as they need, so that the same float comes back; matra counts are ``n/d``; a
section without a tala says ``none``, since an empty cell says nothing. What a table leaves out: who wrote a row down
and when, and its history.
"""

from __future__ import annotations

from decimal import Decimal

from annotate.records import MarkedSam, PhraseRecord, Record, Section, TihaiRecord
from theory.numbers import stored

COLUMNS = {
    "sections": ("section", "start_s", "end_s", "kind", "tala"),
    "sams": ("section", "cycle", "sam_s"),
    "tihais": (
        "tihai", "start_s", "second_s", "third_s", "landing_s", "tala", "start", "palla", "dam", "rule", "target",
        "played_by", "status", "label", "kind",
    ),
    "phrases": ("phrase", "start_s", "end_s", "swaras", "role"),
}  # fmt: skip
"""The columns of each table that may be loaded."""

TABLES = tuple(COLUMNS)
NO_TALA = "none"


def seconds(time_s: float) -> str:
    """Write a time so that the same float is read back, without an exponent."""
    return format(Decimal(repr(float(time_s))), "f")


def cells_of(record: Record) -> dict[str, str]:
    """Return a record as cells; what is not known is empty."""
    match record:
        case Section():
            return {
                "section": record.section,
                "start_s": seconds(record.start_s),
                "end_s": seconds(record.end_s),
                "kind": record.kind,
                "tala": record.tala or NO_TALA,
            }
        case MarkedSam():
            cycle = "" if record.cycle is None else str(record.cycle)
            return {"section": record.section, "cycle": cycle, "sam_s": seconds(record.sam_s)}
        case TihaiRecord():
            starts = [seconds(each) for each in record.palla_s]
            second, third = starts[1:] if len(starts) == 3 else ("", "")
            return {
                "tihai": record.tihai,
                "start_s": starts[0],
                "second_s": second,
                "third_s": third,
                "landing_s": seconds(record.landing_s),
                "tala": record.tala,
                "start": "" if record.start is None else stored(record.start),
                "palla": record.palla,
                "dam": "" if record.dam is None else stored(record.dam),
                "rule": record.rule.value,
                "target": stored(record.target),
                "played_by": record.played_by,
                "status": record.status,
                "label": record.label,
                "kind": record.kind,
            }
        case PhraseRecord():
            return {
                "phrase": record.phrase,
                "start_s": seconds(record.start_s),
                "end_s": seconds(record.end_s),
                "swaras": record.swaras,
                "role": record.role,
            }
    raise TypeError(f"{type(record).__name__} has no table that may be loaded")
