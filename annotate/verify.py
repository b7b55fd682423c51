"""Does it land? A tihai on paper and as played.

Conventions
-----------
* A deviation is played minus target: positive is late.
* The target as played is the occurrence of the target matra nearest to the landing.
* Tolerance: 100 ms or a third of the local matra, whichever is smaller. Measured in the published concert of
  ``tests/published/``: the melody's stroke at sam lies within 100 ms of it 19 times in 20 in the vilambit, within 61
  ms (matra about 190 ms) in the drut.
* Verdicts go by what was played: ``lands`` within the tolerance; ``misses`` half a matra away or more, or when the sum
  misses on paper and was played as written; ``early`` or ``late`` between; ``unknown`` when there is no grid. Half a
  matra, because from there on the stroke is nearer to another place of the cycle than to its target; a whole one where
  only an interval is known, which ends when the last note has died away. What paper says stands in the sentence:
  whether it agrees with the playing.
* Palla starts on paper are counted from the avartan in which the first palla was played nearest to its written start.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from annotate.grid import Grid, RecordingGrid
from annotate.records import Recording, TihaiRecord
from annotate.wording import Outcome, sentence_of, sentence_without_grid
from theory.notation import parse
from theory.numbers import stored
from theory.paper import PaperCheck, check
from theory.talas import Tala, get_tala
from theory.tihai import LandingRule, Tihai

if TYPE_CHECKING:
    from annotate.archive import Archive

TOLERANCE_MS = 100.0
TOLERANCE_MATRAS = 1 / 3
SIMPLE_DENOMINATORS = (1, 2, 3, 4, 6, 8)
PRICE_S = 0.030
"""What a denominator twice as large must save: twice the usual scatter, 14 ms, of a period read from three strokes."""


@dataclass(frozen=True)
class PlayedPalla:
    """One palla as played: its start, the position it falls on, where it stands on paper and how far off it is."""

    start_s: float
    cycle: int
    matra: float
    paper_matra: Fraction | None
    dev_ms: float | None


@dataclass(frozen=True)
class Verdict:
    """What became of one tihai. Deviations are None when there is no grid (``verdict`` is then ``unknown``)."""

    recording: str
    tihai: str
    label: str
    paper: PaperCheck | None
    landing_s: float
    landing_dev_ms: float | None
    landing_dev_matras: float | None
    target_matra: Fraction
    verdict: Outcome
    sentence: str
    tolerance_ms: float | None = None
    landing_cycle: int | None = None
    landing_matra_played: float | None = None
    pallas: tuple[PlayedPalla, ...] = ()
    spacing_matras: tuple[float, ...] = ()
    unevenness_ms: float | None = None
    nearest_period: Fraction | None = None

    def to_json(self) -> dict[str, Any]:
        """Return plain values; rationals as text ``n/d``."""
        return {
            "recording": self.recording,
            "tihai": self.tihai,
            "label": self.label,
            "paper": self.paper.to_json() if self.paper is not None else None,
            "landing_s": self.landing_s,
            "landing_dev_ms": self.landing_dev_ms,
            "landing_dev_matras": self.landing_dev_matras,
            "target_matra": stored(self.target_matra),
            "verdict": self.verdict,
            "sentence": self.sentence,
            "tolerance_ms": self.tolerance_ms,
            "landing_cycle": self.landing_cycle,
            "landing_matra_played": self.landing_matra_played,
            "pallas": [
                {
                    "start_s": each.start_s,
                    "cycle": each.cycle,
                    "matra": each.matra,
                    "paper_matra": stored(each.paper_matra) if each.paper_matra is not None else None,
                    "dev_ms": each.dev_ms,
                }
                for each in self.pallas
            ],
            "spacing_matras": list(self.spacing_matras),
            "unevenness_ms": self.unevenness_ms,
            "nearest_period": stored(self.nearest_period) if self.nearest_period is not None else None,
        }


def verify_recording(archive: Archive, slug: str) -> list[Verdict]:
    """Return a verdict for every tihai of a recording that is not rejected, in order of time."""
    state, grid = archive.state(slug), archive.grid(slug)
    return [
        verify(each, grid, tala_of(each, grid, state.recording), slug)
        for each in state.tihais
        if each.status != "rejected"
    ]


def verify(record: TihaiRecord, grid: RecordingGrid, tala: Tala | None = None, recording: str = "") -> Verdict:
    """Compare one tihai with its arithmetic and with the grid.

    Parameters
    ----------
    record : TihaiRecord
    grid : RecordingGrid
    tala : Tala, optional
        The tala to count in (see :func:`tala_of`); by default the record's, or else that of the section.
    recording : str
        Slug, for the verdict.

    Returns
    -------
    Verdict
    """
    section = section_of(record, grid)
    tala = tala or tala_of(record, grid)
    paper = paper_check(record, tala)
    if section is None or tala is None or section.tala.key != tala.key:
        sentence = sentence_without_grid(record, paper, section, tala)
        return Verdict(
            recording,
            record.tihai,
            record.label,
            paper,
            record.landing_s,
            None,
            None,
            record.target,
            "unknown",
            sentence,
        )
    _, target_s = section.nearest_occurrence(record.landing_s, record.target)
    dev_ms = (record.landing_s - target_s) * 1000
    dev_matras = float(section.absolute(record.landing_s) - section.absolute(target_s))
    tolerance_ms = tolerance_at(section, target_s)
    as_written = _played_as_written(section, paper, record.landing_s, target_s, tolerance_ms)
    far_ms = 1000 * section.matra_length_s(record.landing_s) * (1 / 2 if len(record.palla_s) > 1 else 1)
    verdict = _outcome(dev_ms, tolerance_ms, far_ms, bool(as_written))
    landing_cycle, landing_matra = section.position(record.landing_s)
    spacing = _spacing_matras(section, record.palla_s)
    return Verdict(
        recording,
        record.tihai,
        record.label,
        paper,
        record.landing_s,
        dev_ms,
        dev_matras,
        record.target,
        verdict,
        sentence_of(record, paper, verdict, dev_ms, dev_matras, as_written),
        tolerance_ms,
        landing_cycle,
        landing_matra,
        _pallas(section, record),
        spacing,
        _unevenness_ms(section, record.palla_s, spacing),
        simple_fraction(sum(spacing) / len(spacing), section.matra_length_s(record.palla_s[1])) if spacing else None,
    )


def paper_check(record: TihaiRecord, tala: Tala | None) -> PaperCheck | None:
    """Return the arithmetic of a record; None when palla, dam or start is not written down."""
    if tala is None or not record.palla or record.dam is None or record.start is None:
        return None
    return _checked(tala, record.palla, record.dam, record.start, record.rule, record.target)


@lru_cache(maxsize=4096)
def _checked(tala: Tala, palla: str, dam: Fraction, start: Fraction, rule: LandingRule, target: Fraction) -> PaperCheck:
    """Remembered, because a page asks for the same arithmetic whenever it is opened."""
    return check(tala, start, Tihai(parse(palla), dam), rule, target)


def tala_of(record: TihaiRecord, grid: RecordingGrid, recording: Recording | None = None) -> Tala | None:
    """Return the tala to count a tihai in: the record's own, that of the section it is played in, or the main one."""
    section = section_of(record, grid)
    if not record.tala and section is not None:
        return section.tala
    key = record.tala or (recording.tala if recording is not None else "")
    return get_tala(key) if key else None


