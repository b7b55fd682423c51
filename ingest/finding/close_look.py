"""Second look: everything that speaks for and against three pallas that end at a landing, measured.

Three *views* are taken of a place: of the tabla alone, of the lead alone (its pitch and its plucks), of both. In each
view the palla is taken to reach back from the landing as far as the three passages go on being alike; what is measured
of it is in `MEASURES`, by name.

Conventions: ticks as in `lattice`; an offset ``o`` is counted back from the landing (or from a palla's landing stroke).
Likeness is a cosine, 0 to 1, where two silences count as unlike.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any

import numba
import numpy as np
from numpy.typing import NDArray

from ingest.finding.lattice import TABLA_KINDS, Floats, Lattice
from ingest.finding.mukhra import Mukhra
from ingest.finding.scan import NO_SUCH, QUIET, STREAMS, Scan, units_of

compiled: Any = numba.njit(cache=True, fastmath=True, nogil=True)

VIEWS = ("tabla", "lead", "both")
VIEW_STREAMS = {"tabla": ("tabla",), "lead": ("melody", "plucks"), "both": STREAMS}
UNLIKE = 0.6  # what two passages must share, of what sounds in them, for one more tick to count for them
BESIDE = (-2, -1, 1, 2)  # spacings beside the one looked at, in strokes

OF_VIEW = ("depth", "share")
OF_STREAM = ("least", "most", "far", "before", "after", "beside", "beside most", "busy", "busy dam", "edge")
OF_HALF = ("half least", "half before", "half after", "at half the spacing", "at a third")
OF_CONTOUR = ("contour", "contour moved")
OF_LANDING = ("loud", "louder", "strokes")
OF_LANDED = ("at landing", "after landing")
MEASURES: tuple[str, ...] = (
    *(f"{view}: {name}" for view in VIEWS for name in OF_VIEW),
    *(f"{view}: {stream} {name}" for view in VIEWS for stream in VIEW_STREAMS[view] for name in OF_STREAM),
    *(f"{stream} {name}" for stream in STREAMS for name in OF_HALF),
    *OF_CONTOUR,
    *OF_LANDING,
    *(f"{stream} {name}" for stream in STREAMS for name in OF_LANDED),
)
"""What is measured of a place, in order.

