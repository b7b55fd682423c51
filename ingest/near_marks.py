"""A course followed again where sams were marked, from the course that was followed without marks.

The grid of a section shall follow from its marks and its sound, whatever the order in which the marks were made. So the
section is followed once without marks, and marks change that course near them, as far as it takes: a stretch around
each is followed again, with the marks as hard constraints and free at both ends, and is taken over from where it leaves
the old course to where it has come back to it. A stretch that does not come back on one side, as where a mark turns the
cycle, is followed again to the end of the section on that side.

In a stretch only such lengths of the matra are tried as the old course leads one to expect (about as long as there,
half and twice as long) and as the marks say (two neighbours an avartan apart). It is this that makes it quick. Where no
course of these lengths meets the marks, every length is tried.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ingest.bar_pointer import OVERLAP, WINDOW, Filling, Model, Path, decode

AROUND_S, AROUND_AVARTANS = 25.0, 1.5  # followed again on either side of a mark, at least
AGAIN = 4  # matras in a row in which two courses agree where they are the same from there on
RATIOS = (0.5, 1.0, 2.0)
WITHIN = 1.1  # of a length that is expected, as a ratio
STEADY = 4  # matras on either side over which the old course's lengths are taken together
MOST_WIDENED = 3  # windows may be so many times as large, for their lengths are fewer


class _Stretch(NamedTuple):
    first: int
    last: int


class _Followed(NamedTuple):
    """A stretch followed again, its matras from the first to the last that are taken over."""

    path: Path
    leaves: int
    returns: int


def decode_near(model: Model, frames: int, sams: Sequence[int], known: Path, around: int) -> Path | None:
    """Follow a section again where sams are marked.

    Parameters
    ----------
    model : Model
    frames : int
        Length of the section.
    sams : sequence of int
        Frames on which sam must fall, ascending, one at least.
    known : Path
        The section's course without marks, followed with the same model.
    around : int
        Frames on either side of a mark that are followed again, at least.

    Returns
    -------
    Path or None
        Its score is NaN, since courses were not compared as wholes. None when no course meets all the sams.
    """
    spans = _around(frames, sams, max(around, round(AROUND_AVARTANS * model.matras * _slowest(known))))
    done: list[tuple[_Stretch, _Followed]] = []
    while spans:
        span = spans.pop(0)
        marks = [sam for sam in sams if span.first <= sam < span.last]
        path = _follow(model, span, marks, known)
        if path is None:
            return None
        leaves = 0 if span.first == 0 else _first_agreement(known, path, marks[0])
        returns = len(path.frame) - 1 if span.last == frames else _last_agreement(known, path, marks[-1])
        if leaves is not None and returns is not None:
            done.append((span, _Followed(path, leaves, returns)))
            continue
        wider = _Stretch(0 if leaves is None else span.first, frames if returns is None else span.last)
        spans = [wider, *(each for each in spans if each.first >= wider.last)]
        done = [each for each in done if each[0].last <= wider.first]
    return _spliced(known, [followed for _, followed in done], done[0][0].first == 0, done[-1][0].last == frames)


def _around(frames: int, sams: Sequence[int], reach: int) -> list[_Stretch]:
    spans: list[_Stretch] = []
    for sam in sams:
        first, last = max(0, sam - reach), min(frames, sam + reach)
        if spans and first <= spans[-1].last:
            first = spans.pop().first
        spans.append(_Stretch(first, last))
    return spans


def _follow(model: Model, span: _Stretch, marks: Sequence[int], known: Path) -> Path | None:
    few = _with_lengths(model, _expected(model, span, marks, known))
    wide = min(len(model.lengths) // max(1, len(few.lengths)), MOST_WIDENED)
    for lengths, size in ((few, wide), (model, 1)):
        path = decode(lengths, span.last, marks, WINDOW * size, OVERLAP * size, first=span.first)
        if path is not None:
            return path
    return None


def _expected(model: Model, span: _Stretch, marks: Sequence[int], known: Path) -> NDArray[np.bool_]:
    """Which lengths of the matra are tried in a stretch, shape (l,)."""
    steady = _steady(known)
    inside = (known.frame >= span.first - steady.max()) & (known.frame < span.last)
    here = steady[inside] if inside.any() else steady
    said = [(other - one) / model.matras for one, other in pairwise(marks)]
    at = [steady[np.abs(known.frame - one).argmin()] for one in marks[:-1]]
    wanted = np.zeros(len(model.lengths), dtype=bool)
    for ratio in (*RATIOS, *(length / usual for length, usual in zip(said, at, strict=True))):
        low, high = here.min() * ratio / WITHIN, here.max() * ratio * WITHIN
        wanted |= (model.lengths >= low) & (model.lengths <= high)
    return wanted if wanted.any() else np.ones(len(model.lengths), dtype=bool)


def _steady(path: Path) -> NDArray[np.float64]:
    """Length of each matra of a path, in frames, as the median of those around it."""
    from scipy.ndimage import median_filter

    lengths = np.diff([*path.frame, path.end]).astype(np.float64)
    steady: NDArray[np.float64] = median_filter(lengths, 2 * STEADY + 1, mode="nearest")
    return steady


def _slowest(path: Path) -> float:
    return float(np.percentile(_steady(path), 90))


def _with_lengths(model: Model, wanted: NDArray[np.bool_]) -> Model:
    return replace(
        model,
        lengths=model.lengths[wanted],
        fillings=[Filling(filling.share, filling.level[wanted]) for filling in model.fillings],
        solo_parts=model.solo_parts[:, wanted] if model.solo_parts.size else model.solo_parts,
    )


def _agreeing(known: Path, found: Path) -> NDArray[np.bool_]:
    """Whether a run of `AGAIN` matras that begins here is in both paths; shape (matras of found - AGAIN + 1,)."""
    at = np.searchsorted(known.frame, found.frame)
    there = np.minimum(at, len(known.frame) - 1)
    same = known.frame[there] == found.frame
    same &= (known.matra[there] == found.matra) & (known.solo[there] == found.solo)
    if len(same) < AGAIN:
        return np.zeros(0, dtype=bool)
    return np.asarray(np.lib.stride_tricks.sliding_window_view(same, AGAIN).all(axis=-1))


def _first_agreement(known: Path, found: Path, mark: int) -> int | None:
    """First matra of a run in both paths that ends by the mark."""
    runs = _agreeing(known, found)
    runs &= found.frame[AGAIN - 1 :][: len(runs)] <= mark
    return int(runs.argmax()) if runs.any() else None


def _last_agreement(known: Path, found: Path, mark: int) -> int | None:
    """Last matra of a run in both paths that begins at the mark or later."""
    runs = _agreeing(known, found)
    runs &= found.frame[: len(runs)] >= mark
    return len(runs) - 1 - int(runs[::-1].argmax()) + AGAIN - 1 if runs.any() else None


def _spliced(known: Path, stretches: Sequence[_Followed], from_the_start: bool, to_the_end: bool) -> Path:
    pieces: list[tuple[Path, slice]] = []
    since = 0
    for number, (path, leaves, returns) in enumerate(stretches):
        until = int(np.searchsorted(known.frame, path.frame[leaves]))
        if number or not from_the_start:
            pieces.append((known, slice(since, until)))
        pieces.append((path, slice(leaves, returns + 1)))
        since = int(np.searchsorted(known.frame, path.frame[returns], side="right"))
    if not to_the_end:
        pieces.append((known, slice(since, None)))
    return Path(
        np.concatenate([path.frame[part] for path, part in pieces]),
        np.concatenate([path.matra[part] for path, part in pieces]),
        np.concatenate([path.solo[part] for path, part in pieces]),
        pieces[-1][0].end,
        float("nan"),
    )
