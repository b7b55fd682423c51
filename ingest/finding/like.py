"""Where a passage comes again: at any place, moved up or down, quicker or slower.

The passage, laid out as long as it would be at a laya, is held against every place of a course: the cosine of the two
as vectors, by Fourier transforms along time and, for the twelve transpositions at once, along the pitch classes. A
raga's own ladder is turned in the same way, since a sequence moves by steps of the raga, not by semitones.

What a cosine is worth depends on the passage and on the recording: theka is like itself everywhere. So it is told as
*height*: by how many times the usual spread it stands above what the passage is like at the other places of that
course, at that laya, in that way. Heights of melody and tabla add up as those of independent measurements, where both
together say more than one alone.

Conventions: a *lag* is the column at which the passage would begin. Melody is pitch and plucks; tabla the strokes by
kind.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ingest.finding.course import CLASSES, Columns, Course
from ingest.finding.example import LONGEST_NOTE_S, SHORTEST_NOTE_S, Example
from ingest.finding.lattice import Floats
from ingest.finding.searched import LEAST_COLUMNS, Ladder, Searched, cosines, on_ladder

By = Literal["any", "melody", "tabla", "both"]
Transposed = Literal["also", "only", "not"]
Moved = Literal["", "semitones", "steps"]

_SHORTER = tuple(Fraction(*ratio) for ratio in ((1, 8), (1, 6), (1, 4), (1, 3), (1, 2), (2, 3), (3, 4)))
GRID_RATIOS = (*_SHORTER, Fraction(1), *(1 / ratio for ratio in reversed(_SHORTER)))
"""How much longer, in matras, it may be: at half the laya, dugun, tigun and so on."""
PLAYED_RATIO = (0.45, 2.2)
"""How much longer, in seconds."""
SAME_MATRAS_RATIO = (0.25, 4.0)
"""How much longer, in seconds, where it takes as many matras."""
CLOCK_RATIOS = tuple(2 ** (step / 6) for step in range(-6, 7))
NOTE_STEP = 2 ** (1 / 4)
PLUCK_WEIGHT = 1.0
QUIET = 0.05
"""Mean square of a passage's columns below which there is nothing in it to compare."""
LEAST_SPREAD, HIGHEST = 0.15, 0.99
MOVED_SHARE, OTHER_LAYA_SHARE = 0.9, 0.8
"""What is moved counts so much less than what is not, and what takes more or fewer matras."""
OVERLAP = 0.5
SOUNDING = 0.3  # weight of a column in which the lead is heard


@dataclass(frozen=True)
class Likeness:
    """A place that is like the passage.

    Parameters
    ----------
    first, count : int
        Its columns in the course.
    ratio : Fraction or float
        How much longer it is in units of the course: matras, exactly, or seconds.
    height : float
        By how much it stands out, see the module's opening.
    melody, tabla : float
        How alike each is, cosines; 0 where it was not compared, or where only the tabla counts.
    moved : str
        Whether the melody lies elsewhere: by semitones, by steps of the raga's ladder, or not at all.
    by : int
        By how many, upwards; octaves count as twelve semitones, or as all rungs of the ladder.
    """

    first: int
    count: int
    ratio: Fraction | float
    height: float
    melody: float
    tabla: float
    moved: Moved
    by: int


@dataclass(frozen=True)
class Wanted:
    """What may differ.

    Parameters
    ----------
    by : str
        Which has to be alike: melody, tabla, both, or whichever is.
    transposed : str
        Whether the melody may lie elsewhere.
    any_laya : bool
        Whether it may take more or fewer matras; off the grid, whether it may be slower or quicker.
    """

    by: By = "any"
    transposed: Transposed = "also"
    any_laya: bool = True


ANYTHING = Wanted()


def ratios(example: Example, course: Course, any_laya: bool) -> list[Fraction | float]:
    """How much longer than the passage its likes may be on this course."""
    if example.played_s is None:
        return _ratios_of_typed(example, course, any_laya)
    if not course.on_grid or example.matras is None:
        return list(CLOCK_RATIOS) if any_laya else [1.0]
    played = course.unit_s * example.matras / example.played_s
    same = [Fraction(1)] if SAME_MATRAS_RATIO[0] <= played <= SAME_MATRAS_RATIO[1] else []
    if not any_laya:
        return list(same)
    others = [each for each in GRID_RATIOS if PLAYED_RATIO[0] <= played * float(each) <= PLAYED_RATIO[1]]
    return sorted({*same, *others})


