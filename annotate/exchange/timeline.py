"""Played time counted in quarters, one for each matra, so that a tempo map can tell where each was played.

Conventions: a quarter is a matra wherever the grid has one. Where it has none (alap, talk), quarters of at most a
second fill the gap. Times are whole microseconds, since a tempo in a MIDI file is a whole number of them a quarter:
each quarter begins within half a microsecond of its matra, and nothing adds up.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass

from annotate.exchange.errors import CannotExport
from annotate.grid import Grid, RecordingGrid
from theory.clock import format_clock

TICKS = 960
"""Ticks a quarter: divisible by the parts into which a matra is usually divided (2, 3, 4, 5, 6, 8, 12, 16)."""

LONGEST_US = 2**24 - 1
"""The longest quarter that a tempo of a MIDI file can tell: 16.8 s."""

GAP_US = 1_000_000


@dataclass(frozen=True)
class Beat:
    """A quarter that is a matra: its number, the matra (from 1), and how many the tala has and where vibhags begin."""

    quarter: int
    matra: int
    matras: int
    vibhag_starts: tuple[int, ...]


@dataclass(frozen=True)
class Timeline:
    """Where each quarter begins.

    Attributes
    ----------
    quarters_us : tuple of int
        Start of every quarter from the beginning of the recording (0), and the end of the last one, in microseconds.
    beats : tuple of Beat
        The quarters that are matras.
    metres : tuple of (int, int)
        From which quarter on a bar has how many quarters: an avartan, what is left of one, or in a gap 1.
    """

    quarters_us: tuple[int, ...]
    beats: tuple[Beat, ...]
    metres: tuple[tuple[int, int], ...]

    @property
    def tempi_us(self) -> tuple[int, ...]:
        """Length of every quarter, in microseconds."""
        return tuple(after - before for before, after in zip(self.quarters_us, self.quarters_us[1:], strict=False))

    def tick_of(self, time_s: float) -> int:
        """Return the tick nearest to a time; after the end it goes on at the last tempo."""
        time_us = max(time_s, 0.0) * 1e6
        quarter = min(bisect_right(self.quarters_us, time_us), len(self.quarters_us) - 1) - 1
        start_us, end_us = self.quarters_us[quarter], self.quarters_us[quarter + 1]
        return round(TICKS * (quarter + (time_us - start_us) / (end_us - start_us)))


def timeline_of(grid: RecordingGrid) -> Timeline:
    """Lay the grids of all sections end to end.

    Where two sections lie over each other, the matras of the earlier one count.

    Raises
    ------
    CannotExport
        A matra is longer than a tempo can tell.
    """
    quarters_us, beats, metres = [0], list[Beat](), list[tuple[int, int]]()
    for part in sorted(grid.sections, key=lambda each: float(each.matra_s[0])):
        matras = [(us, matra) for us, matra in _matras(part) if us >= quarters_us[-1]]
        if len(matras) < 2:
            continue
        _fill(quarters_us, metres, matras[0][0])
        first = len(quarters_us) - 1
        _bars(metres, first, [matra for _, matra in matras], part.tala.matras)
        for number, (us, matra) in enumerate(matras):
            if number:
                if us - quarters_us[-1] > LONGEST_US or us == quarters_us[-1]:
                    raise CannotExport(
                        f"A matra at {format_clock(quarters_us[-1] / 1e6)} lasts {(us - quarters_us[-1]) / 1e6:g} s; "
                        f"a tempo reaches to {LONGEST_US / 1e6:.1f} s. Mark sams there, so that the grid is right."
                    )
                quarters_us.append(us)
            beats.append(Beat(first + number, matra, part.tala.matras, part.tala.vibhag_starts))
    # the last matra is as long as the one before it
    quarters_us.append(2 * quarters_us[-1] - quarters_us[-2] if len(quarters_us) > 1 else GAP_US)
    return Timeline(tuple(quarters_us), tuple(beats), tuple(dict(metres).items()))


def _matras(part: Grid) -> Iterator[tuple[int, int]]:
    """Yield time (in microseconds) and number of every matra from the first to the last, those between too."""
    first, last = (int(part.absolute_matras[place]) for place in (0, -1))
    for absolute in range(first, last + 1):
        cycle, matra = divmod(absolute, part.tala.matras)
        yield round(part.time_of(cycle + 1, matra + 1.0) * 1e6), matra + 1


def _fill(quarters_us: list[int], metres: list[tuple[int, int]], until_us: int) -> None:
    """Fill a gap with quarters of equal length, within a microsecond."""
    start_us = quarters_us[-1]
    count = math.ceil((until_us - start_us) / GAP_US)
    if count:
        metres.append((len(quarters_us) - 1, 1))
    quarters_us.extend(start_us + (until_us - start_us) * number // count for number in range(1, count + 1))


def _bars(metres: list[tuple[int, int]], first: int, matras: list[int], avartan: int) -> None:
    """Write the metre from the first matra of a section on: what is left of its avartan, then whole ones."""
    if matras[0] != 1:
        metres.append((first, avartan + 1 - matras[0]))
    sam = matras.index(1) if 1 in matras else None
    if sam is not None:
        metres.append((first + sam, avartan))
