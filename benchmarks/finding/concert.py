"""A concert full of tihais and of what looks like them, played and rendered; everything follows from the seed.

The sections with a tala of `benchmarks.concerts.plan`, half as long again, without alap and jor. The lead plays its
composition, slow unfoldings, runs and jhala, and comes back to the mukhra before every sam, as in a gat.

``python -m benchmarks.finding.concert --seeds 1-6 --into FOLDER`` renders and says where the files are.
"""

from __future__ import annotations

import argparse
import ast
import hashlib
from collections.abc import Sequence
from dataclasses import asdict, replace
from fractions import Fraction
from functools import cache
from pathlib import Path

import numpy as np
import soundfile

from benchmarks.concerts import melody
from benchmarks.concerts.plan import ConcertPlan, SectionPlan, plan_concert
from benchmarks.concerts.render import parse_seeds, sound_of, sources_digest
from benchmarks.concerts.score import (
    BETWEEN_S,
    DRONE_ALONE_S,
    ENDS_S,
    Concert,
    fundamental,
    played,
    section_truth,
    until_next,
)
from benchmarks.concerts.strokes import Drumming, Written, clear, drum
from benchmarks.concerts.truth import MELODY_HOP_S, Truth
from benchmarks.finding.events import Event, draw_events, mukhra_matras
from benchmarks.finding.truth import EventTruth, event_truth, read, write
from sample_data.clock import PulseClock
from sample_data.events import Part, Pluck, Stroke
from sample_data.tools import RATE_HZ
from sample_data.touch import strokes
from theory.ragas import get_raga
from theory.talas import Tala, get_tala

LONGER = 1.5
QUICKEST_JHALA_S = 0.09
CYCLES_OF_LEAD = {"gat": 0.4, "unfolding": 0.25, "run": 0.2, "jhala": 0.15}


def finding_plan(seed: int) -> ConcertPlan:
    """The plan of a concert: that of `plan_concert`, its sections with a tala only."""
    plan = plan_concert(seed)
    gats = [replace(section, kind="gat", seconds=section.seconds * LONGER) for section in plan.sections if section.tala]
    return replace(plan, sections=tuple(gats))


def play(plan: ConcertPlan) -> tuple[Concert, list[EventTruth]]:
    """Play a concert: the same plan in the same way every time."""
    at_s = DRONE_ALONE_S
    all_strokes: list[Stroke] = []
    all_plucks: list[Pluck] = []
    sections, events = [], []
    for number, section in enumerate(plan.sections):
        rng = np.random.default_rng((plan.seed, 71, number))
        tala = get_tala(section.tala)
        scale = melody.Scale(get_raga(plan.raga), rng)
        drumming = drum(section, plan.missing, plan.varied, rng, with_tihais=False)
        lead = _lead(tala, section, drumming, scale, rng)
        drawn = draw_events(section, rng)
        for event in drawn:
            _play_event(event, drumming.written, lead, scale)
        last = Fraction(section.cycles * tala.matras)
        clock = PulseClock(min(lead), at_s, last, section.mpm, plan.seed * 100 + number)
        all_strokes += strokes(played(drumming.written, clock, tala, plan.jitter_s, rng), rng)
        notes = [
            (each.onset_s, min(float(each.length), until_next(lead, each.position)) * clock.matra_s(each.position),
             each.symbol, each.level)
            for each in played(lead, clock, tala, plan.jitter_s, rng)
        ]  # fmt: skip
        all_plucks += melody.gat_plucks(notes, plan.sa_hz, rng)
        sections.append(section_truth(section, tala, clock, drumming, at_s))
        for event in drawn:
            begins = tuple(round(clock.time_s(begin), 5) for begin in event.statements)
            events.append(event_truth(number, event, begins, round(clock.time_s(event.landing), 5)))
        at_s = sections[-1].end_s + rng.uniform(*BETWEEN_S)
    all_plucks.sort(key=lambda pluck: pluck.onset_s)
    all_strokes.sort(key=lambda stroke: stroke.onset_s)
    duration_s = round(sections[-1].end_s + ENDS_S, 3)
    truth = Truth(
        seed=plan.seed,
        sa_hz=plan.sa_hz,
        duration_s=duration_s,
        plan=asdict(plan),
        sections=sections,
        stroke_s=[round(stroke.onset_s, 5) for stroke in all_strokes],
        pluck_s=[round(pluck.onset_s, 5) for pluck in all_plucks],
        melody_hz=[round(float(hz), 2) for hz in fundamental(all_plucks, duration_s)[:: round(0.02 / MELODY_HOP_S)]],
    )
    part = Part(plan.sa_hz, duration_s, tuple(all_plucks), tuple(all_strokes), plan.drone_ratios)
    return Concert(plan, part, truth), events


