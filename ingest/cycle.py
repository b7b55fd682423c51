"""The cycle through a section: the time of every matra and every sam, for a given tala.

Conventions: matras are numbered from 1 (sam); cycle 1 begins with the first sam at or after the section's start, and
what lies before it is cycle 0. Times are seconds from the recording's start. A matra belongs to the section when it
begins in it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ingest.bar_pointer import Filling, Model, Path, Stroke, decode, matra_lengths
from ingest.errors import ConflictingSams, NoPulse
from ingest.evidence import Evidence
from ingest.matras_between_sams import matras_between_sams, onsets_heard
from ingest.near_marks import AROUND_S, decode_near
from ingest.refine import refine
from ingest.strokes_heard import StrokesHeard, strokes_heard
from ingest.theka_profile import (
    FILLED_AS_SAID,
    LEVELS,
    PLAYED_IN_A_SOLO,
    fill_strokes,
    filled_places,
    open_side,
    solo_parts,
    theka_places,
)
from theory.talas import Tala

SLOWEST_MPM, FASTEST_MPM = 10.0, 330.0  # matras per minute
AFTER_END_S = 0.05  # a last matra on the very end is still heard
# How sure a sam is: by the theka over so many avartans on either side, at a temperature, since neighbouring strokes are
# not independent; both chosen so that on rendered concerts about as many sams are right as their confidence says.
ROTATION_AVARTANS, ROTATION_TEMPERATURE = 4, 4.0


@dataclass(frozen=True)
class CycleFit:
    """Matras and sams of a section.

    Parameters
    ----------
    cycle, matra : ndarray of int, shape (k,)
        Position of each matra: cycle number (0 before the first sam) and matra number from 1.
    matra_s : ndarray of float64, shape (k,)
        When each begins, ascending.
    confidence : ndarray of float32, shape (k,)
        0 to 1: how plainly the strokes bear it out.
    sam_s : ndarray of float64, shape (c,)
        The times among ``matra_s`` where ``matra`` is 1.
    sam_source : list of str, length c
        ``"marked"`` or ``"tracked"``.
    sam_confidence : ndarray of float32, shape (c,)
        0 to 1; 1 for the marked. For the tracked: the share of likelihood that the cycle, at these matras, begins
        here and not on another matra.
    solo : ndarray of bool, shape (k,)
        Where the tabla has left the theka, by what was followed; nowhere where the matras were laid out without it.
    score : float
        Log likelihood of this course against coincidence, for comparing readings of one section; NaN where the matras
        were laid out without one.
    """

    cycle: NDArray[np.int64]
    matra: NDArray[np.int64]
    matra_s: NDArray[np.float64]
    confidence: NDArray[np.float32]
    sam_s: NDArray[np.float64]
    sam_source: list[str]
    sam_confidence: NDArray[np.float32]
    solo: NDArray[np.bool_]
    score: float = float("nan")


def fit_cycle(
    evidence: Evidence,
    start_s: float,
    end_s: float,
    tala: Tala,
    marked_sams_s: Sequence[float] = (),
    laya_mpm: tuple[float, float] = (SLOWEST_MPM, FASTEST_MPM),
    unmarked: Path | None = None,
) -> CycleFit:
    """Follow the cycle through a section by what the strokes say.

    Parameters
    ----------
    evidence : Evidence
    start_s, end_s : float
        The section.
    tala : Tala
        Its theka is what is looked for.
    marked_sams_s : sequence of float
        Sams named by a person; they come back exactly. How many avartans lie between two of them follows from the
        strokes; as few as these allow.
    laya_mpm : tuple of float
        Slowest and fastest laya looked for, in matras a minute.
    unmarked : Path, optional
        The section's course without marks, from `follow_unmarked`: it is followed again only where marks change it.

    Returns
    -------
    CycleFit

    Raises
    ------
    NoPulse
        When no strokes are heard in the section, or the tala's theka is not known, and fewer than two sams are marked.
        With two or more marked, the matras are laid out by whatever strokes are heard, as `straight_cycle` does, at
        confidence 0.
    ConflictingSams
        When marked sams lie outside the section, or closer than an avartan at the fastest laya.
    """
    marks_s = _checked_marks(start_s, end_s, tala, marked_sams_s)
    end_s = min(end_s, max([evidence.duration_s, *marks_s]))
    heard = strokes_heard(evidence, start_s, end_s + AFTER_END_S)
    if not _can_follow(heard, tala):
        if len(marks_s) >= 2:
            return straight_cycle(start_s, end_s, tala, marks_s, onsets_heard(evidence, start_s, end_s))
        raise NoPulse(start_s, end_s, tala.name if heard.any_tabla else "")
    marks = [round((mark - start_s) / heard.hop_s) for mark in marks_s]
    path = _path(heard, tala, marks, laya_mpm, unmarked)
    if path is None:
        raise ConflictingSams(
            f"No cycle of {tala.name} meets all the marked sams between {start_s:.1f} s and {end_s:.1f} s.\n"
            "Look for a mark that is not a sam, and take it away."
        )
    time_s = (start_s + path.frame * heard.hop_s).astype(np.float64)
    firm = np.zeros(len(time_s), dtype=bool)
    for mark in marks_s:
        nearest = int(np.abs(time_s - mark).argmin())
        time_s[nearest], firm[nearest] = mark, True
    time_s, prominence = refine(evidence, time_s, firm)
    rotation = _rotation_confidence(heard, tala, time_s - start_s, path)
    inside = (time_s >= start_s - 1e-9) & (time_s <= end_s + 1e-9)
    confidence = _smoothed(prominence)
    numbered = _numbered(path.matra[inside] + 1, time_s[inside], confidence[inside], firm[inside], rotation[inside])
    return replace(numbered, solo=path.solo[inside], score=path.score)


def follow_unmarked(evidence: Evidence, start_s: float, end_s: float, tala: Tala) -> Path | None:
    """Follow the cycle by the strokes alone, for `fit_cycle` to go on from; None where it cannot be followed."""
    end_s = min(end_s, evidence.duration_s)
    heard = strokes_heard(evidence, start_s, end_s + AFTER_END_S)
    return _path(heard, tala, (), (SLOWEST_MPM, FASTEST_MPM)) if _can_follow(heard, tala) else None


def straight_cycle(
    start_s: float,
    end_s: float,
    tala: Tala,
    sams_s: Sequence[float],
    strokes_s: Sequence[float] | NDArray[np.float64] = (),
) -> CycleFit:
    """Lay out matras between marked sams, when no drum can be followed: evenly, or by the lead's strokes if given.

    Each pair of consecutive sams bounds one avartan: nothing is guessed about sams left out between them. Before the
    first and after the last sam the matras go on at the length of the nearest avartan.

    Raises
    ------
    ConflictingSams
        Fewer than two sams, or sams outside the section, or two at the same time.
    """
    sams = _checked_marks(start_s, end_s, tala, sams_s, fastest_mpm=np.inf)
    if len(sams) < 2:
        raise ConflictingSams(
            f"To lay out {tala.name} without sound takes two sams or more from {start_s:.1f} s to {end_s:.1f} s.\n"
            "Mark them, or move the section's ends to where they are."
        )
    anchors = np.array(sams)
    first_s, last_s = np.diff(anchors)[[0, -1]] / tala.matras
    before = int((anchors[0] - start_s) / first_s + 1e-9)
    after = int((end_s - anchors[-1]) / last_s + 1e-9)
    position = np.arange(-before, (len(anchors) - 1) * tala.matras + after + 1)
    time_s = np.interp(position, np.arange(len(anchors)) * tala.matras, anchors)
    if len(strokes_s):
        time_s[before : len(time_s) - after] = matras_between_sams(anchors, strokes_s, tala.matras)
    time_s[:before] = anchors[0] + position[:before] * first_s
    if after:
        time_s[-after:] = anchors[-1] + np.arange(1, after + 1) * last_s
    matra = position % tala.matras + 1
    firm = np.isin(time_s, anchors)
    nothing = np.zeros(len(time_s))
    return _numbered(matra, time_s, nothing, firm, nothing)


def _checked_marks(
    start_s: float, end_s: float, tala: Tala, sams_s: Sequence[float], fastest_mpm: float = FASTEST_MPM
) -> list[float]:
    marks = sorted({float(sam) for sam in sams_s})
    outside = [mark for mark in marks if not start_s <= mark <= end_s]
    if outside:
        raise ConflictingSams(
            f"The sam marked at {outside[0]:.2f} s lies outside its section, {start_s:.2f} s to {end_s:.2f} s.\n"
            "Mark sams inside the section, or widen it."
        )
    least_s = tala.matras * 60 / fastest_mpm
    for one, other in pairwise(marks):
        if other - one < least_s:
            raise ConflictingSams(
                f"The sams marked at {one:.2f} s and {other:.2f} s are {other - one:.2f} s apart; "
                f"an avartan of {tala.name} takes at least {least_s:.1f} s.\nTake one of the two away."
            )
    return marks


def _can_follow(heard: StrokesHeard, tala: Tala) -> bool:
    """Whether there is something to listen to, and something to listen for."""
    return heard.any_tabla and tala.theka_known


def _path(
    heard: StrokesHeard, tala: Tala, sams: Sequence[int], laya_mpm: tuple[float, float], unmarked: Path | None = None
) -> Path | None:
    slowest, fastest = laya_mpm
    lengths = matra_lengths(60 / fastest / heard.hop_s, 60 / slowest / heard.hop_s)
    matra_s = lengths * heard.hop_s
    fill, hit = _between(heard)
    model = Model(
        strokes=_strokes(heard, tala),
        matras=tala.matras,
        lengths=lengths,
        open_side=open_side(tala),
        fillings=[Filling(share, level) for share, level in filled_places(matra_s)],
        fill=fill,
        hit=hit,
        solo_parts=solo_parts(matra_s),
    )
    if unmarked is not None and sams:
        return decode_near(model, len(heard), sams, unmarked, round(AROUND_S / heard.hop_s))
    return unmarked or decode(model, len(heard), sams)


def _strokes(heard: StrokesHeard, tala: Tala) -> list[Stroke]:
    scores: dict[bytes, NDArray[np.float32]] = {}
    strokes = []
    for place in theka_places(tala):
        kind = place.bayan.tobytes() + place.dayan.tobytes() + bytes(str(place.kept), "ascii")
        if kind not in scores:
            scores[kind] = heard.log_ratio(place.bayan, place.dayan, place.kept)
        strokes.append(Stroke(place.matra, place.share, scores[kind]))
    return strokes


def _between(heard: StrokesHeard) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Scores of filled places, shape (2, levels, n), and of a stroke in a solo, shape (n,)."""
    nothing = heard.nothing()

    def score(played: NDArray[np.float32], share: float) -> NDArray[np.float32]:
        said = share * played + (1 - share) * nothing
        return np.log(FILLED_AS_SAID * said + 1 - FILLED_AS_SAID).astype(np.float32)

    on_open, on_closed, solo = (heard.any_of(strokes) for strokes in fill_strokes())
    fill = np.stack([[score(side, share) for share in LEVELS] for side in (on_open, on_closed)])
    return fill, score(solo, PLAYED_IN_A_SOLO)


