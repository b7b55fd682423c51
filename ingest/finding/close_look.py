"""Second look: everything that speaks for and against three pallas that end at a landing, measured.

Three *views* are taken of a place: of the tabla alone, of the lead alone (its pitch and its plucks), of both. In each
view the palla is taken to reach back from the landing as far as the three passages go on being alike; what is measured
of it is in `MEASURES`, by name.

Conventions: ticks as in `lattice`; an offset ``o`` is counted back from the landing (or from a palla's landing stroke).
Likeness as in `streams`. What the first look knows of a place is measured with it (`sieve`).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ingest.finding.endings import OF_ENDING, measure_endings
from ingest.finding.kernels import contours, spans_of_views
from ingest.finding.lattice import Floats, Lattice
from ingest.finding.scan import STREAMS, units_of
from ingest.finding.sieve import FIRST, FirstLook
from ingest.finding.streams import Streams, Ticks

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
NAMES = MEASURES + OF_CONTRAST + OF_ENDING + FIRST + ("as sifted",)
"""All columns of `Looked.measures`; the last is what was told of the place after the first look, as log odds."""

SOUNDING, LOUD_ENOUGH = 0.3, 0.15
NO_DAM = -1.0


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


def look_at(
    first_look: FirstLook, spacing_at: NDArray[np.int64], landing_at: NDArray[np.int64], told: Floats | None = None
) -> Looked:
    """Look closely at places of a section.

    Parameters
    ----------
    first_look : FirstLook
    spacing_at, landing_at : ndarray of int64, shape (n,)
        Numbers of their spacing and landing in the first look.
    told : ndarray of float32, shape (n,), optional
        Their log odds after it; 0 where they were not sifted.
    """
    lattice, scanned = first_look.lattice, first_look.scanned
    landing, spacing = scanned.landings[landing_at], scanned.spacings[spacing_at]
    if not len(landing):
        return Looked(landing, spacing, np.zeros((0, len(NAMES)), np.float32))
    streams = Streams(lattice)
    measured = _measured(lattice, streams, landing, spacing)
    endings = measure_endings(streams, landing, spacing, units_of(lattice)[-1], lattice.parts)
    sifted = np.zeros(len(landing), np.float32) if told is None else told
    parts: list[NDArray[np.floating]] = [
        measured, _contrasts(measured), np.stack(endings, axis=1), first_look.measured(spacing_at, landing_at),
        sifted[:, None],
    ]  # fmt: skip
    return Looked(landing, spacing, np.concatenate([part.astype(np.float32) for part in parts], axis=1))


def _contrasts(measured: NDArray[np.float64]) -> NDArray[np.float64]:
    """How much less alike the three are with what is not theirs."""
    at = {name: number for number, name in enumerate(MEASURES)}
    columns = []
    for name in OF_CONTRAST:
        of_stream = next(f" {each} less least" for each in CONTRASTS if name.endswith(f" {each} less least"))
        stream = name.removesuffix(of_stream)
        columns.append(measured[:, at[name.removesuffix(" less least")]] - measured[:, at[f"{stream} least"]])
    return np.stack(columns, axis=1)


def _measured(lattice: Lattice, streams: Streams, landing: Ticks, spacing: Ticks) -> NDArray[np.float64]:
    """What `MEASURES` names, shape (n, len(MEASURES))."""
    from scipy.ndimage import maximum_filter1d

    unit = units_of(lattice)[-1]
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
    streams: Streams, stream: int, landing: Ticks, spacing: Ticks, span: Ticks, unit: int
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


def _of_half(streams: Streams, stream: int, landing: Ticks, spacing: Ticks) -> list[NDArray[np.float64]]:
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
