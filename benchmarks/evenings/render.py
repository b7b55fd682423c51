"""The sound of an evening, and the cache of rendered ones: FLAC and truth side by side in a folder.

``python -m benchmarks.evenings.render --seeds 1-8 --into FOLDER`` renders and says where the files are.
"""

from __future__ import annotations

import argparse
import ast
import hashlib
from collections.abc import Sequence
from functools import cache
from pathlib import Path

import numpy as np
import soundfile

from benchmarks.concerts.recorded import RecordedTabla
from benchmarks.concerts.render import BAYAN_PAN, DAYAN_PAN, LEAD_PAN, PEAK, parse_seeds, sources_digest, through_mp3
from benchmarks.concerts.soundfont import GM_SOUNDFONT, SoundFont
from benchmarks.evenings.evening import Evening, EveningTruth, hold, read_truth, write_truth
from benchmarks.evenings.plan import MANDOLIN, EveningPlan, plan_evening
from benchmarks.evenings.talk import require_speech
from benchmarks.evenings.tuning import tap_sound
from benchmarks.installed import require_sounds
from benchmarks.levels import at_level, loudness
from sample_data import mandolin, tabla, tanpura
from sample_data.events import Stroke
from sample_data.room import drummed, in_room, plucked
from sample_data.tools import RATE_HZ, Signal, panned, place

TUNED_TO_HZ = 279.0  # the synthetic dayan's Sa lies in the octave nearest to it
DRONE_FADE_S = 1.5


def sound_of(evening: Evening) -> Signal:
    """Sound of an evening at 44.1 kHz, shape (n, 2)."""
    plan, truth = evening.plan, evening.truth
    concert, n = plan.concert, int(truth.duration_s * RATE_HZ)
    dry = _drums(evening, n)
    reference = loudness(dry) or 0.1
    if plan.program == MANDOLIN:
        lead = plucked(evening.plucks, n, lambda i, pluck: mandolin.pluck_sound(pluck, (plan.seed, 66, i)), 1.0)
    else:
        voice = SoundFont(GM_SOUNDFONT, plan.program)
        lead = plucked(evening.plucks, n, lambda _, pluck: voice.pluck_sound(pluck), 1.0)
    dry += panned(at_level(lead, reference, concert.lead_db), LEAD_PAN)
    drone = tanpura.drone(concert.sa_hz, concert.drone_ratios, truth.duration_s, plan.seed, truth.duration_s)[:n]
    dry += at_level(drone, reference, concert.drone_db) * _drone_gate(evening, n)[:, None]
    spoken, clapped = np.zeros(n, np.float32), np.zeros((n, 2), np.float32)
    for at_s, sound in evening.spoken:
        place(spoken, sound, at_s)
    for at_s, sound in evening.clapped:
        place(clapped, sound, at_s)
    dry += panned(at_level(spoken, reference, plan.talk_db), 0.0)
    dry += at_level(clapped, reference, plan.applause_db)
    mix = in_room(dry, concert.room_gain, concert.reverberation_s)
    mix *= np.float32(PEAK / np.abs(mix).max())
    noise = np.random.default_rng((plan.seed, 62)).standard_normal(mix.shape, dtype=np.float32)
    mix += np.float32(10 ** (concert.noise_db / 20)) * noise
    return through_mp3(mix, concert.mp3_quality) if concert.mp3_quality >= 0 else mix


