"""A piece as it was played: the passage of the recording from sam to sam, or exactly it, and each palla by itself.

Conventions: positions as in :mod:`plan`, 0 at the sam of the avartan in which the piece begins on paper. Times of the
recording are rounded to the samples of the copy once, here, and are exact from then on.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from annotate.archive import Archive
from annotate.grid import Grid
from annotate.practice.errors import CannotSound
from annotate.practice.pieces import Piece
from annotate.practice.sounds.plan import Pace, Spot, Stretch
from annotate.practice.sounds.wishes import PartKind, SoundWishes
from annotate.records import TihaiRecord
from annotate.verify import section_of, tolerance_at
from ingest.sound_writing import RATE_HZ
from theory.notation import parse
from theory.numbers import spoken
from theory.tihai import Tihai, landing_offset

LANDING_RINGS_MATRAS = 1
"""So long the landing rings on where exactly the piece is played."""
_FINEST = 960  # parts of a matra to which a place that was played is rounded, for counting in


@dataclass(frozen=True)
class Passage:
    """A stretch of the recording: what a round of it is, and its limits in seconds of the recording."""

    stretch: Stretch
    start_s: float
    end_s: float


def played_passages(piece: Piece, grid: Grid | None, wishes: SoundWishes) -> tuple[tuple[Passage, ...], list[str]]:
    """Return what is played in turn, and what had to be made otherwise than wished for.

    Parameters
    ----------
    piece : Piece
    grid : Grid or None
        As :func:`grid_around` gives it.
    wishes : SoundWishes

    Raises
    ------
    CannotSound
        From sam to sam is wished for and there is no grid around, or a palla is wished for that is not marked.
    """
    told: list[str] = []
    if wishes.pallas_alone and piece.tihai is not None:
        return tuple(_pallas(piece, piece.tihai, grid)), told
    if grid is None and not wishes.exactly:
        if piece.tala is not None:
            raise CannotSound(
                f"No matras are known around {piece.address}, so that it cannot be played from sam to sam. Mark sams "
                f"there (layakosh sam {piece.slug} ...), or ask for exactly the passage (--exactly)."
            )
        told.append("It stands outside any tala: exactly the passage is played, without clicks.")
    if grid is None or wishes.exactly:
        return (_exactly(piece, grid),), told
    return (_from_sam_to_sam(piece, grid, wishes, told),), told


def grid_around(archive: Archive, piece: Piece) -> Grid | None:
    """Return the grid of the section that a piece is played in; None outside any tala, or where no sam is known."""
    grid = archive.grid(piece.slug)
    return section_of(piece.tihai, grid) if piece.tihai is not None else grid.at(piece.start_s)


def _from_sam_to_sam(piece: Piece, grid: Grid, wishes: SoundWishes, told: list[str]) -> Passage:
    matras = grid.tala.matras
    cycle, _ = grid.nearest_occurrence(piece.start_s, piece.start)
    origin = (cycle - 1) * matras
    begins, ends = (float(grid.absolute(time_s)) - origin for time_s in (piece.start_s, piece.end_s))
    reach = [tolerance_at(grid, at) / 1000 / grid.matra_length_s(at) for at in (piece.start_s, piece.end_s)]
    first = math.floor((begins + reach[0]) / matras)
    closing = max(math.ceil((ends - reach[1]) / matras), first + 1)
    meets = abs(ends - closing * matras) <= reach[1]
    after = wishes.after if wishes.after is not None else int(meets and piece.tihai is not None)

    def time_of(avartan: int) -> float:
        return grid.time_of(cycle + avartan, 1)

    opening, last = first - wishes.before, closing + after
    while opening < first and time_of(opening) < min(grid.start_s, float(grid.sam_s[0])) - 0.01:
        opening += 1
    while last > closing and time_of(last) > max(grid.end_s, float(grid.matra_s[-1])) + 0.01:
        last -= 1
    for turns, what, wanted, got in (
        ("begins", "before", wishes.before, first - opening),
        ("ends", "after", after, last - closing),
    ):
        if got < wanted:
            count = {0: "No avartan", 1: "Only one avartan"}.get(got, f"Only {got} avartans")
            told.append(f"{count} of the section {'lies' if got < 2 else 'lie'} {what} it: a round {turns} there.")
    places = [(Fraction(at), grid.time_of(cycle, at + 1)) for at in range(opening * matras, last * matras + 1)]
    return _passage(piece, places, grid, closes=True)


def _exactly(piece: Piece, grid: Grid | None) -> Passage:
    end_s = piece.end_s
    if piece.tihai is not None:
        end_s += LANDING_RINGS_MATRAS * _matra_s(piece, grid, piece.end_s)
    return _passage(piece, _between(piece, grid, piece.start_s, end_s, _written(piece)), grid, closes=False)


def _written(piece: Piece) -> Fraction:
    """How many matras exactly the piece has on paper; of a tihai with those in which its landing rings."""
    if piece.tihai is not None and isinstance(piece.unit, Tihai):
        return landing_offset(piece.unit, piece.tihai.rule) + LANDING_RINGS_MATRAS
    return piece.passage.length


def _pallas(piece: Piece, tihai: TihaiRecord, grid: Grid | None) -> Iterator[Passage]:
    for number, (begin_s, end_s) in enumerate(_palla_times(piece, tihai), 1):
        places = _between(piece, grid, begin_s, end_s, parse(tihai.palla).length)
        yield _passage(piece, places, grid, closes=False, words=f"palla {number}, round", spots=False)


def _palla_times(piece: Piece, tihai: TihaiRecord) -> list[tuple[float, float]]:
    """When each palla begins and ends: as long on as it is written, at the pace of its own matras."""
    if len(tihai.palla_s) < 3 or not isinstance(piece.unit, Tihai):
        raise CannotSound(
            f"Of {piece.address} only the interval is marked, so that its pallas cannot be played by themselves. Mark "
            "the three pallas, or make the sound from notation (--from notation)."
        )
    unit = piece.unit
    matra_s = (tihai.palla_s[2] - tihai.palla_s[0]) / float(2 * (unit.palla.length + unit.dam))
    return [(begin_s, begin_s + float(unit.palla.length) * matra_s) for begin_s in tihai.palla_s]


def _between(
    piece: Piece, grid: Grid | None, start_s: float, end_s: float, written: Fraction
) -> list[tuple[Fraction, float]]:
    """Places and times from one moment to another: its ends, and the matras between; without a grid as written."""
    if grid is None:
        return [(piece.start - 1, start_s), (piece.start - 1 + written, end_s)]
    cycle, _ = grid.nearest_occurrence(start_s, piece.start)
    origin = (cycle - 1) * grid.tala.matras
    first, last = (_simple(float(grid.absolute(time_s)) - origin) for time_s in (start_s, end_s))
    inner = [(Fraction(at), grid.time_of(cycle, at + 1)) for at in range(math.floor(first) + 1, math.ceil(last))]
    return [(first, start_s), *inner, (last, end_s)]


def _simple(position: float) -> Fraction:
    return Fraction(round(position * _FINEST), _FINEST)


def _passage(
    piece: Piece,
    places: list[tuple[Fraction, float]],
    grid: Grid | None,
    *,
    closes: bool,
    words: str = "round",
    spots: bool = True,
) -> Passage:
    start_s, end_s = places[0][1], places[-1][1]
    origin = _sample(start_s)
    knots = [(at, _sample(time_s) - origin) for at, time_s in places]
    if start_s < 0 or any(right[1] <= left[1] for left, right in pairwise(knots)):
        raise CannotSound(
            f"The times around {piece.address} do not run on (from {start_s:.3f} s to {end_s:.3f} s): look at its "
            "times, and at the sams around it (layakosh grid)."
        )
    lasts_s = _sample(end_s) - origin
    # what lands on the sam that ends a round sounds in what follows
    named = tuple(each for each in _spots(piece, grid, origin, lasts_s) if each.end_s > each.begin_s) if spots else ()
    return Passage(Stretch(words, Pace(tuple(knots)), named, closes), float(origin), end_s)


def _sample(time_s: float) -> Fraction:
    """The time of the nearest sample."""
    return Fraction(round(time_s * RATE_HZ), RATE_HZ)


def _spots(piece: Piece, grid: Grid | None, origin: Fraction, lasts_s: Fraction) -> Iterator[Spot]:
    tihai = piece.tihai
    if tihai is None or len(tihai.palla_s) < 3:
        return
    pallas = _palla_times(piece, tihai)
    for number, (begin_s, end_s) in enumerate(pallas, 1):
        yield _spot(begin_s, end_s, f"palla {number}", "palla", origin, lasts_s)
        if number < len(pallas) and tihai.dam:
            yield _spot(end_s, pallas[number][0], f"dam {number}", "dam", origin, lasts_s)
    rings_s = LANDING_RINGS_MATRAS * _matra_s(piece, grid, piece.end_s)
    yield _spot(tihai.landing_s, tihai.landing_s + rings_s, "landing", "landing", origin, lasts_s)


def _spot(begin_s: float, end_s: float, words: str, kind: PartKind, origin: Fraction, lasts_s: Fraction) -> Spot:
    begin, end = (min(max(_sample(each) - origin, Fraction(0)), lasts_s) for each in (begin_s, end_s))
    return Spot(begin, end, words, kind)


def _matra_s(piece: Piece, grid: Grid | None, time_s: float) -> float:
    if grid is not None:
        return grid.matra_length_s(time_s)
    return 60 / (piece.per_minute or 60)


def speed_words(speed: Fraction) -> str:
    """Say a speed: "at 65 %"."""
    return f"at {spoken(speed)} %"
