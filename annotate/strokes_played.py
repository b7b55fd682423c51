"""The strokes of a tihai as they were heard: for every note written down the stroke nearest to where it is due.

Conventions
-----------
* A note is looked for where it is *due*: at its share of the way from the palla's marked start to the next one's (in
  the last palla: to the landing). So a tihai that is played late as a whole is not looked for too early.
* It is found when a stroke lies within the *reach* of that place: half the way to the note's nearer neighbour, and
  :data:`FARTHEST_S` at most. A stroke belongs to one note only.
* The deviation is the stroke minus its place on paper, counted from the avartan of the written start: late is positive,
  as in :mod:`annotate.verify`.
* A stroke is told by its onset, not by who plays it: where melody and tabla play together it may be either's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from annotate.grid import Grid
from annotate.records import TihaiRecord
from theory.errors import NotationError
from theory.notation import parse
from theory.passage import Passage
from theory.tihai import LandingRule

FARTHEST_S = 0.120
"""A stroke farther than this from where a note is due is taken for another one's: somewhat more than the 100 ms within
which a landing lands."""


@dataclass(frozen=True)
class PlayedStroke:
    """One note as written and as heard.

    Attributes
    ----------
    palla : int
        From 1; the landing stroke that follows the last palla (rule "after") counts to the last one.
    symbol : str
        The swara or bol; "" for a landing stroke that stands outside the palla.
    matra : Fraction
        Its place on paper, a matra of the tala.
    paper_s, due_s : float
        Where it stands on paper, and where it was looked for.
    reach_s : float
        How far around.
    played_s : float or None
        The stroke; None where none was found.
    is_landing : bool
    """

    palla: int
    symbol: str
    matra: Fraction
    paper_s: float
    due_s: float
    reach_s: float
    played_s: float | None
    is_landing: bool

    @property
    def dev_ms(self) -> float | None:
        """Played minus paper; None where it was not found."""
        return None if self.played_s is None else (self.played_s - self.paper_s) * 1000


def played_strokes(record: TihaiRecord, grid: Grid | None, onset_s: NDArray[np.float64]) -> tuple[PlayedStroke, ...]:
    """Find the strokes of a tihai.

    Parameters
    ----------
    record : TihaiRecord
    grid : Grid or None
        Of the section it is played in.
    onset_s : ndarray of float64, shape (k,)
        When anything was struck, ascending.

    Returns
    -------
    tuple of PlayedStroke
        In order; empty where its start, palla or dam is not written down, not every palla is marked, or there is no
        grid.
    """
    palla = _palla_of(record)
    if grid is None or palla is None or record.start is None or record.dam is None or len(record.palla_s) < 2:
        return ()
    period = palla.length + record.dam
    begins = [record.start + period * number for number in range(len(record.palla_s))]
    within = record.rule == LandingRule.WITHIN
    lands = begins[-1] + (palla.last_onset if within else palla.length)
    written = [(number, note.symbol, at + note.onset) for number, at in enumerate(begins, 1) for note in palla.notes]
    if not within:
        written.append((len(begins), "", lands))
    places = np.array([float(at) for _, _, at in written])
    marks = [(float(at), time_s) for at, time_s in zip(begins, record.palla_s, strict=True)]
    if float(lands) > marks[-1][0]:
        marks.append((float(lands), record.landing_s))
    due_s = _along(marks, places)
    reach_s = _reach(due_s)
    anchor, _ = grid.nearest_occurrence(record.palla_s[0], record.start)
    nearest = _nearest(due_s, reach_s, onset_s)
    return tuple(
        PlayedStroke(
            number,
            symbol,
            (at - 1) % grid.tala.matras + 1,
            grid.time_of(anchor, at),
            float(due),
            float(reach),
            played_s,
            at == lands,
        )
        for (number, symbol, at), due, reach, played_s in zip(written, due_s, reach_s, nearest, strict=True)
    )


def _palla_of(record: TihaiRecord) -> Passage | None:
    try:
        palla = parse(record.palla) if record.palla else None
    except NotationError:
        return None
    return palla if palla is not None and palla.notes else None


def _along(marks: Sequence[tuple[float, float]], places: NDArray[np.float64]) -> NDArray[np.float64]:
    """Times of places (in matras) between marks (matra, time), at the last pace after the last mark."""
    at, time_s = (np.array(column) for column in zip(*marks, strict=True))
    last_pace_s = (time_s[-1] - time_s[-2]) / (at[-1] - at[-2])
    within: NDArray[np.float64] = np.interp(places, at, time_s)
    return np.where(places > at[-1], time_s[-1] + (places - at[-1]) * last_pace_s, within)


def _reach(due_s: NDArray[np.float64]) -> NDArray[np.float64]:
    gaps = np.diff(due_s)
    before, after = np.append(np.inf, gaps), np.append(gaps, np.inf)
    return np.minimum(np.minimum(before, after) / 2, FARTHEST_S)


def _nearest(
    due_s: NDArray[np.float64], reach_s: NDArray[np.float64], onset_s: NDArray[np.float64]
) -> list[float | None]:
    """The stroke nearest to each place; what lies half way between two notes goes to the first."""
    found: list[float | None] = []
    taken = -np.inf
    for due, reach in zip(due_s, reach_s, strict=True):
        first, last = np.searchsorted(onset_s, [due - reach, due + reach])
        near = onset_s[first : last + 1]
        near = near[(np.abs(near - due) <= reach) & (near > taken)]
        if len(near):
            taken = float(near[np.argmin(np.abs(near - due))])
        found.append(taken if len(near) else None)
    return found
