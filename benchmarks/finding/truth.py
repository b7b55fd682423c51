"""What is true of a concert for the finder, beside `benchmarks.concerts.truth`, and how it is kept (JSON)."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from fractions import Fraction
from pathlib import Path

from benchmarks.concerts.truth import Truth, read_truth, write_truth
from benchmarks.finding.events import TRUE_KINDS, Event


@dataclass(frozen=True)
class EventTruth:
    """An event as played.

    Attributes
    ----------
    section : int
        Number of the section, from 0.
    what, by, target : str
        As in `events.Event`.
    lands : bool
        False where it misses what it is aimed at, on paper and as played.
    transposed : bool
    palla, dam, unit : str
        Fractions ``n/d`` of matras; the palla up to its landing stroke.
    statement_s : tuple of float
        The pulse's times of the statements' starts.
    landing_s : float
    """

    section: int
    what: str
    by: str
    target: str
    lands: bool
    transposed: bool
    palla: str
    dam: str
    unit: str
    statement_s: tuple[float, ...]
    landing_s: float

    @property
    def is_tihai(self) -> bool:
        """Whether it is said three times and lands."""
        return self.what in TRUE_KINDS

    @property
    def period(self) -> Fraction:
        """From statement to statement, in matras."""
        return Fraction(self.palla) + Fraction(self.dam)


def event_truth(section: int, event: Event, statement_s: tuple[float, ...], landing_s: float) -> EventTruth:
    """What is true of an event, its times known."""
    return EventTruth(
        section, event.what, event.by, event.target, event.what != "misses", any(event.shifts), str(event.palla),
        str(event.dam), str(event.unit), statement_s, landing_s,
    )  # fmt: skip


def write(path: Path, truth: Truth, events: list[EventTruth]) -> None:
    """Write both; the concert's truth last, which says that all is there."""
    path.with_suffix(".events.json").write_text(json.dumps([asdict(event) for event in events]), encoding="utf-8")
    write_truth(path, truth)


def read(path: Path) -> tuple[Truth, list[EventTruth]]:
    """Read what `write` wrote."""
    events = json.loads(path.with_suffix(".events.json").read_text(encoding="utf-8"))
    return read_truth(path), [EventTruth(**{**event, "statement_s": tuple(event["statement_s"])}) for event in events]
