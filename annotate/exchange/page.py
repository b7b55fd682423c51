"""A score laid out in bars: which notes and rests are printed where, and what stands above them.

Conventions: places are counted in matras from the first bar, which begins on sam (with repeat signs: with the palla).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import accumulate, pairwise

from annotate.exchange.printed_notes import Event, Printed, printed
from annotate.exchange.score import Repeats, Score, Stretch, with_signs
from theory.passage import Note


@dataclass(frozen=True)
class Bar:
    """A bar: where it begins, its vibhags in matras, and the repeat signs at its ends."""

    start: Fraction
    groups: tuple[Fraction, ...]
    repeat_begins: bool = False
    repeat_ends: bool = False

    @property
    def end(self) -> Fraction:
        """Where it ends."""
        return self.start + sum(self.groups, Fraction(0))

    @property
    def group_starts(self) -> tuple[Fraction, ...]:
        """Where its vibhags begin."""
        return tuple(accumulate(self.groups[:-1], initial=self.start))


@dataclass(frozen=True)
class Bracket:
    """Words with a bracket from one place to another."""

    words: str
    start: Fraction
    end: Fraction


@dataclass(frozen=True)
class Page:
    """What is printed, in order.

    Attributes
    ----------
    bars : tuple of Bar
    notes : tuple of Note
        The notes of the score; their onsets are places.
    printed : tuple of Printed
    brackets : tuple of Bracket
    words : mapping of place to texts
        What stands above: claps, where it begins, the landing.
    landing : Fraction or None
        The place of the landing stroke.
    """

    bars: tuple[Bar, ...]
    notes: tuple[Note, ...]
    printed: tuple[Printed, ...]
    brackets: tuple[Bracket, ...]
    words: dict[Fraction, list[str]] = field(default_factory=dict)
    landing: Fraction | None = None

    def in_bar(self, bar: Bar) -> list[Printed]:
        """Return what is printed in a bar."""
        return [each for each in self.printed if bar.start <= each.start < bar.end]


def lay_out(score: Score, repeats: Repeats = "written") -> tuple[Page, tuple[Stretch, ...]]:
    """Lay a score out; return the page, and the stretches that are on it.

    Raises
    ------
    CannotExport
        It cannot be written with repeat signs, or its parts are too small to be written in notes.
    """
    stretches = with_signs(score) if repeats == "signs" else score.stretches
    origin = score.start - 1 if repeats == "written" and score.tala is not None else Fraction(0)
    starts = list(accumulate((each.passage.length for each in stretches), initial=origin))
    bars = _own_bars(stretches, starts) if repeats == "signs" else _avartans(score, starts[-1])
    notes = tuple(
        Note(note.symbol, start + note.onset, note.length)
        for each, start in zip(stretches, starts, strict=False)
        for note in each.passage.notes
    )
    bounds = sorted({place for bar in bars for place in (*bar.group_starts, bar.end)})
    brackets = [
        Bracket(each.label, start, end)
        for each, (start, end) in zip(stretches, pairwise(starts), strict=True)
        if each.label
    ]
    landing = None if score.lands is None else origin + score.lands
    if repeats == "signs":  # the last palla is written once more, and the landing is in it unless it comes after
        landing = notes[-1].onset if score.stretches[-1].label else None
    page = Page(
        bars,
        notes,
        tuple(printed(_events(notes, [*starts, bounds[-1]]), bounds)),
        tuple(brackets),
        _words(score, bars, repeats),
        landing,
    )
    if landing is not None:
        page.words.setdefault(landing, []).append("landing")
    return page, stretches


def _avartans(score: Score, end: Fraction) -> tuple[Bar, ...]:
    """Bars of one avartan each; outside any tala one bar of whole matras."""
    vibhags = score.tala.vibhags if score.tala is not None else (max(1, math.ceil(end)),)
    groups = tuple(map(Fraction, vibhags))
    length = sum(groups, Fraction(0))
    count = max(1, math.ceil(end / length))
    return tuple(
        Bar(number * length, groups, score.cycle and number == 0, score.cycle and number == count - 1)
        for number in range(count)
    )


def _own_bars(stretches: Sequence[Stretch], starts: Sequence[Fraction]) -> tuple[Bar, ...]:
    """A bar for each stretch; all but the last are repeated."""
    last = len(stretches) - 1
    return tuple(
        Bar(start, (each.passage.length,), number == 0, number == last - 1)
        for number, (each, start) in enumerate(zip(stretches, starts, strict=False))
    )


def _events(notes: Sequence[Note], places: Sequence[Fraction]) -> list[Event]:
    """Notes and the silences around them, without gaps up to the last place; a silence is cut at every place."""
    events: list[Event] = []
    here = Fraction(0)
    for number, note in enumerate(notes):
        events += _silences(here, note.onset, places)
        events.append(Event(note.onset, note.end, number))
        here = note.end
    return events + _silences(here, places[-1], places)


def _silences(start: Fraction, end: Fraction, places: Sequence[Fraction]) -> list[Event]:
    cuts = [start, *sorted({each for each in places if start < each < end}), end]
    return [Event(before, after, None) for before, after in pairwise(cuts) if after > before]


def _words(score: Score, bars: Sequence[Bar], repeats: Repeats) -> dict[Fraction, list[str]]:
    """Claps and khalis where vibhags begin; with repeat signs, on which matra it begins."""
    if score.tala is None:
        return {}
    if repeats == "signs":
        return {Fraction(0): [f"from {score.tala.name_of(score.start)} of {score.tala.name}"]}
    marks = {mark.matra: mark.label for mark in score.tala.marks}
    return {
        start: [marks[matra]]
        for bar in bars
        for matra, start in zip(score.tala.vibhag_starts, bar.group_starts, strict=True)
        if matra in marks
    }


def metre(groups: Sequence[Fraction]) -> tuple[str, int]:
    """Return beats and beat type: "4+4+4+4" and 4; of 5 1/2 matras "11" and 8."""
    if all(each.denominator == 1 for each in groups):
        return "+".join(str(each) for each in groups), 4
    length = sum(groups, Fraction(0))
    return str(length.numerator), 4 * length.denominator
