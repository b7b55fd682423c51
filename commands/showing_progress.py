"""What a taking in shows while it works: bars with the time left at a terminal, plain lines elsewhere.

All of it goes to standard error, so that standard output holds the short names alone.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from rich.console import Console
    from rich.progress import Progress, TaskID

    from annotate.intake_stages import Step

LINE_EVERY_S = 15.0
"""How often a line tells how far a stage is, where lines cannot be written over."""


FAILED = "could not be taken in"


class Shown(Protocol):
    """Shows how far the recordings are."""

    def tell(self, number: int, step: Step) -> None:
        """Show how far a recording is."""

    def failed(self, number: int) -> None:
        """Show that a recording could not be taken in; why is told at the end."""

    def say(self, line: str) -> None:
        """Show a line."""


@contextmanager
def shown(names: Sequence[str], *, side_by_side: bool, quiet: bool = False) -> Iterator[Shown]:
    """Show the progress of recordings called by their names, one row a stage, or one a recording side by side."""
    from rich.console import Console

    console = Console(stderr=True, highlight=False)
    if quiet:
        yield Silence()
    elif not console.is_terminal:
        yield Lines(console, names)
    else:
        with _bars(console) as display:
            yield (RecordingBars if side_by_side else StageBars)(display, names)


class Silence:
    """Shows nothing."""

    def tell(self, number: int, step: Step) -> None:
        """Show nothing."""

    def failed(self, number: int) -> None:
        """Show nothing."""

    def say(self, line: str) -> None:
        """Show nothing."""


class Lines:
    """A line when a stage ends, and now and then while it lasts."""

    def __init__(self, console: Console, names: Sequence[str]) -> None:
        self._console, self._names = console, names
        self._begun_s: dict[tuple[int, str], float] = {}
        self._told_s: dict[tuple[int, str], float] = {}

    def tell(self, number: int, step: Step) -> None:
        """Print what is worth a line."""
        key, now_s = (number, step.stage), time.monotonic()
        begun_s = self._begun_s.setdefault(key, now_s)
        if step.share == 1:
            what = "done earlier" if step.earlier else f"done in {spoken_s(now_s - begun_s)}"
        elif now_s - self._told_s.setdefault(key, now_s) >= LINE_EVERY_S and step.share > 0:
            left_s = (now_s - begun_s) * (1 - step.share) / step.share
            what = f"{100 * step.share:.0f} %, {spoken_s(left_s)} left"
        else:
            return
        self._told_s[key] = now_s
        self.say(f"{self._names[number]}: {step.stage}: {what}")

    def failed(self, number: int) -> None:
        """Print that it failed."""
        self.say(f"{self._names[number]}: {FAILED}")

    def say(self, line: str) -> None:
        """Print a line."""
        self._console.print(line, markup=False, soft_wrap=True)


class StageBars:
    """A bar for every stage of the recording in hand."""

    def __init__(self, display: Progress, names: Sequence[str]) -> None:
        self._display, self._names = display, names
        self._rows: dict[tuple[int, str], tuple[TaskID, float]] = {}

    def tell(self, number: int, step: Step) -> None:
        """Move the bar of a stage."""
        if (number, step.stage) not in self._rows:
            if not any(known == number for known, _ in self._rows):
                self._head(number)
            row = self._display.add_task(f"  {step.stage}", total=1.0, note="")
            self._rows[number, step.stage] = row, time.monotonic()
        row, begun_s = self._rows[number, step.stage]
        note = ""
        if step.share == 1:
            note = "done earlier" if step.earlier else f"done in {spoken_s(time.monotonic() - begun_s)}"
        self._display.update(row, completed=step.share, note=note)

    def failed(self, number: int) -> None:
        """Print that it failed, above the bars."""
        self.say(f"{self._names[number]}: {FAILED}")

    def say(self, line: str) -> None:
        """Print a line above the bars."""
        self._display.console.print(line, markup=False)

    def _head(self, number: int) -> None:
        """Take away the rows of the recording before, and head those of the next."""
        for row, _ in self._rows.values():
            self._display.remove_task(row)
        self._rows.clear()
        self.say(self._names[number])


class RecordingBars:
    """A bar for every recording, with the stage it is at."""

    def __init__(self, display: Progress, names: Sequence[str]) -> None:
        self._display, self._names = display, names
        self._rows: dict[int, TaskID] = {}

    def tell(self, number: int, step: Step) -> None:
        """Move the bar of a recording."""
        note = "done" if step.overall == 1 else f"{step.stage}{': done earlier' if step.earlier else ''}"
        self._display.update(self._row(number), completed=step.overall, note=note)

    def failed(self, number: int) -> None:
        """Say so beside its bar."""
        self._display.update(self._row(number), note=FAILED)

    def _row(self, number: int) -> TaskID:
        if number not in self._rows:
            self._rows[number] = self._display.add_task(self._names[number], total=1.0, note="")
        return self._rows[number]

    def say(self, line: str) -> None:
        """Print a line above the bars."""
        self._display.console.print(line, markup=False)


def spoken_s(seconds: float) -> str:
    """Return a duration in words: ``3 s``, ``1 min 20 s``."""
    whole = round(seconds)
    return f"{whole} s" if whole < 60 else f"{whole // 60} min {whole % 60} s"


def spoken_bytes(count: int) -> str:
    """Return a length in words: ``512 bytes``, ``1.4 MB``."""
    for unit, size in (("GB", 10**9), ("MB", 10**6), ("kB", 10**3)):
        if count >= size:
            return f"{count / size:.1f} {unit}"
    return f"{count} bytes"


@contextmanager
def _bars(console: Console) -> Iterator[Progress]:
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn

    columns = (
        TextColumn("{task.description}", markup=False),
        BarColumn(),
        TaskProgressColumn(),
        TimeRemainingColumn(compact=True),
        TextColumn("{task.fields[note]}", markup=False),
    )
    with Progress(*columns, console=console) as display:
        yield display
