"""Stretches of a recording with and without tabla.

What sounds like a tabla, and where it begins and ends to the stroke, is told by `section_kinds`; here stretches that a
short rest divides are joined. A judgement by balance may be wrong: sections are there to be edited.
"""

from __future__ import annotations

from dataclasses import dataclass

from ingest.evidence import Evidence
from ingest.section_kinds import TablaStretch, divide
from ingest.tabla_edges import LEAST_REST_S

LEAD_OUT_S = 0.3  # a stroke sounds: a stretch ends a little after the last one


@dataclass(frozen=True)
class Stretch:
    """A stretch of the recording, seconds from its start."""

    start_s: float
    end_s: float
    with_tabla: bool


def stretches(evidence: Evidence) -> list[Stretch]:
    """Divide a recording into stretches with and without tabla.

    Parameters
    ----------
    evidence : Evidence

    Returns
    -------
    list of Stretch
        In order, without gaps, from 0 to the recording's end; neighbours differ. One with tabla lasts from its first
        stroke to its last.
    """
    division = divide(evidence)
    spans: list[tuple[float, float]] = []
    for part in division.parts if division else ():
        if isinstance(part, TablaStretch):
            starts_s = [part.first_stroke_s, *(rest[1] for rest in part.rests_s)]
            ends_s = [*(rest[0] for rest in part.rests_s), part.last_stroke_s]
            for start_s, end_s in zip(starts_s, ends_s, strict=True):
                end_s = min(end_s + LEAD_OUT_S, evidence.duration_s)
                if spans and start_s - spans[-1][1] < LEAST_REST_S - LEAD_OUT_S:
                    start_s = spans.pop()[0]
                spans.append((start_s, end_s))
    found: list[Stretch] = []
    at_s = 0.0
    for first_s, last_s in spans:
        if first_s > at_s:
            found.append(Stretch(at_s, first_s, with_tabla=False))
        found.append(Stretch(max(first_s, at_s), last_s, with_tabla=True))
        at_s = last_s
    if at_s < evidence.duration_s or not found:
        found.append(Stretch(at_s, evidence.duration_s, with_tabla=False))
    return found
