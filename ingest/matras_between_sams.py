"""The matras between known sams, by the lead's strokes: for recordings in which no drum can be followed.

Straight lines between sams take the laya to be even through an avartan. It is not: in a vilambit the players wait and
catch up by a tenth of a second and more. The lead's strokes tell where, if one knows which of them stand on the pulse;
ornaments, held-back strokes and rests do not. So the pulse is taken to be a smooth curve through the sams, and every
stroke to lie near a matra (or a half, a quarter of a slow one) or else anywhere. Curve, scatter and share of the
strokes on the pulse are estimated in turn (EM); a change of laya from matra to matra costs by Student's t, so that
once in a while a great one is affordable. Where an avartan strays by a good part of a matra the nearest place is the
wrong one: each avartan is therefore tried again from curves that bulge.

Nothing here hears a drum, and nothing was fitted to one: the one constant that matters, `WANDER`, is where strokes of
the lead left out are foretold best. In a published concert (``tests/published/test_matras_between_sams.py``) the
tabla's matras scatter by 44 ms about this curve in the vilambit and by 19 ms in the drut; about straight lines by 86
and 20 ms.

Conventions: positions are whole matras from the first sam; two neighbouring sams bound one avartan.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ingest.errors import ConflictingSams
from ingest.evidence import Evidence

Times = NDArray[np.float64]

WANDER = 0.015  # usual change of a matra's length to the next, as a share of it
TAIL = 3.0  # degrees of freedom of Student's t
LEAST_PLACE_S = 0.4  # a matra is divided by two as long as its parts are longer
FIRST_SCATTER = 0.12  # of the part of a matra on which strokes are looked for
LEAST_SCATTER_S = 0.005
FIRST_SHARE, MOST_SHARE = 0.8, 0.98  # of the strokes that stand on the pulse
ROUNDS, ROUNDS_AGAIN = 12, 6
BULGES = (-0.6, -0.45, -0.3, 0.3, 0.45, 0.6)  # matras; half a matra is where the nearest place becomes the wrong one
BULGE_SKEWS = (1.0, 0.6, 1.6)
WORTH_CHANGING = 2.0  # log likelihood by which another curve must be better
FIRM = 1e9
STANDS_OUT, STANDS_OUT_OF = 0.25, 97  # a stroke's rise against this percentile of the section's
APART_S = 0.05


@dataclass(frozen=True)
class _Pulse:
    """A curve, and how strokes lie about it."""

    time_s: Times
    scatter_s: float
    share: float
    fits: float  # log likelihood, up to a constant


@dataclass(frozen=True)
class _Frame:
    """What a curve is fitted to: sams, an avartan's matras, places looked at in a matra, strokes, and stiffness."""

    sams_s: Times
    matras: int
    parts: int
    strokes_s: Times
    stiffness: Times

    def cut(self, first: int, last: int) -> _Frame:
        """The same from one sam to another, by their numbers."""
        inside = (self.strokes_s >= self.sams_s[first]) & (self.strokes_s < self.sams_s[last])
        stiffness = self.stiffness[first * self.matras : last * self.matras - 1]
        return _Frame(self.sams_s[first : last + 1], self.matras, self.parts, self.strokes_s[inside], stiffness)