def _ratios_of_typed(example: Example, course: Course, any_laya: bool) -> list[Fraction | float]:
    note = (example.shortest or 1.0) * (example.matras or 1.0) * course.unit_s
    if course.on_grid:
        wanted = GRID_RATIOS if any_laya else (Fraction(1),)
        return [each for each in wanted if SHORTEST_NOTE_S <= note * float(each) <= LONGEST_NOTE_S]
    count = int(np.log(LONGEST_NOTE_S / SHORTEST_NOTE_S) / np.log(NOTE_STEP)) + 1
    return [float(SHORTEST_NOTE_S / note * NOTE_STEP**step) for step in range(count)]


def likenesses(
    example: Example, searched: Searched, wanted: Wanted = ANYTHING, ladders: Sequence[Ladder] = (), most: int = 50
) -> list[Likeness]:
    """Find the places most like a passage, the likest first; none overlaps another by more than half.

    Parameters
    ----------
    example : Example
    searched : Searched
    wanted : Wanted
    ladders : sequence of Ladder
        Of the passage's raga, in the order of those of the course.
    most : int
        How many are returned.
    """
    found: list[_Place] = []
    length = example.matras if searched.course.on_grid and example.matras is not None else example.played_s
    if length is None:
        length = example.matras or 1.0
    for ratio in ratios(example, searched.course, wanted.any_laya):
        count = round(length * float(ratio) * searched.course.parts)
        if LEAST_COLUMNS <= count < len(searched.course):
            found += _at_ratio(example.columns(count), searched, wanted, ladders, ratio, most)
    return [_likeness(place, searched, ladders) for place in _apart(found, most)]


def _apart(found: Sequence[_Place], most: int) -> list[_Place]:
    """The highest of those that overlap, in order."""
    kept: list[_Place] = []
    for each in sorted(found, key=lambda place: -place.height):
        if len(kept) == most:
            break
        if not any(_overlap(each, other) > OVERLAP for other in kept):
            kept.append(each)
    return kept


def _overlap(one: _Place, other: _Place) -> float:
    shared = min(one.at + len(one.columns), other.at + len(other.columns)) - max(one.at, other.at)
    return shared / min(len(one.columns), len(other.columns))


@dataclass(frozen=True, eq=False)
class _Way:
    """How alike every lag is in one way: cosines and heights, and by how much the melody is moved, on which ladder."""

    moved: Moved
    ladder: int
    alike: Floats
    height: Floats
    by: NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class _Place:
    """A lag that stands out: the passage as it was laid out for it, and the way of its melody; None where only the
    tabla counts.
    """

    at: int
    columns: Columns
    ratio: Fraction | float
    height: float
    way: _Way | None
    tabla: float


def _at_ratio(
    columns: Columns, searched: Searched, wanted: Wanted, ladders: Sequence[Ladder], ratio: Fraction | float, most: int
) -> list[_Place]:
    ways = list(_melody_ways(columns, searched, wanted, ladders)) if wanted.by != "tabla" else []
    tabla = _tabla(columns, searched) if wanted.by != "melody" else None
    totals: list[tuple[_Way | None, Floats]] = [
        (way, _together(way.height, tabla.height, wanted.by) if tabla else way.height) for way in ways
    ]
    if tabla is not None and wanted.transposed != "only" and (wanted.by != "both" or not ways):
        totals.append((None, tabla.height))
    if not totals:
        return []
    heights = np.stack([total for _way, total in totals])
    height = heights.max(axis=0) * np.float32(1 if ratio == 1 else OTHER_LAYA_SHARE)
    drums = tabla.alike if tabla is not None else np.zeros_like(height)
    return [
        _Place(int(at), columns, ratio, float(height[at]), totals[int(heights[:, at].argmax())][0], float(drums[at]))
        for at in _peaks(height, len(columns), most)
    ]


