"""What is struck in a sound, and where: clicks, theka, lehra, the notes as written, dams counted aloud.

Conventions: positions as in :mod:`plan`. A beat names its sound (see :mod:`instruments`) and its *voice*: what is
struck on a voice stops what rang on it. Levels are ours, as in :mod:`dashboard.theka`: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from annotate.practice.sounds.plan import Leg
from theory.bols import strokes
from theory.passage import Note, Passage
from theory.talas import Tala

Sound = tuple[str, str]
"""What sounds and how: ("click", "sam"), ("dayan", "rim"), ("bayan", "rings"), ("pluck", "S'"), ("lehra", "P")."""

_SAM, _VIBHAG, _MATRA, _BETWEEN = 1.0, 0.85, 0.75, 0.6


@dataclass(frozen=True)
class Beat:
    """A stroke: its position, sound, level (0 to 1), and for how many matras it may ring (None: as long as it does)."""

    position: Fraction
    sound: Sound
    level: float
    rings: Fraction | None = None

    @property
    def voice(self) -> str:
        """What stops when it is struck."""
        return self.sound[0]


@dataclass(frozen=True)
class Under:
    """What sounds under a passage: in which tala, and what of it."""

    tala: Tala | None
    clicks: bool
    theka: bool
    lehra: Passage | None


def beats_of(leg: Leg, under: Under) -> Iterator[Beat]:
    """Yield what is struck in a leg, at positions from its beginning (included) to its end (not included)."""
    if leg.kind == "count-in":
        yield from _clicks(leg, under.tala)
        return
    stretch = leg.run.stretch
    if under.clicks:
        yield from _clicks(leg, under.tala)
    if under.tala is not None:
        if under.theka:
            yield from _theka(leg, under.tala)
        if under.lehra is not None:
            yield from _lehra(leg, under.tala, under.lehra)
    if leg.kind == "round":
        counted = (position for position in stretch.counted if leg.pace.first <= position < leg.pace.last)
        yield from (Beat(position, ("click", "dam"), 1.0) for position in counted)
    yield from _notes(leg)


def _clicks(leg: Leg, tala: Tala | None) -> Iterator[Beat]:
    for matra in range(math.ceil(leg.pace.first), math.ceil(leg.pace.last)):
        yield Beat(Fraction(matra), ("click", click_kind(tala, matra)), 1.0)


def click_kind(tala: Tala | None, position: int) -> str:
    """Tell a click by its place: "sam", "khali", "tali" (any other vibhag) or "matra"; only matras outside a tala."""
    if tala is None:
        return "matra"
    number = position % tala.matras + 1
    if number == 1:
        return "sam"
    if any(mark.matra == number and mark.kind == "khali" for mark in tala.marks):
        return "khali"
    return "tali" if number in tala.vibhag_starts else "matra"


def _theka(leg: Leg, tala: Tala) -> Iterator[Beat]:
    """The theka, but where the tabla plays what is written."""
    rests = leg.run.stretch.rests
    length = leg.pace.last - leg.run.stretch.pace.first
    for beat in _over_avartans(leg, tala, theka_beats(tala)):
        if rests is None or not (rests[0] <= beat.position < rests[1]):
            if rests is not None and leg.round > 1 and rests[0] <= beat.position + length < rests[1]:
                continue  # the landing of the round before falls here
            yield beat


def _lehra(leg: Leg, tala: Tala, lehra: Passage) -> Iterator[Beat]:
    notes = (Beat(note.onset, ("lehra", note.symbol), _level(note.onset, tala), note.length) for note in lehra.notes)
    yield from _over_avartans(leg, tala, tuple(notes))


def _over_avartans(leg: Leg, tala: Tala, beats: tuple[Beat, ...]) -> Iterator[Beat]:
    """Beats of an avartan, counted from its sam, in every avartan of a leg."""
    for avartan in range(math.floor(leg.pace.first / tala.matras), math.ceil(leg.pace.last / tala.matras)):
        for beat in beats:
            position = beat.position + avartan * tala.matras
            if leg.pace.first <= position < leg.pace.last:
                yield Beat(position, beat.sound, beat.level, beat.rings)


@lru_cache(maxsize=32)
def theka_beats(tala: Tala) -> tuple[Beat, ...]:
    """Return the strokes of one avartan of the theka, counted from sam; none where it is not transcribed."""
    return tuple(_struck(tala.theka, tala))


def _struck(passage: Passage, tala: Tala | None) -> Iterator[Beat]:
    from sample_data.touch import tone_of

    for stroke in strokes(passage):
        bol, level = stroke.bol, _level(stroke.onset, tala)
        if bol.treble != "none":
            tone = tone_of(bol.name) if bol.treble == "rings" else "dead"
            yield Beat(stroke.onset, ("dayan", tone), level)
        if bol.bass != "none":
            yield Beat(stroke.onset, ("bayan", bol.bass), level)


def _level(position: Fraction, tala: Tala | None) -> float:
    if position.denominator > 1:
        return _BETWEEN
    if tala is None:
        return _MATRA
    number = position % tala.matras + 1
    return _SAM if number == 1 else _VIBHAG if number in tala.vibhag_starts else _MATRA


def _notes(leg: Leg) -> Iterator[Beat]:
    """The notes as written. What lands on the closing sam of a round sounds at the beginning of what follows."""
    stretch = leg.run.stretch
    if not stretch.notes:
        return
    if leg.kind == "closing":
        yield from _sounded(tuple(note for note in stretch.notes if note.onset >= leg.pace.first), leg)
        return
    own = [note for note in stretch.notes if leg.pace.first <= note.onset < leg.pace.last]
    length = leg.pace.last - leg.pace.first
    carried = [
        Note(note.symbol, note.onset - length, note.length)
        for note in stretch.notes
        if leg.round > 1 and note.onset >= leg.pace.last and all(note.onset - length != each.onset for each in own)
    ]
    yield from _sounded((*carried, *own), leg)


def _sounded(notes: tuple[Note, ...], leg: Leg) -> Iterator[Beat]:
    if not notes:
        return
    if leg.run.stretch.rests is None:
        yield from (Beat(note.onset, ("pluck", note.symbol), 0.9, note.length) for note in notes)
        return
    first = notes[0].onset
    moved = tuple(Note(note.symbol, note.onset - first, note.length) for note in _clear(notes))
    for beat in _struck(Passage("bols", moved, moved[-1].end), None):
        yield Beat(first + beat.position, beat.sound, 1.0)


def _clear(notes: tuple[Note, ...]) -> Iterator[Note]:
    """The same notes, each ending where the next begins at the latest."""
    for note, follower in zip(notes, [*notes[1:], None], strict=True):
        length = note.length if follower is None else min(note.length, follower.onset - note.onset)
        yield Note(note.symbol, note.onset, length)
