"""Tihais and phrases as notes in played time.

A palla begins where it was played, and its notes follow on the grid; the last note of a tihai counted within is its
landing, where it was played. A tihai of which only the interval is known is spread over it by its arithmetic, and a
phrase evenly from its start to its end. Times are seconds from the start of the recording.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction

from annotate.grid import Grid
from annotate.records import PhraseRecord, TihaiRecord
from theory.notation import parse
from theory.passage import Note, Passage
from theory.tihai import LandingRule, Tihai, landing_offset


@dataclass(frozen=True)
class Sounding:
    """A note where it was played; ``lands`` for the landing of a tihai."""

    symbol: str
    start_s: float
    end_s: float
    lands: bool = False


def of_phrase(record: PhraseRecord) -> tuple[Passage, list[Sounding]]:
    """Return a phrase's notation and its notes, in the order of the notation."""
    passage = parse(record.swaras)
    matra_s = (record.end_s - record.start_s) / float(passage.length)
    return passage, [_note(each, record.start_s, matra_s) for each in passage.notes]


def of_tihai(record: TihaiRecord, grid: Grid | None) -> tuple[Passage, list[Sounding]]:
    """Return the notation of a tihai's palla and the notes of all three, one palla after the other.

    Parameters
    ----------
    record : TihaiRecord
    grid : Grid, optional
        Of the section it stands in.

    Returns
    -------
    passage, notes
        No notes where no palla is written, or where only the interval is known and not the dam.
    """
    passage = parse(record.palla)
    starts = _starts(record, passage)
    if not passage.notes or not starts:
        return passage, []
    pace_s = (starts[2] - starts[0]) / 2 / float(passage.length + (record.dam or 0))
    notes: list[Sounding] = []
    for number, start_s in enumerate(starts):
        place = _on_grid(grid, start_s) if grid is not None and len(record.palla_s) == 3 else _even(start_s, pace_s)
        palla = [Sounding(each.symbol, place(each.onset), place(each.end)) for each in passage.notes]
        end_s = starts[number + 1] if number < 2 else float("inf")
        notes += [replace(each, end_s=min(each.end_s, end_s)) for each in palla if each.start_s < end_s]
    if record.rule == LandingRule.WITHIN:
        last = notes[-1]
        if len(notes) < 2 or notes[-2].start_s < record.landing_s:
            notes[-1] = Sounding(last.symbol, record.landing_s, record.landing_s + last.end_s - last.start_s, True)
            notes[-2:-1] = [replace(each, end_s=min(each.end_s, record.landing_s)) for each in notes[-2:-1]]
    return passage, notes


def _starts(record: TihaiRecord, passage: Passage) -> tuple[float, ...]:
    """Return where the three pallas begin; nothing where that is not known."""
    if len(record.palla_s) == 3 or not passage.notes:
        return record.palla_s if passage.notes else ()
    if record.dam is None:
        return ()
    start_s = record.palla_s[0]
    offset = landing_offset(Tihai(passage, record.dam), record.rule)
    step_s = (record.landing_s - start_s) * float((passage.length + record.dam) / offset)
    return tuple(start_s + number * step_s for number in range(3))


def _on_grid(grid: Grid, start_s: float) -> Callable[[Fraction], float]:
    start = float(grid.absolute(start_s))
    return lambda onset: grid.time_of(1, start + float(onset) + 1.0)


def _even(start_s: float, matra_s: float) -> Callable[[Fraction], float]:
    return lambda onset: start_s + float(onset) * matra_s


def _note(note: Note, start_s: float, matra_s: float) -> Sounding:
    return Sounding(note.symbol, start_s + float(note.onset) * matra_s, start_s + float(note.end) * matra_s)