def section_of(record: TihaiRecord, grid: RecordingGrid) -> Grid | None:
    """Return the grid of the section that a tihai is played in; its landing may close the section."""
    slack_s = 2.0  # a last landing rings on after the section that was marked for it has ended
    return grid.at(record.palla_s[0]) or grid.at(record.landing_s, slack_s)


def tolerance_at(grid: Grid, time_s: float) -> float:
    """Return the tolerance at a time, in ms: 100 ms or a third of the local matra, whichever is smaller."""
    return min(TOLERANCE_MS, 1000 * TOLERANCE_MATRAS * grid.matra_length_s(time_s))


def simple_fraction(measured_matras: float, matra_s: float) -> Fraction:
    """Return the simple fraction that a measured count of matras most likely is.

    Of the nearest whole, half, third, quarter, sixth and eighth the one is taken whose error, in units of 30 ms, plus
    the binary logarithm of its denominator is least: 3.1 matras of 0.6 s are 3, played unevenly, and not 3 1/8.
    """

    def price(candidate: Fraction) -> float:
        error_s = abs(float(candidate) - measured_matras) * matra_s
        return error_s / PRICE_S + math.log2(candidate.denominator)

    return min((Fraction(round(measured_matras * part), part) for part in SIMPLE_DENOMINATORS), key=price)


def _outcome(dev_ms: float, tolerance_ms: float, far_ms: float, misses_as_written: bool) -> Outcome:
    if abs(dev_ms) <= tolerance_ms:
        return "lands"
    if misses_as_written or abs(dev_ms) >= far_ms:
        return "misses"
    return "late" if dev_ms > 0 else "early"


def _played_as_written(
    grid: Grid, paper: PaperCheck | None, landing_s: float, target_s: float, tolerance_ms: float
) -> bool | None:
    """Tell whether a tihai that misses on paper was played so; None when it lands there or nothing is written."""
    if paper is None or paper.lands:
        return None
    written = float(grid.absolute(target_s)) - float(paper.shortfall)
    half = Fraction(grid.tala.matras, 2)
    candidates = [written] if abs(paper.shortfall) < half else [written, written + grid.tala.matras]
    times_s = [grid.time_of(*grid.split(each)) for each in candidates]
    return min(abs(each - landing_s) for each in times_s) * 1000 <= tolerance_ms


def _pallas(grid: Grid, record: TihaiRecord) -> tuple[PlayedPalla, ...]:
    written: list[Fraction | None] = [None] * len(record.palla_s)
    anchor = 0
    if record.start is not None:
        anchor, _ = grid.nearest_occurrence(record.palla_s[0], record.start)
        written[0] = record.start
        if record.palla and record.dam is not None:
            period = parse(record.palla).length + record.dam
            written = [record.start + period * index for index in range(len(record.palla_s))]
    played = []
    for start_s, counted in zip(record.palla_s, written, strict=True):
        cycle, matra = grid.position(start_s)
        dev_ms = None if counted is None else (start_s - grid.time_of(anchor, counted)) * 1000
        paper_matra = None if counted is None else (counted - 1) % grid.tala.matras + 1
        played.append(PlayedPalla(start_s, cycle, matra, paper_matra, dev_ms))
    return tuple(played)


def _spacing_matras(grid: Grid, palla_s: Sequence[float]) -> tuple[float, ...]:
    positions = grid.absolute(palla_s)
    return tuple(float(later - earlier) for earlier, later in pairwise(positions))


def _unevenness_ms(grid: Grid, palla_s: Sequence[float], spacing: Sequence[float]) -> float | None:
    """How much longer the last period is than the first, with the change of laya taken out."""
    if len(spacing) < 2:
        return None
    return (spacing[-1] - spacing[0]) * grid.matra_length_s(palla_s[1]) * 1000