def _rotation_confidence(
    heard: StrokesHeard, tala: Tala, time_s: NDArray[np.float64], path: Path
) -> NDArray[np.float64]:
    """For each matra, the share of likelihood of the theka as placed among its turns by 0, 1, 2 ... matras.

    Where the theka was left for a solo nothing speaks for any of them.
    """
    matra = path.matra
    fits = np.zeros((len(time_s), tala.matras))  # [i, m]: how well matra m of the theka fits what is heard at i
    length_s = np.gradient(time_s) if len(time_s) > 1 else np.ones(len(time_s))
    for stroke in _strokes(heard, tala):
        frame = np.rint((time_s + stroke.share * length_s) / heard.hop_s).astype(int)
        ok = (frame >= 0) & (frame < len(stroke.score))
        fits[ok, stroke.matra] += stroke.score[frame[ok]]
    turned = np.stack(
        [fits[np.arange(len(matra)), (matra + turn) % tala.matras] for turn in range(tala.matras)], axis=1
    )
    turned[path.solo] = 0.0
    reach = ROTATION_AVARTANS * tala.matras
    sums = np.concatenate([np.zeros((1, tala.matras)), np.cumsum(turned, axis=0)])
    here = np.arange(len(matra))
    total = sums[np.minimum(here + reach + 1, len(matra))] - sums[np.maximum(here - reach, 0)]
    total = (total - total.max(axis=1, keepdims=True)) / ROTATION_TEMPERATURE
    odds = np.exp(total)
    return odds[:, 0] / odds.sum(axis=1)


def _smoothed(prominence: NDArray[np.float64]) -> NDArray[np.float64]:
    """Mean of each and its neighbours, the middle counting double."""
    padded = np.pad(prominence, 1, mode="edge")
    return (padded[:-2] + 2 * padded[1:-1] + padded[2:]) / 4


def _numbered(
    matra: NDArray[np.int64],
    time_s: NDArray[np.float64],
    confidence: NDArray[np.float64],
    marked: NDArray[np.bool_],
    sam_confidence: NDArray[np.float64],
) -> CycleFit:
    sam = matra == 1
    return CycleFit(
        cycle=np.cumsum(sam),
        matra=matra.astype(np.int64),
        matra_s=time_s.astype(np.float64),
        confidence=confidence.astype(np.float32),
        sam_s=time_s[sam].astype(np.float64),
        sam_source=["marked" if firm else "tracked" for firm in marked[sam]],
        sam_confidence=np.where(marked, 1.0, sam_confidence)[sam].astype(np.float32),
        solo=np.zeros(len(matra), dtype=bool),
    )
