"""The sound of a concert, and the cache of rendered ones: FLAC and truth side by side in a folder.

An MP3 pass delays the sound by some hundreds of samples; the delay is measured against the sound before it and taken
off, so that the truth stays exact to the sample.

``python -m benchmarks.concerts.render --seeds 1-6 --into FOLDER`` renders and says where the files are.
"""

from __future__ import annotations

import argparse
import ast
import hashlib
import io
from collections.abc import Sequence
from functools import cache
from pathlib import Path

import numpy as np
import soundfile
from scipy.signal import correlate

from benchmarks.concerts.plan import ConcertPlan, plan_concert
from benchmarks.concerts.recorded import RecordedTabla
from benchmarks.concerts.score import Concert, play_concert
from benchmarks.concerts.soundfont import lead_voice
from benchmarks.concerts.truth import Truth, read_truth, write_truth
from benchmarks.levels import at_level, loudness
from sample_data import mandolin, tanpura
from sample_data.room import drummed, in_room, plucked
from sample_data.tools import RATE_HZ, Signal, panned

PEAK = 0.89
LEAD_PAN, DAYAN_PAN, BAYAN_PAN = -0.25, 0.35, 0.15
DELAY_AT_MOST = 6000  # samples; an encoder and decoder of MP3 make 529 + 576 to about 2300
DELAY_MEASURED_ON_S = 20.0


def sound_of(concert: Concert) -> Signal:
    """Sound of a concert at 44.1 kHz, shape (n, 2): drone, tabla, lead, room, noise, and the MP3 pass if planned."""
    plan, part = concert.plan, concert.part
    n = int(part.duration_s * RATE_HZ)
    tabla = RecordedTabla(part.sa_hz, plan.seed)
    gains = (1.0, 10 ** (plan.bayan_db / 20))
    treble, bass = drummed(part.strokes, n, tabla.dayan_sound, tabla.bayan_sound, gains)
    drums = panned(treble, DAYAN_PAN) + panned(bass, BAYAN_PAN)
    reference = loudness(treble + bass) or 0.1
    if plan.lead == "mandolin":
        lead = plucked(part.plucks, n, lambda i, pluck: mandolin.pluck_sound(pluck, (plan.seed, 1, i)), 1.0)
    else:
        voice = lead_voice(plan.lead)
        lead = plucked(part.plucks, n, lambda _, pluck: voice.pluck_sound(pluck), 1.0)
    dry = drums + panned(at_level(lead, reference, plan.lead_db), LEAD_PAN)
    drone = tanpura.drone(part.sa_hz, part.drone_ratios, part.duration_s, plan.seed, part.duration_s)[:n]
    dry += at_level(drone, reference, plan.drone_db)
    mix = in_room(dry, plan.room_gain, plan.reverberation_s)
    mix *= np.float32(PEAK / np.abs(mix).max())
    noise = np.random.default_rng((plan.seed, 40)).standard_normal(mix.shape, dtype=np.float32)
    mix += np.float32(10 ** (plan.noise_db / 20)) * noise
    return through_mp3(mix, plan.mp3_quality) if plan.mp3_quality >= 0 else mix


def through_mp3(sound: Signal, quality: float) -> Signal:
    """Encode as MP3 and decode again, the codec's delay taken off.

    Parameters
    ----------
    sound : ndarray of float32, shape (n, 2)
    quality : float
        0 (best, largest) to 1.
    """
    coded = io.BytesIO()
    with soundfile.SoundFile(
        coded, "w", RATE_HZ, sound.shape[1], format="MP3", subtype="MPEG_LAYER_III", compression_level=quality
    ) as file:
        for first in range(0, sound.shape[0], RATE_HZ):
            file.write(sound[first : first + RATE_HZ])
    coded.seek(0)
    decoded = soundfile.read(coded, dtype="float32")[0]
    measured = slice(0, min(len(sound), len(decoded), int(DELAY_MEASURED_ON_S * RATE_HZ)))
    likeness = correlate(decoded[measured].sum(axis=1), sound[measured].sum(axis=1), "full", "fft")
    centre = len(sound[measured]) - 1
    delay = int(likeness[centre - DELAY_AT_MOST : centre + DELAY_AT_MOST].argmax()) - DELAY_AT_MOST
    out = np.zeros_like(sound)
    source = decoded[max(delay, 0) :][: len(sound) - max(-delay, 0)]
    out[max(-delay, 0) :][: len(source)] = source
    return out


def rendered(seed: int, cache_folder: Path) -> tuple[Path, Truth]:
    """Give a concert's sound file and truth, rendered now unless the folder has it as these sources make it."""
    return rendered_plan(plan_concert(seed), cache_folder)


def rendered_plan(plan: ConcertPlan, cache_folder: Path) -> tuple[Path, Truth]:
    """As `rendered`, for a plan of one's own."""
    digest = hashlib.sha256((sources_digest() + repr(plan)).encode()).hexdigest()[:10]
    sound_path = cache_folder / f"concert-{plan.seed}-{digest}.flac"
    truth_path = sound_path.with_suffix(".json")
    if not (sound_path.exists() and truth_path.exists()):
        cache_folder.mkdir(parents=True, exist_ok=True)
        concert = play_concert(plan)
        unfinished = sound_path.with_suffix(".flac.part")
        soundfile.write(unfinished, np.clip(sound_of(concert), -1.0, 1.0), RATE_HZ, format="FLAC", subtype="PCM_16")
        write_truth(truth_path, concert.truth)
        unfinished.replace(sound_path)
    return sound_path, read_truth(truth_path)


@cache
def sources_digest() -> str:
    """Tells one state of the renderer from another: a digest of its sources, comments and layout left aside."""
    digest = hashlib.sha256()
    for path in sorted(Path(__file__).parent.iterdir()):
        if path.suffix == ".py":
            digest.update(ast.dump(ast.parse(path.read_text(encoding="utf-8"))).encode())
        elif path.suffix == ".toml":
            digest.update(path.read_bytes())
    return digest.hexdigest()


def parse_seeds(text: str) -> list[int]:
    """Read ``"1-6"``, ``"101,103"`` and mixtures."""
    seeds: list[int] = []
    for part in text.split(","):
        first, _, last = part.partition("-")
        seeds += range(int(first), int(last or first) + 1)
    return seeds


def main(arguments: Sequence[str] | None = None) -> None:
    """Render what the command line asks for."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.concerts.render", description=__doc__.split("\n")[0])
    parser.add_argument("--seeds", type=parse_seeds, default=parse_seeds("1-6"), help="such as 1-6 or 101,103")
    parser.add_argument("--into", type=Path, required=True, help="folder for sound and truth")
    options = parser.parse_args(arguments)
    for seed in options.seeds:
        path, truth = rendered(seed, options.into)
        print(f"{path}: {truth.duration_s:.0f} s, {', '.join(section.kind for section in truth.sections)}")


if __name__ == "__main__":
    main()
