"""A draft of the notation of a stretch of a recording, on its grid.

Nothing here is kept but the course of the melody itself: a draft is made anew from it, the Sa and the grid of the
moment, and what a person makes of it is written down as phrases.

Conventions: times in seconds from the start of the recording; matras and avartans from 1. Octaves are counted from the
middle Sa, which is the recording's Sa or lies whole octaves from it: where most of the melody lies above it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np

from annotate.archive import Archive
from annotate.doubts import DOUBTFUL
from annotate.errors import BadAnnotation
from annotate.grid import Grid
from annotate.swaras import melody_of, middle_sa_of, raga_swaras
from ingest.draft import Draft, draft
from ingest.onset_times import onset_times
from theory.clock import format_clock
from theory.notation_print import to_text
from theory.talas import Tala

MOST_MATRAS = 2000
"""The longest stretch that is drafted at once: about ten minutes of a drut gat."""


@dataclass(frozen=True)
class Transcription:
    """A stretch drafted on its grid.

    Parameters
    ----------
    section : str
    tala : Tala
    cycle, matra : int
        Where it begins.
    matra_s : tuple of float
        Time of every matra, and of the end.
    draft : Draft
    raga : str
        Key of the raga whose swaras were preferred; empty where it is not in the table.
    sa_hz : float
        The middle Sa.
    doubtful_sams_s : tuple of float
        Sams of the avartans it touches that the grid is in doubt of (see :mod:`annotate.doubts`).
    """

    section: str
    tala: Tala
    cycle: int
    matra: int
    matra_s: tuple[float, ...]
    draft: Draft
    raga: str
    sa_hz: float
    doubtful_sams_s: tuple[float, ...]

    def place(self, onset: Fraction) -> tuple[int, Fraction]:
        """Avartan and matra of a place in the draft."""
        whole, matra = divmod(self.matra - 1 + onset, self.tala.matras)
        return self.cycle + int(whole), matra + 1

    def time_s(self, onset: Fraction) -> float:
        """Time of a place in the draft."""
        return float(np.interp(float(onset), np.arange(len(self.matra_s)), self.matra_s))

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values; matras as texts ``n/d``."""
        notes = []
        for each in self.draft.notes:
            cycle, matra = self.place(each.note.onset)
            notes.append(
                {
                    "cycle": cycle,
                    "matra": f"{matra.numerator}/{matra.denominator}",
                    "start_s": round(self.time_s(each.note.onset), 3),
                    "end_s": round(self.time_s(each.note.end), 3),
                    "swara": each.note.symbol,
                    "sureness": round(each.sureness, 2),
                    "other": each.other,
                }
            )
        return {
            "section": self.section,
            "tala": self.tala.key,
            "cycle": self.cycle,
            "matra": self.matra,
            "start_s": round(self.matra_s[0], 3),
            "end_s": round(self.matra_s[-1], 3),
            "raga": self.raga,
            "sa_hz": round(self.sa_hz, 2),
            "text": to_text(self.draft.passage, self.tala, self.matra),
            "doubtful_sams_s": [round(sam_s, 3) for sam_s in self.doubtful_sams_s],
            "divisions": list(self.draft.divisions),
            "notes": notes,
        }


def transcribe(
    archive: Archive,
    slug: str,
    start_s: float,
    end_s: float,
    parts: int | None = None,
    tell: Callable[[float], None] | None = None,
    sa_hz: float | None = None,
) -> Transcription:
    """Draft the notation of a stretch: of the matras that begin in it.

    Parameters
    ----------
    archive : Archive
    slug : str
    start_s, end_s : float
        A matra that begins up to a quarter of its length before ``start_s`` is counted in.
    parts : int, optional
        Into how many parts every matra is divided; by default each as it was played.
    tell : callable, optional
        See :func:`annotate.swaras.melody_of`.
    sa_hz : float, optional
        The middle Sa; by default the recording's, in the octave above which most of the melody lies.

    Raises
    ------
    BadAnnotation
        The stretch has no matras, or too many.
    """
    if end_s <= start_s:
        raise BadAnnotation(f"The stretch ends at {format_clock(end_s)}, not after its start {format_clock(start_s)}.")
    grid = _grid_of(archive, slug, start_s, end_s)
    first, last = _matras_between(grid, start_s, min(end_s, grid.end_s))
    return _drafted(archive, slug, grid, first, last, parts, tell, sa_hz)


