"""An evening played: every stroke, pluck, tap, word and clap with its time, and the truth.

The sections with a pulse and a tala are those of ``benchmarks.concerts``, played one by one and moved to their places.

Conventions: times in seconds from the recording's start. A section lasts from its first sound to its last; what lies
between two sections belongs to neither.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path

import numpy as np

from benchmarks.concerts import melody
from benchmarks.concerts.score import play_concert
from benchmarks.evenings.applause import applause
from benchmarks.evenings.jhala import jhala, with_chikari
from benchmarks.evenings.plan import EveningPlan, Item
from benchmarks.evenings.talk import talk
from benchmarks.evenings.tuning import tune
from sample_data.events import Pluck, Stroke
from sample_data.tools import RATE_HZ, Signal
from theory.ragas import get_raga

BEGINS_S, ENDS_S = 2.0, 3.0
TALK_PEOPLE = (15, 120)
CHIKARI_SHARE = 0.15
GOES_ON_MATRAS = 1  # of the new laya, from the sam that ends one gat to the first sam of the next


@dataclass(frozen=True)
class SectionHeld:
    """A section as it was held.

    Attributes
    ----------
    kind : str
        As in `plan.Item`.
    start_s, end_s : float
        First and last sound.
    tala : str
        '' without.
    laya_mpm : float
        Mean matras (of jor and jhala, beats) a minute; 0 without a pulse.
    tabla_s : tuple of float
        First and last stroke of the tabla; empty without.
    """

    kind: str
    start_s: float
    end_s: float
    tala: str = ""
    laya_mpm: float = 0.0
    tabla_s: tuple[float, ...] = ()


@dataclass(frozen=True)
class EveningTruth:
    """What is true of an evening."""

    seed: int
    sa_hz: float
    duration_s: float
    sections: tuple[SectionHeld, ...]


@dataclass
class Evening:
    """Everything that sounds; filled section by section."""

    plan: EveningPlan
    plucks: list[Pluck] = field(default_factory=list)
    strokes: list[tuple[Stroke, float]] = field(default_factory=list)  # with cents that the dayan is off
    taps: list[tuple[float, float]] = field(default_factory=list)
    spoken: list[tuple[float, Signal]] = field(default_factory=list)
    clapped: list[tuple[float, Signal]] = field(default_factory=list)
    held: list[SectionHeld] = field(default_factory=list)

    @property
    def truth(self) -> EveningTruth:
        """The sections as held."""
        duration_s = round(self.held[-1].end_s + ENDS_S, 3)
        return EveningTruth(self.plan.seed, self.plan.concert.sa_hz, duration_s, tuple(self.held))


def hold(plan: EveningPlan) -> Evening:
    """Hold an evening: the same plan in the same way every time."""
    evening, at_s = Evening(plan), BEGINS_S
    for number, item in enumerate(plan.items):
        rng = np.random.default_rng((plan.seed, 61, number))
        at_s += item.pause_s
        if item.section is not None and item.section.tala:
            _gat(evening, item, number, at_s)
        elif item.kind in ("alap", "jor", "jhala"):
            _free(evening, item, at_s, rng)
        else:
            _between(evening, item, at_s, rng)
        at_s = evening.held[-1].end_s
    evening.plucks.sort(key=lambda pluck: pluck.onset_s)
    evening.strokes.sort(key=lambda pair: pair[0].onset_s)
    return evening


def _gat(evening: Evening, item: Item, number: int, at_s: float) -> None:
    assert item.section is not None
    seed = evening.plan.seed * 100 + number
    concert = play_concert(replace(evening.plan.concert, seed=seed, sections=(item.section,)))
    (truth,) = concert.truth.sections
    plucks, strokes = concert.part.plucks, concert.part.strokes
    if item.pause_s == 0 and evening.held:  # from sam to sam: no mukhra of its own
        sam_s = evening.held[-1].end_s + GOES_ON_MATRAS * (truth.matra_s[1] - truth.matra_s[0])
        move_s = sam_s - truth.matra_s[0]
        plucks = tuple(pluck for pluck in plucks if pluck.onset_s > truth.matra_s[0] - 0.05)
    else:
        move_s = at_s - min(plucks[0].onset_s, strokes[0].onset_s)
    plucks = tuple(replace(pluck, onset_s=pluck.onset_s + move_s) for pluck in plucks)
    strokes = tuple(replace(stroke, onset_s=stroke.onset_s + move_s) for stroke in strokes)
    evening.plucks += plucks
    evening.strokes += [(stroke, 0.0) for stroke in strokes]
    start_s = min(plucks[0].onset_s, strokes[0].onset_s)
    end_s = max(plucks[-1].onset_s, strokes[-1].onset_s)
    ends = (round(strokes[0].onset_s, 3), round(strokes[-1].onset_s, 3))
    laya_mpm = 60 * (len(truth.matra_s) - 1) / (truth.matra_s[-1] - truth.matra_s[0])
    held = SectionHeld(item.kind, round(start_s, 3), round(end_s, 3), truth.tala, round(laya_mpm, 2), ends)
    evening.held.append(held)


def _free(evening: Evening, item: Item, at_s: float, rng: np.random.Generator) -> None:
    plan = evening.plan
    sa_hz, scale = plan.concert.sa_hz, melody.Scale(get_raga(plan.concert.raga), rng)
    mpm = item.section.mpm if item.section else (0.0, 0.0)
    if item.kind == "alap":
        plucks = melody.alap(item.seconds, at_s, sa_hz, scale, rng)
    elif item.kind == "jor":
        plucks = melody.jor(item.seconds, at_s, mpm, sa_hz, scale, rng)
    else:
        plucks = jhala(item.seconds, at_s, mpm, sa_hz, scale, rng)
    if plan.chikari and item.kind != "jhala":
        plucks = with_chikari(plucks, sa_hz, CHIKARI_SHARE, rng)
    evening.plucks += plucks
    end_s = max(pluck.onset_s + min(pluck.sounding_s, 1.0) for pluck in plucks)
    evening.held.append(SectionHeld(item.kind, round(at_s, 3), round(end_s, 3), "", sum(mpm) / 2))


def _between(evening: Evening, item: Item, at_s: float, rng: np.random.Generator) -> None:
    """Talk, applause or tuning."""
    if item.kind == "tuning":
        tuned = tune(item.seconds, evening.plan.concert.sa_hz, rng)
        evening.plucks += [replace(pluck, onset_s=pluck.onset_s + at_s) for pluck in tuned.plucks]
        evening.strokes += [(replace(stroke, onset_s=stroke.onset_s + at_s), cents) for stroke, cents in tuned.strokes]
        evening.taps += [(onset_s + at_s, level) for onset_s, level in tuned.taps]
        starts = [pluck.onset_s for pluck in tuned.plucks] + [stroke.onset_s for stroke, _ in tuned.strokes]
        first_s, last_s = min(starts) + at_s, max(starts) + at_s + 0.3
    elif item.kind == "talk":
        spoken = talk(item.seconds, rng)
        evening.spoken.append((at_s, spoken))
        sounding = np.flatnonzero(np.abs(spoken) > 1e-3)
        first_s, last_s = at_s, at_s + sounding[-1] / RATE_HZ
    else:
        evening.clapped.append((at_s, applause(item.seconds, int(rng.integers(*TALK_PEOPLE)), rng)))
        first_s, last_s = at_s, at_s + item.seconds - 0.5
    evening.held.append(SectionHeld(item.kind, round(first_s, 3), round(float(last_s), 3)))


def write_truth(path: Path, truth: EveningTruth) -> None:
    """Write as JSON; nothing half-written stays under the final name."""
    unfinished = path.with_suffix(".part")
    unfinished.write_text(json.dumps(asdict(truth)), encoding="utf-8")
    unfinished.replace(path)


def read_truth(path: Path) -> EveningTruth:
    """Read what `write_truth` wrote."""
    read = json.loads(path.read_text(encoding="utf-8"))
    sections = tuple(SectionHeld(**{**row, "tabla_s": tuple(row["tabla_s"])}) for row in read.pop("sections"))
    return EveningTruth(**read, sections=sections)
