"""Recognising a tihai in a passage: palla, dam, repetitions and nesting, from the notation alone.

Conventions: a repetition is judged by which strokes sound and by the time from each to the next; whether a stroke
rings on or is cut short changes nothing. A palla begins with its first stroke and ends with its last; how long the
last one lasts is seen where it is shortest. What lies between two pallas is the dam, with strokes (a filled dam) or
without. Where several readings fit, the one that covers the most is taken; between two that cover the same, the one of
the shorter palla, and nine equal statements are read as three groups of three (nauhakka). A palla that itself ends with
a tihai is read again, so a chakradar comes back nested.

How: with a period of k strokes, a run in which every stroke equals the k-th after it, at the same distance in time, is
what a palla and dam repeated leave behind. A run of 2 periods and more is a tihai: what exceeds 2 periods is the palla.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import pairwise

from theory.passage import Note, Passage, cut, join
from theory.tihai import Chain, Tihai, Unit, flat

MOST_STATEMENTS = 9  # more equal statements than a nauhakka has are a repetition, not a tihai
LONGEST_PERIOD = 1000  # strokes from one palla to the next; keeps the search of a whole concert's notation short


@dataclass(frozen=True)
class Recognised:
    """A tihai found in a passage.

    Attributes
    ----------
    tihai : Tihai
        What was found, nested where it is.
    before, after : Passage
        What the passage plays before and after it.
    held : tuple of (int, Fraction)
        Which strokes of the passage (by number from 0) last otherwise than in the tihai written out, and how long: a
        last stroke that rings on through the dam.
    """

    before: Passage
    tihai: Tihai
    after: Passage
    held: tuple[tuple[int, Fraction], ...]

    @cached_property
    def passage(self) -> Passage:
        """The passage again: before, the tihai written out, after; strokes held as they were."""
        whole = join([self.before, flat(self.tihai), self.after])
        notes = list(whole.notes)
        for number, length in self.held:
            notes[number] = Note(notes[number].symbol, notes[number].onset, length)
        return Passage(whole.system, tuple(notes), whole.length)


def recognise(passage: Passage) -> Recognised | None:
    """Find the tihai that a passage contains.

    Parameters
    ----------
    passage : Passage
        Swaras or bols.

    Returns
    -------
    Recognised or None
        The tihai with what precedes and follows it; None when nothing comes three times.
    """
    found = _best(passage)
    if found is None:
        return None
    before, tihai, after = _split(passage, found)
    whole = join([before, flat(tihai), after])
    pairs = zip(whole.notes, passage.notes, strict=True)
    held = tuple((number, as_is.length) for number, (new, as_is) in enumerate(pairs) if new.length != as_is.length)
    return Recognised(before, tihai, after, held)


@dataclass(frozen=True, slots=True)
class _Run:
    """Strokes that repeat with a period: the first and the last of them, and the period in strokes."""

    first: int
    last: int
    period: int


@dataclass(frozen=True, slots=True)
class _Reading:
    """One way to read strokes as a tihai; everything counted in strokes."""

    first: int  # the stroke it begins with
    period: int  # strokes from one palla to the next
    palla: int  # strokes of the palla
    times: int

    @property
    def last(self) -> int:
        """The stroke it ends with."""
        return self.first + (self.times - 1) * self.period + self.palla - 1


def _best(passage: Passage, closing: bool = False) -> _Reading | None:
    """Return the reading that covers the most; when ``closing``, of those that end with the passage's last stroke."""
    onsets = passage.onsets
    best: _Reading | None = None
    most = Fraction(0)
    for reading in _readings(passage):
        covers = onsets[reading.last] - onsets[reading.first]
        if (best is None or covers > most) and (not closing or reading.last == len(onsets) - 1):
            best, most = reading, covers
    return best


