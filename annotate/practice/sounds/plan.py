"""When everything of a practice sound comes: count-in, rounds, closing, laid end to end by exact arithmetic.

Conventions: positions are Fractions of matras, 0 at the sam of the avartan in which the piece begins (so that sams are
the multiples of the tala's matras); times are Fractions of seconds. Nothing here is rounded: a sample is told from a
time at the very end, so that no round is ever longer than another by more than a sample, and nothing adds up.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from annotate.practice.sounds.wishes import PartKind, SoundPart
from theory.passage import Note

CLOSING_S = 1
"""So long at least the sam that closes the last round rings on, in whole matras."""


@dataclass(frozen=True)
class Pace:
    """Time along matras: straight between knots (position, seconds), both ascending, the first at 0 seconds."""

    knots: tuple[tuple[Fraction, Fraction], ...]

    @property
    def first(self) -> Fraction:
        """Position of its beginning."""
        return self.knots[0][0]

    @property
    def last(self) -> Fraction:
        """Position of its end."""
        return self.knots[-1][0]

    @property
    def lasts_s(self) -> Fraction:
        """How long all of it lasts."""
        return self.knots[-1][1]

    def seconds(self, position: Fraction) -> Fraction:
        """Return the time of a position; outside it goes on as in its first or last matra."""
        place = min(max(bisect_right(self.knots, position, key=lambda knot: knot[0]), 1), len(self.knots) - 1)
        (left, left_s), (right, right_s) = self.knots[place - 1], self.knots[place]
        return left_s + (position - left) / (right - left) * (right_s - left_s)

    def stretched(self, factor: Fraction) -> Pace:
        """Return it so many times as slow."""
        return Pace(tuple((position, seconds * factor) for position, seconds in self.knots))

    def matra_s(self, first: Fraction, last: Fraction) -> Fraction:
        """Return the mean length of a matra between two positions."""
        return (self.seconds(last) - self.seconds(first)) / (last - first)


def even(first: Fraction, matras: Fraction, matra_s: Fraction) -> Pace:
    """Return a pace in which every matra is equally long."""
    return Pace(((first, Fraction(0)), (first + matras, matras * matra_s)))


@dataclass(frozen=True)
class Spot:
    """A named stretch of a round, in seconds from the round's beginning at full speed."""

    begin_s: Fraction
    end_s: Fraction
    words: str
    kind: PartKind


@dataclass(frozen=True)
class Stretch:
    """What one round plays.

    Attributes
    ----------
    words : str
        "round", "palla 2".
    pace : Pace
        At full speed.
    spots : tuple of Spot
    closes : bool
        Whether it goes from sam to sam, so that round may follow round without a gap.
    notes : tuple of Note
        What our instruments play, at positions; nothing where the recording plays.
    rests : tuple of (Fraction, Fraction), optional
        Where the theka rests because the tabla plays the notes: from, to (where it comes in again).
    counted : tuple of Fraction
        Positions at which a dam is counted aloud.
    """

    words: str
    pace: Pace
    spots: tuple[Spot, ...] = ()
    closes: bool = True
    notes: tuple[Note, ...] = ()
    rests: tuple[Fraction, Fraction] | None = None
    counted: tuple[Fraction, ...] = ()


@dataclass(frozen=True)
class Run:
    """Rounds of one stretch at one speed. ``slower`` is how many times as long everything takes, ``at`` says it."""

    stretch: Stretch
    slower: Fraction
    at: str
    counts_in: bool
    closing: bool


LegKind = Literal["count-in", "round", "closing"]


@dataclass(frozen=True)
class Leg:
    """A stretch of the sound in which matras run on: what it is, when it begins, and its own pace.

    ``round`` counts the rounds of its run from 1; in a count-in it is the round that follows, in a closing the last.
    """

    kind: LegKind
    begin_s: Fraction
    pace: Pace
    run: Run
    round: int

    @property
    def end_s(self) -> Fraction:
        """When it ends."""
        return self.begin_s + self.pace.lasts_s

    def time_s(self, position: Fraction) -> Fraction:
        """Return when a position of it comes in the sound."""
        return self.begin_s + self.pace.seconds(position)


def laid_out(runs: Sequence[Run], rounds: int, count_in: Fraction, avartan: int | None) -> tuple[Leg, ...]:
    """Lay runs end to end.

    Parameters
    ----------
    runs : sequence of Run
    rounds : int
        Of each run.
    count_in : Fraction
        Matras of clicks before a run that counts in; before every round where rounds do not go from sam to sam.
    avartan : int or None
        Matras of the tala: the count-in is as quick as the first avartan.
    """
    legs: list[Leg] = []

    def add(kind: LegKind, pace: Pace, run: Run, number: int) -> None:
        legs.append(Leg(kind, legs[-1].end_s if legs else Fraction(0), pace, run, number))

    for run in runs:
        pace = run.stretch.pace.stretched(run.slower)
        for number in range(1, rounds + 1):
            if count_in and run.counts_in and (number == 1 or not run.stretch.closes):
                add("count-in", _counted_in(pace, count_in, avartan), run, number)
            add("round", pace, run, number)
        if run.closing:
            add("closing", _closing(pace), run, rounds)
    return tuple(legs)


def _counted_in(pace: Pace, matras: Fraction, avartan: int | None) -> Pace:
    until = pace.last if avartan is None else min(pace.last, pace.first + avartan)
    return even(pace.first - matras, matras, pace.matra_s(pace.first, until))


def _closing(pace: Pace) -> Pace:
    matra_s = pace.matra_s(max(pace.first, pace.last - 1), pace.last)
    return even(pace.last, Fraction(math.ceil(CLOSING_S / matra_s)), matra_s)


def parts_of(legs: Sequence[Leg]) -> tuple[SoundPart, ...]:
    """Return the named parts of a sound, in order; of the first round of every run also what lies within."""
    parts: list[SoundPart] = []
    for leg in legs:
        words = {"count-in": "count-in", "closing": "closing sam"}.get(leg.kind, "")
        at = f" {leg.run.at}" if leg.run.at else ""
        named = words or f"{leg.run.stretch.words} {leg.round}{at}"
        parts.append(SoundPart(float(leg.begin_s), float(leg.end_s), named, leg.kind))
        if leg.kind == "round" and leg.round == 1:
            parts += [
                SoundPart(
                    float(leg.begin_s + spot.begin_s * leg.run.slower),
                    float(leg.begin_s + spot.end_s * leg.run.slower),
                    f"{spot.words}{at}",
                    spot.kind,
                )
                for spot in leg.run.stretch.spots
            ]
    return tuple(parts)