def matras_between_sams(sams_s: Sequence[float] | Times, strokes_s: Sequence[float] | Times, matras: int) -> Times:
    """Lay out the matras between sams by the strokes of the lead.

    Parameters
    ----------
    sams_s : sequence of float
        Two sams or more, ascending; each pair bounds one avartan.
    strokes_s : sequence of float
        Onsets of the lead's strokes, in any order; those outside the sams are left aside. None at all gives a smooth
        curve through the sams.
    matras : int
        Of the tala.

    Returns
    -------
    ndarray of float64, shape ((len(sams_s) - 1) * matras + 1,)
        Ascending; every `matras`-th is a sam, exactly.

    Raises
    ------
    ConflictingSams
        Fewer than two sams, or not in order.
    """
    sams = np.asarray(sams_s, dtype=np.float64)
    if len(sams) < 2 or np.any(np.diff(sams) <= 0):
        raise ConflictingSams(
            "To lay out matras between sams takes two sams or more, each after the one before. Mark them in order."
        )
    straight: Times = np.interp(np.arange((len(sams) - 1) * matras + 1), np.arange(len(sams)) * matras, sams)
    strokes = np.sort(np.asarray(strokes_s, dtype=np.float64))
    strokes = strokes[(strokes >= sams[0]) & (strokes <= sams[-1])]
    length_s = np.gradient(straight)
    parts = _parts(float(np.median(length_s)))
    frame = _Frame(sams, matras, parts, strokes, (WANDER * length_s[1:-1]) ** -2.0)
    nothing = np.zeros(0)
    start = _curve(frame, nothing, nothing, nothing, frame.stiffness)
    if np.any(np.diff(start) <= 0):
        start = straight
    if not len(strokes):
        return _exact(start, sams, matras)
    scatter_s = FIRST_SCATTER * float(np.median(length_s)) / parts
    pulse = _fitted(frame, _Pulse(start, scatter_s, FIRST_SHARE, -np.inf), ROUNDS)
    if pulse is None:
        return _exact(start, sams, matras)
    time_s = pulse.time_s.copy()
    for avartan in range(len(sams) - 1):
        first, last = max(0, avartan - 1), min(len(sams) - 1, avartan + 2)
        around = slice(first * matras, last * matras + 1)
        now = _Pulse(time_s[around], pulse.scatter_s, pulse.share, -np.inf)
        time_s[around] = _tried_again(frame.cut(first, last), now, avartan - first)
    again = _fitted(frame, _Pulse(time_s, pulse.scatter_s, pulse.share, -np.inf), ROUNDS_AGAIN)
    return _exact(again.time_s if again else time_s, sams, matras)


def onsets_heard(evidence: Evidence, start_s: float, end_s: float) -> Times:
    """Onsets that stand out from a section's sound, whoever struck them; seconds from the recording's start."""
    from scipy.signal import find_peaks

    hop_s = evidence.hop_s
    first, last = (max(0, round(at_s / hop_s)) for at_s in (start_s, end_s))
    strength = evidence.treble[first:last].astype(np.float64)
    if not len(strength) or strength.max() <= 0:
        return np.zeros(0)
    least = STANDS_OUT * float(np.percentile(strength, STANDS_OUT_OF))
    peaks, _ = find_peaks(strength, height=least, prominence=least, distance=max(1, round(APART_S / hop_s)))
    found: Times = (first + peaks) * hop_s
    return found


def _parts(matra_s: float) -> int:
    parts = 1
    while matra_s / (2 * parts) > LEAST_PLACE_S:
        parts *= 2
    return parts


