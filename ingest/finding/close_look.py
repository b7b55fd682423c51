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

import numpy as np
from numpy.typing import NDArray

from ingest.finding.kernels import EDGES, contours, cosines, spans_of_views
from ingest.finding.lattice import Floats, Lattice
from ingest.finding.mukhra import Mukhra
from ingest.finding.scan import NO_SUCH, STREAMS, Scan, units_of

Ticks = NDArray[np.int64]

VIEWS = ("tabla", "lead", "both")
VIEW_STREAMS = {"tabla": ("tabla",), "lead": ("melody", "plucks"), "both": STREAMS}
BESIDE = (-2, -1, 1, 2)  # spacings beside the one looked at, in strokes

OF_VIEW = ("depth", "share")
OF_STREAM = ("least", "most", "far", "before", "after", "beside", "beside most", "busy", "busy dam", "edge")
OF_HALF = ("half least", "half before", "half after", "at half the spacing", "at a third")
OF_CYCLE = ("as the cycle before", "as the cycle after")
OF_CONTOUR = ("contour", "contour moved")
OF_LANDING = ("loud", "louder", "strokes")
OF_LANDED = ("at landing", "after landing")
MEASURES: tuple[str, ...] = (
    *(f"{view}: {name}" for view in VIEWS for name in OF_VIEW),
    *(f"{view}: {stream} {name}" for view in VIEWS for stream in VIEW_STREAMS[view] for name in OF_STREAM),
    *(f"{stream} {name}" for stream in STREAMS for name in OF_HALF),
    *(f"{stream} {name}" for stream in STREAMS for name in OF_CYCLE),
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
palla; ``at half the spacing``, ``at a third``: likeness where five or seven times would be told as three; ``as the
cycle before``, ``after``: likeness of all of it with the same place of another cycle; ``contour``: share of the lead's
sounding ticks that keep one distance in pitch, ``contour moved``: that distance; ``loud``, ``louder``: strength of the
landing, and against the pallas' strokes.
"""
CONTRASTS = ("before", "after", "beside most", "edge")
OF_CONTRAST = tuple(
    f"{view}: {stream} {name} less least" for view in VIEWS for stream in VIEW_STREAMS[view] for name in CONTRASTS
)
OF_PLACE = (
    *(f"{stream} height" for stream in STREAMS),
    *(f"{stream} elsewhere" for stream in STREAMS),
    *(f"{stream} fresh" for stream in STREAMS),
    "spacing s",
    "spacing matras",
    "spacing cycles",
    "spacing off the cycle",
    "spacing counted in",
    "on sam",
    "matras from sam",
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

SOUNDING, LOUD_ENOUGH = 0.3, 0.15
NO_DAM = -1.0
FAR_MATRAS = 3  # farther from sam than this all places are alike: where the mukhra is differs from gat to gat


OVERLAP = 0.4
"""Two places that are both kept share at most so much of the shorter."""


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
    return look_at(lattice, scanned, mukhra, *scanned.seeds(most))


def look_at(
    lattice: Lattice,
    scanned: Scan,
    mukhra: Mukhra | None,
    spacing_at: NDArray[np.int64],
    landing_at: NDArray[np.int64],
) -> Looked:
    """Look closely at places: numbers of their spacing and landing in the first look, the likeliest first."""
    landing, spacing = scanned.landings[landing_at], scanned.spacings[spacing_at]
    measured = _measured(lattice, landing, spacing)
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
        *scanned.fresh[:, spacing_at, landing_at],
        spacing * lattice.tick_s,
        spacing / lattice.parts,
        spacing / cycle,
        np.minimum(off, cycle - off) / lattice.parts,
        counted,
        place == 0,
        np.clip(_signed(place, cycle) / lattice.parts, -FAR_MATRAS, FAR_MATRAS),
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


def _signed(place: NDArray[np.int64], cycle: int) -> NDArray[np.int64]:
    """Places in the cycle as distances from the nearer sam."""
    return (place + cycle // 2) % cycle - cycle // 2


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


class _Streams:
    """What is compared, side by side, with running sums of it."""

    def __init__(self, lattice: Lattice) -> None:
        streams = (lattice.tabla, lattice.pitch, lattice.plucks[:, None])
        self.rows = np.ascontiguousarray(np.concatenate(streams, axis=1))
        self.energy = [np.square(rows).sum(axis=1, dtype=np.float64) for rows in streams]
        self.usual = np.array([energy.mean() + 1e-4 for energy in self.energy])
        self._running = [np.append(0.0, np.cumsum(energy)) for energy in self.energy]

    def alike(self, stream: int, tick: Ticks, lag: Ticks, low: Ticks, high: Ticks) -> NDArray[np.float64]:
        """Cosine of the ticks from ``tick - high`` to ``tick - low`` with those that lie ``lag`` before them."""
        out = np.empty(len(tick))
        cosines(self.rows, EDGES[stream], EDGES[stream + 1], tick, lag, low, high, out)
        return out

    def busy(self, stream: int, first: Ticks, last: Ticks) -> NDArray[np.float64]:
        """Mean energy from one tick to another, both included, the usual being 1; 0 outside the section."""
        running, n = self._running[stream], len(self.rows)
        begins, ends = np.clip(first, 0, n), np.clip(last + 1, 0, n)
        mean: NDArray[np.float64] = (running[ends] - running[begins]) / np.maximum(ends - begins, 1)
        return mean / self.usual[stream]


def _measured(lattice: Lattice, landing: Ticks, spacing: Ticks) -> NDArray[np.float64]:
    """What `MEASURES` names, shape (n, len(MEASURES))."""
    from scipy.ndimage import maximum_filter1d

    if not len(landing):
        return np.zeros((0, len(MEASURES)))
    streams, unit = _Streams(lattice), units_of(lattice)[-1]
    depth, spans = np.empty((len(landing), 3)), np.empty((len(landing), 3), np.int64)
    spans_of_views(streams.rows, landing, spacing, unit, streams.usual, depth, spans)
    columns = [column for view in range(3) for column in (depth[:, view], spans[:, view] / spacing)]
    for view, name in enumerate(VIEWS):
        for each in VIEW_STREAMS[name]:
            columns += _of_stream(streams, STREAMS.index(each), landing, spacing, spans[:, view], unit)
    for stream in range(3):
        columns += _of_half(streams, stream, landing, spacing)
    cycle = np.full_like(landing, lattice.matras * lattice.parts)
    whole = 2 * spacing + spans[:, 2]
    for stream in range(3):
        columns += [streams.alike(stream, landing + later, cycle, np.zeros_like(whole), whole) for later in (0, cycle)]
    sounding = np.where(lattice.voiced > SOUNDING, lattice.semitone, np.float32(np.nan))
    kept = np.empty((2, len(landing), 2))
    contours(sounding, landing, spacing, spans[:, 1], kept[0])
    contours(sounding, landing - spacing, spacing, spans[:, 1], kept[1])
    columns += [kept[:, :, 0].min(axis=0), kept[0, :, 1]]
    columns += _of_landing(lattice.loudness, landing, spacing, spans[:, 2])
    for stream in range(3):
        near = maximum_filter1d(streams.energy[stream], 3, mode="constant")
        after = streams.busy(stream, landing + 3, landing + np.maximum(spacing - spans[:, 2], unit))
        columns += [near[landing], after]
    return np.stack(columns, axis=1)


def _of_stream(
    streams: _Streams, stream: int, landing: Ticks, spacing: Ticks, span: Ticks, unit: int
) -> list[NDArray[np.float64]]:
    """What `OF_STREAM` names."""
    here = np.zeros_like(span)

    def alike(tick: Ticks, lag: Ticks) -> NDArray[np.float64]:
        return streams.alike(stream, tick, lag, here, span)

    later, earlier = alike(landing, spacing), alike(landing - spacing, spacing)
    total, most, count = np.zeros(len(span)), np.zeros(len(span)), np.zeros(len(span))
    for step in BESIDE:
        lag = spacing + step * unit
        there = (lag > 0) & (landing - lag - span >= 0)
        found = np.where(there, (alike(landing, lag) + alike(landing - spacing, lag)) / 2, 0.0)
        total, most, count = total + found, np.maximum(most, found), count + there
    pallas = [streams.busy(stream, landing - back * spacing - span, landing - back * spacing) for back in range(3)]
    gap = spacing - span
    dams = [streams.busy(stream, landing - back * spacing + 2, landing - back * spacing + gap - 2) for back in (1, 2)]
    edge = streams.alike(stream, landing - spacing, spacing, span + 1, span + np.maximum(unit, spacing // 3))
    return [
        np.minimum(later, earlier), np.maximum(later, earlier), alike(landing, 2 * spacing),
        alike(landing - 2 * spacing, spacing), alike(landing + spacing, spacing), total / np.maximum(count, 1), most,
        np.mean(pallas, axis=0), np.where(gap > unit + 2, np.mean(dams, axis=0), NO_DAM), edge,
    ]  # fmt: skip


def _of_half(streams: _Streams, stream: int, landing: Ticks, spacing: Ticks) -> list[NDArray[np.float64]]:
    """What `OF_HALF` names."""
    here, half, third = np.zeros_like(spacing), spacing // 2, spacing // 3

    def alike(tick: Ticks, lag: Ticks, span: Ticks) -> NDArray[np.float64]:
        return streams.alike(stream, tick, lag, here, span)

    halved = alike(landing, half, half) + alike(landing - half, half, half) + alike(landing - spacing, half, half)
    thirds = alike(landing, third, spacing - 1) + alike(landing - spacing, third, spacing)
    return [
        np.minimum(alike(landing, spacing, half), alike(landing - spacing, spacing, half)),
        alike(landing - 2 * spacing, spacing, half), alike(landing + spacing, spacing, half), halved / 3, thirds / 2,
    ]  # fmt: skip


def _of_landing(loudness: Floats, landing: Ticks, spacing: Ticks, span: Ticks) -> list[NDArray[np.float64]]:
    """What `OF_LANDING` names."""
    from scipy.ndimage import maximum_filter1d

    inner = loudness[1:-1]
    is_top = np.zeros(len(loudness), bool)
    is_top[1:-1] = (inner > LOUD_ENOUGH) & (loudness[:-2] < inner) & (inner >= loudness[2:])
    total, count = (
        np.append(0.0, np.cumsum(each, dtype=np.float64)) for each in (np.where(is_top, loudness, 0), is_top)
    )
    tops, strokes = np.zeros(len(landing)), np.zeros(len(landing))
    for back in range(3):
        last = landing - back * spacing
        begins, ends = np.clip(last - span, 0, len(loudness)), np.clip(last + 1, 0, len(loudness))
        tops += total[ends] - total[begins]
        strokes += count[ends] - count[begins]
    peak = maximum_filter1d(loudness.astype(np.float64), 5, mode="constant")[landing]
    return [peak, peak / np.maximum(tops / np.maximum(strokes, 1), 0.05), strokes / 3]