def _likeness(place: _Place, searched: Searched, ladders: Sequence[Ladder]) -> Likeness:
    moved, by = _moved(place, place.way, searched, ladders) if place.way is not None else ("", 0)
    melody = float(place.way.alike[place.at]) if place.way is not None else 0.0
    return Likeness(place.at, len(place.columns), place.ratio, place.height, melody, place.tabla, moved, by)


def _moved(place: _Place, way: _Way, searched: Searched, ladders: Sequence[Ladder]) -> tuple[Moved, int]:
    """By how much the melody lies elsewhere, its octave too: the turn that was found, nearest to what is heard."""
    own, there = place.columns, searched.course.columns
    part = slice(place.at, place.at + len(own))
    sounding = np.minimum(own.pitch.sum(axis=1), there.pitch[part].sum(axis=1)) > SOUNDING
    heard = float(np.median((there.semitone[part] - own.semitone)[sounding])) if sounding.any() else 0.0
    rungs = len(ladders[way.ladder]) if way.moved == "steps" else CLASSES
    turned = int(way.by[place.at])
    by = turned + rungs * round((heard * rungs / CLASSES - turned) / rungs)
    return ("semitones" if not way.moved and by else way.moved), by


def _together(melody: Floats, tabla: Floats, by: By) -> Floats:
    both: Floats = (melody + tabla) / np.float32(np.sqrt(2))
    return both if by == "both" else np.maximum(melody, both)


def _melody_ways(columns: Columns, searched: Searched, wanted: Wanted, ladders: Sequence[Ladder]) -> Iterator[_Way]:
    if np.square(columns.pitch).sum() < QUIET * len(columns):
        return
    plucks = PLUCK_WEIGHT * searched.plucks.shared(columns.plucks[:, None], turned=False)
    more = PLUCK_WEIGHT * np.square(columns.plucks).sum(), PLUCK_WEIGHT * searched.plucks.energies(len(columns))
    alike = cosines(
        searched.pitch.shared(columns.pitch, turned=wanted.transposed != "not") + plucks,
        columns.pitch,
        searched.pitch,
        more,
    )
    spread = _spread(alike[0])
    if wanted.transposed != "only":
        yield _way("", 0, alike[:1], spread)
    if wanted.transposed == "not":
        return
    yield _way("semitones", 0, alike[1:], spread)
    for number, (ladder, own, there) in enumerate(zip(ladders, searched.ladders, searched.steps, strict=False)):
        if len(ladder) == len(own):
            rows = on_ladder(columns.pitch, ladder)
            alike = cosines(there.shared(rows, turned=True) + plucks, rows, there, more)
            yield _way("steps", number, alike[1:], spread)


def _tabla(columns: Columns, searched: Searched) -> _Way | None:
    if np.square(columns.tabla).sum() < QUIET * len(columns):
        return None
    alike = cosines(searched.tabla.shared(columns.tabla, turned=False), columns.tabla, searched.tabla)
    return _way("", 0, alike, LEAST_SPREAD)


def _way(moved: Moved, ladder: int, alike: Floats, spread: float) -> _Way:
    """Heights of the best of several turns; ``spread`` is that of what is not turned, which a best of many lessens."""
    by = alike.argmax(axis=0)
    best = np.take_along_axis(alike, by[None], axis=0)[0]
    bent = _bent(best)
    usual, high = np.percentile(bent, (50, 84))
    height = (bent - usual) / max(high - usual, spread)
    return _Way(moved, ladder, best, height * (MOVED_SHARE if moved else 1), by + (1 if moved else 0))


def _bent(cosine: Floats) -> Floats:
    """Cosines so bent that they spread alike wherever they lie: Fisher's transform."""
    bent: Floats = np.arctanh(np.clip(cosine, 0, HIGHEST))
    return bent


def _spread(cosine: Floats) -> float:
    usual, high = np.percentile(_bent(cosine), (50, 84))
    return max(float(high - usual), LEAST_SPREAD)


def _peaks(height: Floats, count: int, most: int) -> NDArray[np.int64]:
    """The highest lags of their surroundings, at most so many."""
    from scipy.ndimage import maximum_filter1d

    around = maximum_filter1d(height, 2 * max(1, count // 2) + 1, mode="nearest")
    tops = np.flatnonzero((height == around) & (height > 0))
    return tops[np.argsort(-height[tops], kind="stable")[:most]]