def _tried_again(frame: _Frame, now: _Pulse, avartan: int) -> Times:
    """The best curve among those found from here and from bulges of one avartan, scatter and share given."""
    here = _fitted(frame, now, ROUNDS_AGAIN, learn=False)
    if here is None:
        return now.time_s
    best = here
    way = np.arange(frame.matras + 1) / frame.matras
    part = slice(avartan * frame.matras, (avartan + 1) * frame.matras + 1)
    for bulge in BULGES:
        for skew in BULGE_SKEWS:
            time_s = now.time_s.copy()
            time_s[part] += bulge * np.median(np.diff(time_s[part])) * np.sin(np.pi * way**skew)
            other = None
            if np.all(np.diff(time_s) > 0):  # first with a wide scatter, so that strokes can draw the curve
                wide = _Pulse(time_s, 2 * now.scatter_s, now.share, -np.inf)
                other = _fitted(frame, wide, ROUNDS_AGAIN // 2, learn=False)
            if other is not None:
                narrow = _Pulse(other.time_s, now.scatter_s, now.share, -np.inf)
                other = _fitted(frame, narrow, ROUNDS_AGAIN, learn=False)
            if other is not None and other.fits > max(best.fits, here.fits + WORTH_CHANGING):
                best = other
    return best.time_s


def _fitted(frame: _Frame, start: _Pulse, rounds: int, learn: bool = True) -> _Pulse | None:
    """EM from a start; None when the curve would run backwards."""
    time_s, scatter_s, share = start.time_s, start.scatter_s, start.share
    for _ in range(rounds):
        place, gap_s, off_s = _nearest(frame, time_s)
        chance = _on_pulse(off_s, gap_s, scatter_s, share)
        if learn and chance.sum() > 0:
            scatter_s = max(LEAST_SCATTER_S, float(np.sqrt((chance * off_s**2).sum() / chance.sum())))
            share = min(MOST_SHARE, float(chance.mean()))
        bend = frame.stiffness * np.diff(time_s, 2) ** 2
        stiffness = frame.stiffness * (TAIL + 1) / (TAIL + bend)
        time_s = _curve(frame, place, frame.strokes_s, chance / scatter_s**2, stiffness)
        if np.any(np.diff(time_s) <= 0):
            return None
    _, gap_s, off_s = _nearest(frame, time_s)
    strokes = np.log(share * _normal(off_s, scatter_s) + (1 - share) / gap_s).sum()
    bends = (TAIL + 1) / 2 * np.log1p(frame.stiffness * np.diff(time_s, 2) ** 2 / TAIL).sum()
    return _Pulse(time_s, scatter_s, share, float(strokes - bends))


def _nearest(frame: _Frame, time_s: Times) -> tuple[Times, Times, Times]:
    """For each stroke the nearest place in matras, the distance between places there, and how far off it is (s)."""
    count = len(time_s)
    position = np.interp(frame.strokes_s, time_s, np.arange(count))
    place = np.clip(np.rint(position * frame.parts) / frame.parts, 0, count - 1)
    before = np.minimum(place.astype(int), count - 2)
    gap_s = (time_s[before + 1] - time_s[before]) / frame.parts
    return place, gap_s, frame.strokes_s - np.interp(place, np.arange(count), time_s)


def _normal(off_s: Times, scatter_s: float) -> Times:
    density: Times = np.exp(-0.5 * (off_s / scatter_s) ** 2) / (scatter_s * np.sqrt(2 * np.pi))
    return density


def _on_pulse(off_s: Times, gap_s: Times, scatter_s: float, share: float) -> Times:
    """Chance that each stroke stands on the pulse and not anywhere between."""
    on = share * _normal(off_s, scatter_s)
    chance: Times = on / (on + (1 - share) / gap_s)
    return chance


def _curve(frame: _Frame, place: Times, strokes_s: Times, weight: Times, stiffness: Times) -> Times:
    """Times of the matras that minimise weighted squares of strokes and of second differences, through the sams."""
    from scipy.linalg import solveh_banded

    count = (len(frame.sams_s) - 1) * frame.matras + 1
    bands, right = np.zeros((3, count)), np.zeros(count)  # upper form: main diagonal last
    before = np.minimum(place.astype(int), count - 2)
    along = place - before
    np.add.at(bands[2], before, weight * (1 - along) ** 2)
    np.add.at(bands[2], before + 1, weight * along**2)
    np.add.at(bands[1], before + 1, weight * along * (1 - along))
    np.add.at(right, before, weight * (1 - along) * strokes_s)
    np.add.at(right, before + 1, weight * along * strokes_s)
    for offset, coefficient in ((0, 1.0), (1, -2.0), (2, 1.0)):
        bands[2, offset : offset + count - 2] += stiffness * coefficient**2
    bands[1, 1:-1] -= 2 * stiffness
    bands[1, 2:] -= 2 * stiffness
    bands[0, 2:] += stiffness
    firm = FIRM * max(1.0, float(bands[2].max()) / 1e6)
    bands[2, :: frame.matras] += firm
    right[:: frame.matras] += firm * frame.sams_s
    solved: Times = solveh_banded(bands, right)
    return solved


def _exact(time_s: Times, sams_s: Times, matras: int) -> Times:
    time_s = time_s.copy()
    time_s[::matras] = sams_s
    return time_s