def _readings(passage: Passage) -> Iterator[_Reading]:
    """Yield every reading, those of shorter periods first."""
    notes = passage.notes
    onsets = passage.onsets
    steps = [there - here for here, there in pairwise(onsets)]
    signs = _signs([note.symbol for note in notes])
    moves = _signs(list(zip(signs, steps, strict=False)))  # a stroke and the time to the next
    known: list[_Run] = []
    for period in range(1, min(len(notes) // 2, LONGEST_PERIOD) + 1):
        runs = list(_runs(signs, moves, period, [run for run in known if period % run.period == 0]))
        for run in runs:
            reading = _read_run(steps, run, len(notes))
            if _is_tihai(notes, onsets, reading):
                yield reading
        known += runs


def _signs(values: Sequence[object]) -> list[int]:
    """Number the values, equal ones alike: comparing numbers is quick."""
    numbers: dict[object, int] = {}
    return [numbers.setdefault(value, len(numbers)) for value in values]


def _runs(signs: list[int], moves: list[int], period: int, shorter: list[_Run]) -> Iterator[_Run]:
    """Yield every longest run of more than two periods.

    In a run every stroke equals the one a period later. Such a run holds a stroke whose number is a multiple of the
    period, so only these are tried, and the run is followed from there to both sides. Where a shorter period that
    divides this one runs (``shorter``), this one would only count the same pallas in groups.
    """
    done = -1
    for anchor in range(0, len(signs) - period, period):
        if anchor <= done or signs[anchor] != signs[anchor + period]:
            continue
        inside = next((run for run in shorter if run.first <= anchor and anchor + period <= run.last), None)
        if inside is not None:
            done = inside.last - period
            continue
        first = last = anchor
        while first > 0 and moves[first - 1] == moves[first - 1 + period]:
            first -= 1
        while (
            last + period < len(moves)
            and moves[last] == moves[last + period]
            and signs[last + 1] == signs[last + 1 + period]
        ):
            last += 1
        done = last
        if last - first >= period:
            yield _Run(first, last + period, period)


def _read_run(steps: list[Fraction], run: _Run, notes: int) -> _Reading:
    """Read a run of strokes as pallas: as many whole periods as there are, or two and a palla shorter than a period."""
    period, count = run.period, run.last - run.first + 1
    if count < 3 * period:
        return _Reading(run.first, period, count - 2 * period, 3)
    times, spare = divmod(count, period)
    # with strokes to spare, the palla ends where the longest wait follows, for that is the dam
    waits = [steps[run.first + shift + period - 1] for shift in range(spare + 1)] if spare else [Fraction(0)]
    longest = [shift for shift, wait in enumerate(waits) if wait == max(waits)]
    closes = run.first > 0 and run.last == notes - 1
    return _Reading(run.first + (longest[-1] if closes else longest[0]), period, period, times)


def _is_tihai(notes: tuple[Note, ...], onsets: tuple[Fraction, ...], reading: _Reading) -> bool:
    """Tell a tihai from what merely comes again."""
    if reading.times > MOST_STATEMENTS:
        return False
    begin, again = onsets[reading.first], onsets[reading.first + reading.period]
    if reading.palla < reading.period:
        # a palla shorter than what fills its dam would make a tihai of any theme that is played twice and begun again
        filled = again - onsets[reading.first + reading.palla]
        return reading.palla > 1 and again - begin >= 2 * filled
    # one stroke again and again, with something before it, is a tihai where a gap parts the strokes
    return reading.period > 1 or reading.first == 0 or again - begin > notes[reading.last].length


def _split(passage: Passage, reading: _Reading) -> tuple[Passage, Tihai, Passage]:
    """Cut a passage into what precedes the tihai, the tihai, and what follows."""
    notes, onsets = passage.notes, passage.onsets
    closing = [reading.first + turn * reading.period + reading.palla - 1 for turn in range(reading.times)]
    last_length = min(notes[number].length for number in closing)
    begin, last_begin = onsets[reading.first], onsets[reading.last - reading.palla + 1]
    end = onsets[reading.last] + last_length
    length = end - last_begin
    palla = cut(cut(passage, end)[0], last_begin)[1]
    dam = onsets[reading.first + reading.period] - begin - length
    filler = None
    if reading.palla < reading.period:
        filler = cut(cut(passage, begin + length + dam)[0], begin + length)[1]
    before = cut(passage, begin)[0]
    after = cut(passage, end)[1]
    return before, _tihai(palla, dam, reading.times, filler), after


def _tihai(palla: Passage, dam: Fraction, times: int, filler: Passage | None) -> Tihai:
    if times == 9:
        return Tihai(Tihai(palla, dam, 3, filler), dam, 3, filler)
    return Tihai(_unit(palla), dam, times, filler)


def _unit(palla: Passage) -> Unit:
    """Read a palla: a tihai, a bol with a tihai at its end, or plain."""
    found = _best(palla, closing=True)
    if found is None or (found.period == 1 and found.first > 0):  # dhas that close a phrase are no tihai of their own
        return palla
    before, tihai, after = _split(palla, found)
    parts = [part for part in (before, tihai, after) if part.length]
    return tihai if len(parts) == 1 else Chain(tuple(parts))
