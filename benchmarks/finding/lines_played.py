"""What the lead of a rendered concert really plays, note by note, and where it comes back to its mukhra.

The concert is written again from its seed, as `benchmarks.finding.concert.play` does; times follow from the true sams.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from benchmarks.concerts import melody
from benchmarks.concerts.strokes import drum
from benchmarks.concerts.truth import SectionTruth
from benchmarks.finding.concert import _lead, _play_event, finding_plan
from benchmarks.finding.events import draw_events, mukhra_matras
from theory.ragas import get_raga
from theory.swaras import semitones_of
from theory.talas import get_tala


@dataclass(frozen=True, eq=False)
class LinePlayed:
    """The line of a section; n notes, a swara struck again without another between being one.

    Parameters
    ----------
    start_s : ndarray of float64, shape (n,)
    semitone : ndarray of int64, shape (n,)
    mukhra : int
        Matras of the mukhra.
    mukhra_s : tuple of (float, float)
        Where the mukhra really comes, and the sam it leads to.
    """

    start_s: NDArray[np.float64]
    semitone: NDArray[np.int64]
    mukhra: int
    mukhra_s: tuple[tuple[float, float], ...]

    def between(self, start_s: float, end_s: float) -> NDArray[np.int64]:
        """The notes that begin in a stretch."""
        return self.semitone[(self.start_s >= start_s) & (self.start_s < end_s)]


def lines_played(seed: int, sections: list[SectionTruth]) -> list[LinePlayed]:
    """The line of every section of a concert."""
    plan = finding_plan(seed)
    out = []
    for number, (section, truth) in enumerate(zip(plan.sections, sections, strict=True)):
        rng = np.random.default_rng((plan.seed, 71, number))
        tala = get_tala(section.tala)
        scale = melody.Scale(get_raga(plan.raga), rng)
        drumming = drum(section, plan.missing, plan.varied, rng, with_tihais=False)
        lead = _lead(tala, section, drumming, scale, rng)
        for event in draw_events(section, rng):
            _play_event(event, drumming.written, lead, scale)
        times_s = _times_s([float(at) for at in sorted(lead)], truth)
        semitone = np.array([semitones_of(lead[at][0]) for at in sorted(lead)], dtype=np.int64)
        new = np.concatenate([[True], np.diff(semitone) != 0])
        mukhra = mukhra_matras(tala.matras, 120 / sum(section.mpm))
        comes_s = []
        ends = [Fraction(cycle * tala.matras) for cycle in range(section.cycles + 1)]
        said = [tuple((at - end, lead[at][0]) for at in sorted(lead) if end - mukhra <= at < end) for end in ends]
        usual = Counter(said).most_common(1)[0][0]
        for end, each in zip(ends, said, strict=True):
            if each == usual:
                begin_s, end_s = _times_s([float(end - mukhra), float(end)], truth).tolist()
                comes_s.append((begin_s, end_s))
        out.append(LinePlayed(times_s[new], semitone[new], mukhra, tuple(comes_s)))
    return out


def _times_s(at: list[float], truth: SectionTruth) -> NDArray[np.float64]:
    """Times of positions in matras, straight from matra to matra and on beyond the first and the last."""
    matra_s, positions = np.array(truth.matra_s), np.array(at)
    last = len(matra_s) - 1
    inside = np.interp(positions, np.arange(len(matra_s)), matra_s)
    before, beyond = np.minimum(positions, 0), np.maximum(positions - last, 0)
    return inside + before * (matra_s[1] - matra_s[0]) + beyond * (matra_s[-1] - matra_s[-2])