def _lead(
    tala: Tala, section: SectionPlan, drumming: Drumming, scale: melody.Scale, rng: np.random.Generator
) -> Written:
    """The lead's part without events: whatever it plays in a cycle, the mukhra comes before the next sam."""
    matra_s = 120 / sum(section.mpm)
    shares = [share for share in melody.SHARES if melody.NOTE_S[0] < float(share) * matra_s < melody.NOTE_S[1]]
    composition = melody.one_avartan(tala, shares, scale, rng)
    mukhra = Fraction(mukhra_matras(tala.matras, matra_s))
    written: Written = {}
    for cycle in range(-1, section.cycles):
        at = Fraction(cycle * tala.matras)
        solo = any(start <= at < end for start, end in drumming.solos)
        kind = "gat" if solo or cycle < 1 else str(rng.choice(list(CYCLES_OF_LEAD), p=list(CYCLES_OF_LEAD.values())))
        part = composition
        if kind == "unfolding":
            part = melody.one_avartan(tala, shares, scale, rng)
        elif kind == "run":
            part = melody.tan(tala, shares, scale, rng)
        elif kind == "jhala" and matra_s / 4 > QUICKEST_JHALA_S:
            part = _jhala(tala, matra_s, scale)
        for position, note in part.items():
            if position < tala.matras - mukhra:
                written[at + position] = note
        for position, note in composition.items():
            if position >= tala.matras - mukhra:
                written[at + position] = note
    written = {at: note for at, note in written.items() if at >= -mukhra}
    written[Fraction(section.cycles * tala.matras)] = ("S", Fraction(2))
    return written


def _jhala(tala: Tala, matra_s: float, scale: melody.Scale) -> Written:
    """Every beat filled: a swara and three strokes of the high Sa, on a matra or a part of it."""
    beat = Fraction(1)
    while matra_s * float(beat) > 1.0:
        beat /= 2
    count = int(tala.matras / beat)
    written: Written = {}
    for number, step in enumerate(scale.line(scale.rest(), count)):
        written[number * beat] = (melody.symbol_of(step), beat / 4)
        for part in range(1, 4):
            written[number * beat + part * beat / 4] = ("S'", beat / 4)
    return written


def _play_event(event: Event, drums: Written, lead: Written, scale: melody.Scale) -> None:
    """Write an event over what is played there."""
    first = event.statements[0]
    if event.by in ("tabla", "both"):
        clear(drums, first, event.landing)
        for begin in event.statements:
            for onset, bol in zip(event.onsets, event.symbols, strict=True):
                drums[begin + onset] = (bol, event.unit)
        drums[event.landing] = ("Dha", Fraction(1))
    if event.by in ("melody", "both"):
        clear(lead, first, event.landing)
        line = scale.line(scale.rest(), len(event.onsets))
        for begin, shift in zip(event.statements, event.shifts, strict=True):
            ends = [*event.onsets[1:], event.onsets[-1] + (event.unit if event.silent else event.dam)]
            for onset, end, word in zip(event.onsets, ends, event.words, strict=True):
                step = line[word]
                lead[begin + onset] = (melody.symbol_of(_moved(step, shift, scale)), end - onset)


def _moved(step: int, shift: int, scale: melody.Scale) -> int:
    """A swara moved by some steps of the scale."""
    ladder = sorted(set(scale.up) | {step})
    return ladder[int(np.clip(ladder.index(step) + shift, 0, len(ladder) - 1))]


def rendered(seed: int, cache_folder: Path) -> tuple[Path, Truth, list[EventTruth]]:
    """Give a concert's sound file and truth, rendered now unless the folder has it as these sources make it."""
    plan = finding_plan(seed)
    digest = hashlib.sha256((sources_digest() + _own_digest() + repr(plan)).encode()).hexdigest()[:10]
    sound_path = cache_folder / f"finding-{seed}-{digest}.flac"
    truth_path = sound_path.with_suffix(".json")
    if not (sound_path.exists() and truth_path.exists()):
        cache_folder.mkdir(parents=True, exist_ok=True)
        concert, events = play(plan)
        unfinished = sound_path.with_suffix(".flac.part")
        soundfile.write(unfinished, np.clip(sound_of(concert), -1.0, 1.0), RATE_HZ, format="FLAC", subtype="PCM_16")
        unfinished.replace(sound_path)
        write(truth_path, concert.truth, events)
    return sound_path, *read(truth_path)


@cache
def _own_digest() -> str:
    folder = Path(__file__).parent
    sources = [(folder / name).read_text(encoding="utf-8") for name in ("concert.py", "events.py")]
    return hashlib.sha256("".join(ast.dump(ast.parse(source)) for source in sources).encode()).hexdigest()


def main(arguments: Sequence[str] | None = None) -> None:
    """Render what the command line asks for."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.finding.concert", description=__doc__.split("\n")[0])
    parser.add_argument("--seeds", type=parse_seeds, default=parse_seeds("1-6"), help="such as 1-6 or 101,103")
    parser.add_argument("--into", type=Path, required=True, help="folder for sound and truth")
    options = parser.parse_args(arguments)
    for seed in options.seeds:
        path, truth, events = rendered(seed, options.into)
        print(f"{path}: {truth.duration_s:.0f} s, {', '.join(event.what for event in events)}")


if __name__ == "__main__":
    main()