``depth``: evidence for the palla, summed; ``share``: its part of the spacing; ``least``, ``most``: likeness of the less
and the more alike pair of neighbours; ``far``: of the first and the third; ``before``, ``after``: of the first with
what lies a spacing before it, of the third with what lies after; ``beside``: mean and highest likeness at spacings a
little shorter or longer; ``busy``: what sounds in the palla, ``busy dam``: in the gaps, 1 being usual in the section;
``edge``: likeness of what lies before the pallas; ``half ...``: least, before, after of half the spacing, whatever the
palla; ``at half the spacing``, ``at a third``: likeness where five or seven times would be told as three; ``contour``:
share of the lead's sounding ticks that keep one distance in pitch, ``contour moved``: that distance; ``loud``,
``louder``: strength of the landing, and against the pallas' strokes.
"""
CONTRASTS = ("before", "after", "beside most", "edge")
OF_CONTRAST = tuple(
    f"{view}: {stream} {name} less least" for view in VIEWS for stream in VIEW_STREAMS[view] for name in CONTRASTS
)
OF_PLACE = (
    *(f"{stream} height" for stream in STREAMS),
    *(f"{stream} elsewhere" for stream in STREAMS),
    "spacing s",
    "spacing matras",
    "spacing cycles",
    "spacing off the cycle",
    "spacing counted in",
    "on sam",
    "off the matra",
    "matras from the mukhra",
    "mukhra's contrast",
    "matra s",
    "stroke s",
    "score",
    "best shorter",
    "best longer",
    "best shorter, any stream",
    "rank a minute",
)
NAMES = MEASURES + OF_CONTRAST + OF_PLACE
"""All columns of `Looked.measures`."""

_EDGES = np.array([0, TABLA_KINDS, TABLA_KINDS + 12, TABLA_KINDS + 13])
FAR_SEMITONES = 12


OVERLAP = 0.4


def overlap(begins: float, ends: float, other_begins: float, other_ends: float) -> float:
    """What two stretches share, as a part of the shorter."""
    shared = min(ends, other_ends) - max(begins, other_begins)
    return shared / max(min(ends - begins, other_ends - other_begins), 1e-9)


@dataclass(frozen=True, eq=False)
class Looked:
    """Places looked at; n of them.

    Parameters
    ----------
    landing, spacing : ndarray of int64, shape (n,)
        In ticks.
    measures : ndarray of float32, shape (n, len(NAMES))
    """

    landing: NDArray[np.int64]
    spacing: NDArray[np.int64]
    measures: Floats

    @cached_property
    def column(self) -> dict[str, Floats]:
        """The measures by name."""
        return {name: self.measures[:, number] for number, name in enumerate(NAMES)}

    def palla(self, view: str) -> NDArray[np.int64]:
        """Length of the palla in a view, first stroke to landing stroke, in ticks."""
        return np.rint(self.column[f"{view}: share"] * self.spacing).astype(np.int64)

    def apart(self, chances: NDArray[np.float64], least: float = 0.01) -> list[int]:
        """Numbers of the places of a chance of ``least`` and more, the likeliest first, no likelier one overlapping.

        Places overlap that share more than `OVERLAP` of the shorter.
        """
        begins = self.landing - 2 * self.spacing - self.palla("both")
        kept: list[int] = []
        for at in np.argsort(-chances, kind="stable"):
            if chances[at] < least:
                break
            if not any(overlap(begins[at], self.landing[at], begins[k], self.landing[k]) > OVERLAP for k in kept):
                kept.append(int(at))
        return kept


def look(lattice: Lattice, scanned: Scan, mukhra: Mukhra | None, most: int) -> Looked:
    """Look closely at the likeliest places of a section.

    Parameters
    ----------
    lattice : Lattice
    scanned : Scan
    mukhra : Mukhra, optional
        Where the section's mukhra begins: tihais land there too.
    most : int
        How many places at most.
    """
    spacing_at, landing_at = scanned.seeds(most)
    landing, spacing = scanned.landings[landing_at], scanned.spacings[spacing_at]
    rows = np.ascontiguousarray(np.concatenate([lattice.tabla, lattice.pitch, lattice.plucks[:, None]], axis=1))
    usual = np.array([np.square(rows[:, a:b]).sum(axis=1).mean() + 1e-4 for a, b in pairwise(_EDGES)])
    units = units_of(lattice)
    measured = np.zeros((len(landing), len(MEASURES)))
    if len(landing):
        sounding = np.where(lattice.voiced > 0.3, lattice.semitone, np.float32(np.nan))
        _measure_all(rows, lattice.loudness, sounding, landing, spacing, units[-1], usual, measured)
    parts = [measured, _contrasts(measured), _of_place(lattice, scanned, mukhra, spacing_at, landing_at)]
    return Looked(landing, spacing, np.concatenate(parts, axis=1).astype(np.float32))


def _contrasts(measured: NDArray[np.float64]) -> NDArray[np.float64]:
    """How much less alike the three are with what is not theirs."""
    at = {name: number for number, name in enumerate(MEASURES)}
    columns = []
    for name in OF_CONTRAST:
        of_stream = next(f" {each} less least" for each in CONTRASTS if name.endswith(f" {each} less least"))
        stream = name.removesuffix(of_stream)
        columns.append(measured[:, at[name.removesuffix(" less least")]] - measured[:, at[f"{stream} least"]])
    return np.stack(columns, axis=1)


def _of_place(
    lattice: Lattice,
    scanned: Scan,
    mukhra: Mukhra | None,
    spacing_at: NDArray[np.int64],
    landing_at: NDArray[np.int64],
) -> NDArray[np.float64]:
    """What the first look and the tala say of each place, in the order of `OF_PLACE`."""
    landing, spacing = scanned.landings[landing_at], scanned.spacings[spacing_at]
    units, score = units_of(lattice), scanned.score
    cycle = lattice.matras * lattice.parts
    place = (landing + lattice.first * lattice.parts) % cycle
    counted = np.array([next((unit for unit in units if each % unit == 0), 0) for each in spacing]) / lattice.parts
    minutes = (lattice.time_s[-1] - lattice.time_s[0]) / 60
    off = spacing % cycle
    from_mukhra = np.full(len(place), float(lattice.matras))
    if mukhra is not None:
        away = (place - (mukhra.matra - 1) * lattice.parts) % cycle
        from_mukhra = np.minimum(away, cycle - away) / lattice.parts
    columns = [
        *scanned.height[:, spacing_at, landing_at],
        *scanned.elsewhere[:, spacing_at, landing_at],
        spacing * lattice.tick_s,
        spacing / lattice.parts,
        spacing / cycle,
        np.minimum(off, cycle - off) / lattice.parts,
        counted,
        place == 0,
        place % lattice.parts / lattice.parts,
        from_mukhra,
        np.full(len(place), mukhra.contrast if mukhra is not None else 0.0),
        np.full(len(place), lattice.matra_s),
        np.full(len(place), units[-1] * lattice.tick_s),
        score[spacing_at, landing_at],
        *_rivals(score, scanned.spacings, units[-1], spacing_at, landing_at),
        _rivals(scanned.height.max(axis=0), scanned.spacings, units[-1], spacing_at, landing_at)[0],
        np.arange(len(place)) / minutes,
    ]
    return np.stack(columns, axis=1)


def _rivals(
    score: Floats, spacings: NDArray[np.int64], unit: int, spacing_at: NDArray[np.int64], landing_at: NDArray[np.int64]
) -> tuple[Floats, Floats]:
    """The best score of the same landing at shorter and at longer spacings than those a stroke away."""
    nowhere = np.full((1, score.shape[1]), NO_SUCH, np.float32)
    shorter = np.concatenate([nowhere, np.maximum.accumulate(score, axis=0)])
    longer = np.concatenate([np.maximum.accumulate(score[::-1], axis=0)[::-1], nowhere])
    below = np.searchsorted(spacings, spacings[spacing_at] - 2 * unit, side="left")
    above = np.searchsorted(spacings, spacings[spacing_at] + 2 * unit, side="right")
    return shorter[below, landing_at], longer[above, landing_at]


@compiled
def _product(rows, a, b, first, last):  # type: ignore[no-untyped-def]
    total = 0.0
    for k in range(first, last):
        total += rows[a, k] * rows[b, k]
    return total


@compiled
def _likeness(rows, first, last, tick, lag, low, high):  # type: ignore[no-untyped-def]
    """Cosine of the ticks from ``tick - high`` to ``tick - low`` with those that lie ``lag`` before them."""
    shared, one, other = 0.0, 0.0, 0.0
    n = rows.shape[0]
    for back in range(low, high + 1):
        a = tick - back
        b = a - lag
        if a < 0 or b < 0 or a >= n or b >= n:
            continue
        shared += _product(rows, a, b, first, last)
        one += _product(rows, a, a, first, last)
        other += _product(rows, b, b, first, last)
    least = QUIET * (high - low + 1)
    return shared / np.sqrt(max(one, least) * max(other, least))


@compiled
def _energy(rows, first, last, tick, low, high):  # type: ignore[no-untyped-def]
    """Mean energy of the ticks from ``tick - high`` to ``tick - low``."""
    total, count = 0.0, 0
    for back in range(low, high + 1):
        a = tick - back
        if 0 <= a < rows.shape[0]:
            total += _product(rows, a, a, first, last)
            count += 1
    return total / max(count, 1)


@compiled
def _evidence(rows, tick, lag, usual, evidence):  # type: ignore[no-untyped-def]
    """Running evidence of each stream that three passages are alike, back from the landing, shape (3, lag)."""
    for stream in range(3):
        first, last = _EDGES[stream], _EDGES[stream + 1]
        total = 0.0
        for back in range(lag):
            third = tick - back
            second, one = third - lag, third - 2 * lag
            if one < 0:
                evidence[stream, back] = -1e9
                continue
            shared = _product(rows, one, second, first, last)
            shared += _product(rows, second, third, first, last) + _product(rows, one, third, first, last)
            there = _product(rows, one, one, first, last) + _product(rows, second, second, first, last)
            there += _product(rows, third, third, first, last)
            total += (shared - UNLIKE * there) / 3 / usual[stream]
            evidence[stream, back] = total


@compiled
def _contour(semitone, tick, lag, span):  # type: ignore[no-untyped-def]
    """Share of ticks in which the lead keeps one distance (within a semitone) from what it played a spacing before."""
    counts = np.zeros(2 * FAR_SEMITONES + 3)
    total = 0
    for back in range(span + 1):
        a = tick - back
        b = a - lag
        if a < 0 or b < 0 or a >= len(semitone) or np.isnan(semitone[a]) or np.isnan(semitone[b]):
            continue
        total += 1
        away = int(np.rint(semitone[a] - semitone[b]))
        if -FAR_SEMITONES <= away <= FAR_SEMITONES:
            counts[away + FAR_SEMITONES + 1] += 1
    best, at = 0.0, 0
    for k in range(1, len(counts) - 1):
        share = counts[k] + 0.5 * (counts[k - 1] + counts[k + 1])
        if share > best:
            best, at = share, k - FAR_SEMITONES - 1
    return best / max(total, 6), at


@compiled
def _measure(rows, loudness, semitone, tick, lag, unit, usual, out, evidence):  # type: ignore[no-untyped-def]
    n = rows.shape[0]
    _evidence(rows, tick, lag, usual, evidence)
    spans = np.zeros(3, np.int64)
    i = 0
    for view in range(3):
        best, at = -1e9, unit
        for back in range(unit, lag):
            if view == 0:
                depth = evidence[0, back]
            elif view == 1:
                depth = evidence[1, back] + evidence[2, back]
            else:
                depth = evidence[0, back] + evidence[1, back] + evidence[2, back]
            if depth > best:
                best, at = depth, back
        spans[view] = at
        out[i] = best
        out[i + 1] = at / lag
        i += 2
    for view in range(3):
        span = spans[view]
        for stream in range(3):
            if (view == 0 and stream > 0) or (view == 1 and stream == 0):
                continue
            first, last = _EDGES[stream], _EDGES[stream + 1]
            later = _likeness(rows, first, last, tick, lag, 0, span)
            earlier = _likeness(rows, first, last, tick - lag, lag, 0, span)
            out[i] = min(later, earlier)
            out[i + 1] = max(later, earlier)
            out[i + 2] = _likeness(rows, first, last, tick, 2 * lag, 0, span)
            out[i + 3] = _likeness(rows, first, last, tick - 2 * lag, lag, 0, span)
            out[i + 4] = _likeness(rows, first, last, tick + lag, lag, 0, span)
            total, most, count = 0.0, 0.0, 0
            for step in BESIDE:
                beside = lag + step * unit
                if beside <= 0 or tick - beside - span < 0:
                    continue
                alike = _likeness(rows, first, last, tick, beside, 0, span)
                alike = (alike + _likeness(rows, first, last, tick - lag, beside, 0, span)) / 2
                total += alike
                count += 1
                most = max(most, alike)
            out[i + 5] = total / max(count, 1)
            out[i + 6] = most
            busy = _energy(rows, first, last, tick, 0, span) + _energy(rows, first, last, tick - lag, 0, span)
            busy += _energy(rows, first, last, tick - 2 * lag, 0, span)
            out[i + 7] = busy / 3 / usual[stream]
            gap = lag - span
            if gap > unit + 2:
                quiet = _energy(rows, first, last, tick - lag, 2 - gap, -2)
                quiet += _energy(rows, first, last, tick - 2 * lag, 2 - gap, -2)
                out[i + 8] = quiet / 2 / usual[stream]
            else:
                out[i + 8] = -1.0
            out[i + 9] = _likeness(rows, first, last, tick - lag, lag, span + 1, span + max(unit, lag // 3))
            i += 10
    half = lag // 2
    for stream in range(3):
        first, last = _EDGES[stream], _EDGES[stream + 1]
        later = _likeness(rows, first, last, tick, lag, 0, half)
        earlier = _likeness(rows, first, last, tick - lag, lag, 0, half)
        out[i] = min(later, earlier)
        out[i + 1] = _likeness(rows, first, last, tick - 2 * lag, lag, 0, half)
        out[i + 2] = _likeness(rows, first, last, tick + lag, lag, 0, half)
        halved = _likeness(rows, first, last, tick, half, 0, half) + _likeness(
            rows, first, last, tick - half, half, 0, half
        )
        halved += _likeness(rows, first, last, tick - lag, half, 0, half)
        out[i + 3] = halved / 3
        third = lag // 3
        thirds = _likeness(rows, first, last, tick, third, 0, lag - 1) + _likeness(
            rows, first, last, tick - lag, third, 0, lag
        )
        out[i + 4] = thirds / 2
        i += 5
    later, moved = _contour(semitone, tick, lag, spans[1])
    earlier, _ = _contour(semitone, tick - lag, lag, spans[1])
    out[i] = min(later, earlier)
    out[i + 1] = moved
    i += 2
    peak = 0.0
    for off in range(-2, 3):
        if 0 <= tick + off < n:
            peak = max(peak, loudness[tick + off])
    total, count = 0.0, 0
    for back in range(spans[2] + 1):
        for palla in range(3):
            a = tick - palla * lag - back
            if 0 < a < n - 1 and loudness[a] > 0.15 and loudness[a - 1] < loudness[a] >= loudness[a + 1]:
                total += loudness[a]
                count += 1
    out[i] = peak
    out[i + 1] = peak / max(total / max(count, 1), 0.05)
    out[i + 2] = count / 3
    i += 3
    for stream in range(3):
        first, last = _EDGES[stream], _EDGES[stream + 1]
        most = 0.0
        for off in range(-1, 2):
            if 0 <= tick + off < n:
                most = max(most, _product(rows, tick + off, tick + off, first, last))
        out[i] = most
        out[i + 1] = _energy(rows, first, last, tick, -max(lag - spans[2], unit), -3) / usual[stream]
        i += 2


@compiled
def _measure_all(rows, loudness, semitone, landing, spacing, unit, usual, out):  # type: ignore[no-untyped-def]
    evidence = np.zeros((3, spacing.max() + 1))
    for place in range(len(landing)):
        _measure(rows, loudness, semitone, landing[place], spacing[place], unit, usual, out[place], evidence)