def _drums(evening: Evening, n: int) -> Signal:
    """Tabla and hammer, shape (n, 2)."""
    plan = evening.plan
    sa_hz, seed = plan.concert.sa_hz, plan.seed
    cents = [off for _, off in evening.strokes]
    recorded = {off: RecordedTabla(sa_hz * 2 ** (off / 1200), seed) for off in set(cents)}
    own_sa_hz = sa_hz * 2.0 ** round(np.log2(TUNED_TO_HZ / sa_hz))

    def dayan(number: int, stroke: Stroke) -> Signal:
        if plan.synthetic_tabla:
            return tabla.dayan_sound(stroke, own_sa_hz * 2 ** (cents[number] / 1200), (seed, 63, number, 0))
        return recorded[cents[number]].dayan_sound(number, stroke)

    def bayan(number: int, stroke: Stroke) -> Signal:
        if plan.synthetic_tabla:
            return tabla.bayan_sound(stroke, (seed, 63, number, 1))
        return recorded[cents[number]].bayan_sound(number, stroke)

    strokes = [stroke for stroke, _ in evening.strokes]
    treble, bass = drummed(strokes, n, dayan, bayan, (1.0, 10 ** (plan.concert.bayan_db / 20)))
    for number, (at_s, level) in enumerate(evening.taps):
        place(treble, tap_sound(level, np.random.default_rng((seed, 64, number))), at_s)
    return panned(treble, DAYAN_PAN) + panned(bass, BAYAN_PAN)


def _drone_gate(evening: Evening, n: int) -> Signal:
    """1 where the tanpura sounds; it may rest while people talk and clap."""
    gate = np.ones(n, np.float32)
    if not evening.plan.drone_in_talk:
        for section in evening.held:
            if section.kind in ("talk", "applause"):
                gate[int(section.start_s * RATE_HZ) : int(section.end_s * RATE_HZ)] = 0.0
        width = int(DRONE_FADE_S * RATE_HZ)
        sums = np.cumsum(np.pad(gate.astype(np.float64), (width // 2 + 1, width - width // 2 - 1), mode="edge"))
        gate = ((sums[width - 1 :] - np.concatenate([[0.0], sums[:-width]])) / width)[:n].astype(np.float32)
    return gate


def rendered(seed: int, cache_folder: Path) -> tuple[Path, EveningTruth]:
    """Give an evening's sound file and truth, rendered now unless the folder has it as these sources make it."""
    return rendered_plan(plan_evening(seed), cache_folder)


def rendered_plan(plan: EveningPlan, cache_folder: Path) -> tuple[Path, EveningTruth]:
    """As `rendered`, for a plan of one's own."""
    digest = hashlib.sha256((sources_digest() + _digest() + repr(plan)).encode()).hexdigest()[:10]
    sound_path = cache_folder / f"evening-{plan.seed}-{digest}.flac"
    truth_path = sound_path.with_suffix(".json")
    if not (sound_path.exists() and truth_path.exists()):
        cache_folder.mkdir(parents=True, exist_ok=True)
        evening = hold(plan)
        unfinished = sound_path.with_suffix(".flac.part")
        soundfile.write(unfinished, np.clip(sound_of(evening), -1.0, 1.0), RATE_HZ, format="FLAC", subtype="PCM_16")
        write_truth(truth_path, evening.truth)
        unfinished.replace(sound_path)
    return sound_path, read_truth(truth_path)


@cache
def _digest() -> str:
    """Tells one state of these sources from another, comments and layout left aside."""
    sources = [path.read_text(encoding="utf-8") for path in sorted(Path(__file__).parent.glob("*.py"))]
    return hashlib.sha256("".join(ast.dump(ast.parse(source)) for source in sources).encode()).hexdigest()


def main(arguments: Sequence[str] | None = None) -> None:
    """Render what the command line asks for."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.evenings.render", description=__doc__.split("\n")[0])
    parser.add_argument("--seeds", type=parse_seeds, default=parse_seeds("1-8"), help="such as 1-8 or 201,203")
    parser.add_argument("--into", type=Path, required=True, help="folder for sound and truth")
    options = parser.parse_args(arguments)
    require_sounds()
    require_speech()
    for seed in options.seeds:
        path, truth = rendered(seed, options.into)
        print(f"{path}: {truth.duration_s:.0f} s, {', '.join(section.kind for section in truth.sections)}")


if __name__ == "__main__":
    main()