def transcribe_cycle(
    archive: Archive,
    slug: str,
    cycle: int,
    section: str | None = None,
    parts: int | None = None,
    tell: Callable[[float], None] | None = None,
    sa_hz: float | None = None,
) -> Transcription:
    """Draft the notation of one avartan of a section (by default the only one that has it).

    Raises
    ------
    BadAnnotation
        No section, or several, have that avartan.
    """
    grids = [grid for grid in archive.grid(slug).sections if section in (None, grid.section)]
    having = [grid for grid in grids if np.any(grid.cycle == cycle)]
    if len(having) != 1:
        known = ", ".join(
            f"'{grid.section}' {grid.cycle[0]} to {grid.cycle[-1]}" for grid in archive.grid(slug).sections
        )
        what = "has several sections with" if having else "has no"
        hint = "Name one with --section." if having else "Name another."
        raise BadAnnotation(f"'{slug}' {what} avartan {cycle} (avartans: {known or 'none'}). {hint}")
    grid = having[0]
    inside = np.flatnonzero(grid.cycle == cycle)
    return _drafted(archive, slug, grid, int(inside[0]), int(inside[-1]), parts, tell, sa_hz)


def _grid_of(archive: Archive, slug: str, start_s: float, end_s: float) -> Grid:
    """The grid with most of the stretch."""
    grids = archive.grid(slug).sections
    overlaps_s = [min(end_s, grid.end_s) - max(start_s, grid.start_s) for grid in grids]
    if not overlaps_s or max(overlaps_s) <= 0:
        known = ", ".join(
            f"'{grid.section}' {format_clock(grid.start_s, 0)} to {format_clock(grid.end_s, 0)}" for grid in grids
        )
        raise BadAnnotation(
            f"No matras are known between {format_clock(start_s)} and {format_clock(end_s)} "
            f"(matras: {known or 'none'}). For a stretch without tabla: layakosh swaras {slug} --from T --to T"
        )
    return grids[int(np.argmax(overlaps_s))]


def _matras_between(grid: Grid, start_s: float, end_s: float) -> tuple[int, int]:
    """Numbers of the first and the last matra that begin in a stretch."""
    ahead_s = grid.matra_length_s(start_s) / 4
    inside = np.flatnonzero((grid.matra_s >= start_s - ahead_s) & (grid.matra_s < end_s - ahead_s))
    if not len(inside):
        raise BadAnnotation(
            f"No matra of '{grid.section}' begins between {format_clock(start_s)} and {format_clock(end_s)}: "
            "give a longer stretch."
        )
    if len(inside) > MOST_MATRAS:
        raise BadAnnotation(f"That are {len(inside)} matras; at most {MOST_MATRAS} are drafted at once.")
    return int(inside[0]), int(inside[-1])


def _drafted(
    archive: Archive,
    slug: str,
    grid: Grid,
    first: int,
    last: int,
    parts: int | None,
    tell: Callable[[float], None] | None,
    sa_hz: float | None,
) -> Transcription:
    state = archive.state(slug)
    melody = melody_of(archive, slug, tell)
    evidence = archive.evidence(slug)
    positions = grid.absolute_matras
    count = round(positions[last] - positions[first]) + 1
    cycle, matra = int(grid.cycle[first]), int(grid.matra[first])
    matra_s = tuple(grid.time_of(cycle, matra + number) for number in range(count + 1))
    raga = raga_swaras(state.recording.raga)
    sa_hz = middle_sa_of(archive, slug, melody) if sa_hz is None else sa_hz
    last_cycle = grid.split(float(positions[last]))[0]
    touched = (grid.sam_cycle >= cycle) & (grid.sam_cycle <= last_cycle)
    drafted = draft(
        melody,
        sa_hz,
        matra_s,
        raga,
        onset_times(evidence) if evidence is not None else (),
        parts,
    )
    return Transcription(
        grid.section,
        grid.tala,
        cycle,
        matra,
        matra_s,
        drafted,
        state.recording.raga if raga else "",
        sa_hz,
        doubtful_sams_s=tuple(grid.sam_s[touched & (grid.sam_confidence < DOUBTFUL)].tolist()),
    )
