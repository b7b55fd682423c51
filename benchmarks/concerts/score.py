"""A concert played: from the plan to every stroke and pluck with its time, and to the truth.

Conventions: times in seconds from the recording's start; positions in matras from a section's first sam.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from benchmarks.concerts import melody
from benchmarks.concerts.plan import ConcertPlan, SectionPlan
from benchmarks.concerts.strokes import Drumming, Tihai, Written, drum
from benchmarks.concerts.truth import MELODY_HOP_S, SectionTruth, Truth
from sample_data.clock import PulseClock
from sample_data.events import Part, Pluck, Stroke
from sample_data.mandolin import pitch_along
from sample_data.touch import Played, strokes
from theory.ragas import get_raga
from theory.talas import Tala, get_tala

DRONE_ALONE_S = 3.0
BETWEEN_S = (1.5, 7.0)
AFTER_LAST_SAM_S = 1.5
ENDS_S = 4.0
MOST_JITTER_S, MOST_JITTER_OF_GAP = 0.02, 0.25


@dataclass(frozen=True)
class Concert:
    """A concert as played: what is sounded, and what is true of it."""

    plan: ConcertPlan
    part: Part
    truth: Truth


def play_concert(plan: ConcertPlan) -> Concert:
    """Play a concert: the same plan in the same way every time."""
    raga = get_raga(plan.raga)
    at_s = DRONE_ALONE_S
    all_strokes: list[Stroke] = []
    all_plucks: list[Pluck] = []
    sections: list[SectionTruth] = []
    for number, section in enumerate(plan.sections):
        rng = np.random.default_rng((plan.seed, 21, number))
        scale = melody.Scale(raga, rng)
        if section.tala:
            struck, plucked, truth = _gat(plan, section, at_s, scale, rng, (plan.seed, number))
            all_strokes += struck
        elif section.kind == "jor":
            plucked = melody.jor(section.seconds, at_s, section.mpm, plan.sa_hz, scale, rng)
            truth = _free(section, at_s, plucked)
        else:
            plucked = melody.alap(section.seconds, at_s, plan.sa_hz, scale, rng)
            truth = _free(section, at_s, plucked)
        all_plucks += plucked
        sections.append(truth)
        at_s = truth.end_s + rng.uniform(*BETWEEN_S)
    all_plucks.sort(key=lambda pluck: pluck.onset_s)
    all_strokes.sort(key=lambda stroke: stroke.onset_s)
    duration_s = round(sections[-1].end_s + ENDS_S, 3)
    part = Part(plan.sa_hz, duration_s, tuple(all_plucks), tuple(all_strokes), plan.drone_ratios)
    truth_of_all = Truth(
        seed=plan.seed,
        sa_hz=plan.sa_hz,
        duration_s=duration_s,
        plan=asdict(plan),
        sections=sections,
        stroke_s=[round(stroke.onset_s, 5) for stroke in all_strokes],
        pluck_s=[round(pluck.onset_s, 5) for pluck in all_plucks],
        melody_hz=[round(float(hz), 2) for hz in fundamental(all_plucks, duration_s)],
    )
    return Concert(plan, part, truth_of_all)


def fundamental(plucks: Iterable[Pluck], duration_s: float) -> NDArray[np.float64]:
    """Fundamental of the lead by frame (`MELODY_HOP_S`), 0 where no string sounds; the newest pluck counts."""
    hz = np.zeros(int(duration_s / MELODY_HOP_S) + 1)
    for pluck in plucks:
        first = int(np.ceil(pluck.onset_s / MELODY_HOP_S))
        last = min(len(hz), int((pluck.onset_s + pluck.sounding_s) / MELODY_HOP_S) + 1)
        t = np.arange(first, last, dtype=np.float64) * MELODY_HOP_S - pluck.onset_s
        hz[first:last] = pitch_along(pluck, t)
    return hz


def _free(section: SectionPlan, start_s: float, plucks: list[Pluck]) -> SectionTruth:
    end_s = max(pluck.onset_s + pluck.sounding_s for pluck in plucks)
    return SectionTruth(section.kind, "", start_s, round(end_s, 3), section.mpm, [], [], [], [], [])


def _gat(
    plan: ConcertPlan,
    section: SectionPlan,
    start_s: float,
    scale: melody.Scale,
    rng: np.random.Generator,
    seed: tuple[int, int],
) -> tuple[list[Stroke], list[Pluck], SectionTruth]:
    """A section with a tala."""
    tala = get_tala(section.tala)
    drumming = drum(section, plan.missing, plan.varied, rng)
    lead = melody.gat(tala, section.cycles, 120 / sum(section.mpm), drumming, scale, rng)
    last = Fraction(section.cycles * tala.matras)
    clock = PulseClock(min(lead), start_s, last, section.mpm, seed[0] * 100 + seed[1])
    struck = list(strokes(played(drumming.written, clock, tala, plan.jitter_s, rng), rng))
    sung = [
        (note.onset_s, min(float(note.length), until_next(lead, note.position)) * clock.matra_s(note.position),
         note.symbol, note.level)
        for note in played(lead, clock, tala, plan.jitter_s, rng)
    ]  # fmt: skip
    plucked = list(melody.gat_plucks(sung, plan.sa_hz, rng))
    return struck, plucked, section_truth(section, tala, clock, drumming, start_s)


def until_next(written: Written, position: Fraction) -> float:
    """How many matras until what is written next; 4 at the end."""
    later = [at for at in written if at > position]
    return float(min(later) - position) if later else 4.0


def section_truth(
    section: SectionPlan, tala: Tala, clock: PulseClock, drumming: Drumming, start_s: float
) -> SectionTruth:
    """What is true of a section with a tala."""
    count = section.cycles * tala.matras + 1
    return SectionTruth(
        kind=section.kind,
        tala=tala.key,
        start_s=round(start_s - 0.05, 3),
        end_s=round(clock.time_s(Fraction(count - 1)) + AFTER_LAST_SAM_S, 3),
        mpm=section.mpm,
        cycle=[position // tala.matras + 1 for position in range(count)],
        matra=[position % tala.matras + 1 for position in range(count)],
        matra_s=[round(clock.time_s(Fraction(position)), 5) for position in range(count)],
        solos=[(clock.time_s(start), clock.time_s(end)) for start, end in drumming.solos],
        tihais=[(*_three(clock, tihai), clock.time_s(tihai.landing)) for tihai in drumming.tihais],
    )


def _three(clock: PulseClock, tihai: Tihai) -> tuple[float, float, float]:
    first, second, third = (clock.time_s(palla) for palla in tihai.pallas)
    return first, second, third


def played(
    written: Written, clock: PulseClock, tala: Tala, jitter_s: float, rng: np.random.Generator
) -> tuple[Played, ...]:
    """Give every stroke its time about the pulse, and its loudness by its place in the cycle."""
    vibhags = set(tala.vibhag_starts)
    positions = sorted(written)
    out = []
    for number, position in enumerate(positions):
        symbol, length = written[position]
        matra = position % tala.matras + 1
        level = 0.58 if position.denominator > 1 else 1.0 if matra == 1 else 0.88 if matra in vibhags else 0.78
        neighbours = [positions[n] for n in (number - 1, number + 1) if 0 <= n < len(positions)]
        gap_s = min(abs(float(other - position)) for other in neighbours) * clock.matra_s(position)
        most_s = min(MOST_JITTER_S, MOST_JITTER_OF_GAP * gap_s)
        jitter = float(np.clip(rng.normal(0.0, min(jitter_s, most_s)), -most_s, most_s))
        level = float(np.clip(level + rng.normal(0.0, 0.09), 0.25, 1.0))
        out.append(Played(symbol, position, length, clock.time_s(position) + jitter, level))
    return tuple(out)
