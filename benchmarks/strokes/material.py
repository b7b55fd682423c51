"""Concerts to learn from: the bench's own scores with other pairs of tabla, leads, rooms and levels; kept as bands.

Kept is what the network sees, the loudness of the bands of `ingest.onsets`, and what it should say: every stroke with
what either hand does, and every pluck. Seeds are those of the bench and never the ones it tunes or judges on.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soxr
from numpy.typing import NDArray
from scipy.signal import butter, sosfilt

from benchmarks.concerts import soundfont
from benchmarks.concerts.plan import plan_concert
from benchmarks.concerts.render import through_mp3
from benchmarks.concerts.score import play_concert
from benchmarks.levels import at_level, loudness
from benchmarks.strokes.pairs import pair_of, restore
from ingest.decode import WORK_RATE_HZ
from ingest.onsets import onset_end, onset_start, onset_step
from sample_data import mandolin, tanpura
from sample_data.events import Part
from sample_data.room import drummed, in_room, plucked
from sample_data.tools import RATE_HZ, Signal, panned

SEEDS = (*range(1001, 1085), *range(2001, 2056), *range(2101, 2131))
# General MIDI: sitar, guitars, banjo, shamisen, koto, harp, pizzicato, fiddle, violin, flute, reed organ, voice ...
PROGRAMS = (104, 104, 104, 24, 25, 26, 105, 106, 107, 46, 45, 110, 40, 73, 20, 52, 71, 11)
BAYAN_CODE = {"none": 0, "rings": 1, "dead": 2}
DAYAN_CODE = {"rim": 1, "sur": 2, "open": 3}


@dataclass(frozen=True)
class Lesson:
    """A concert to learn from.

    Attributes
    ----------
    bands : ndarray of float16, shape (n, bands)
    stroke_s, bayan, dayan : ndarrays, shape (s,)
        When each stroke falls; 0 nothing, 1 rings, 2 dead; 0 nothing, 1 rim, 2 sur, 3 open, 4 dead.
    pluck_s : ndarray, shape (p,)
    """

    bands: NDArray[np.float16]
    stroke_s: NDArray[np.float64]
    bayan: NDArray[np.int64]
    dayan: NDArray[np.int64]
    pluck_s: NDArray[np.float64]


def lesson(seed: int, cache_folder: Path) -> Lesson:
    """Give a lesson, made now unless the folder has it."""
    path = cache_folder / f"lesson-{seed}.npz"
    if not path.exists():
        cache_folder.mkdir(parents=True, exist_ok=True)
        made = vars(_made(seed))
        unfinished = path.with_suffix(".part.npz")
        np.savez(unfinished, **made)
        unfinished.replace(path)
    with np.load(path) as stored:
        return Lesson(**{name: stored[name] for name in stored.files})


def _made(seed: int) -> Lesson:
    part, mono = _sound(seed)
    strokes = part.strokes
    state, first = onset_step(onset_start(), mono)
    bands = np.concatenate([first.bands, onset_end(state).bands])
    return Lesson(
        bands.astype(np.float16),
        np.array([stroke.onset_s for stroke in strokes]),
        np.array([BAYAN_CODE[stroke.bass] for stroke in strokes]),
        np.array([0 if s.treble == "none" else 4 if s.treble == "dead" else DAYAN_CODE[s.colour] for s in strokes]),
        np.array([pluck.onset_s for pluck in part.plucks]),
    )


def _sound(seed: int) -> tuple[Part, Signal]:
    """A concert's part, and its sound as ingest hears it: mono at `WORK_RATE_HZ`."""
    rng = np.random.default_rng((seed, 77))
    plan = plan_concert(seed)
    part = play_concert(plan).part
    n = int(part.duration_s * RATE_HZ)
    dayan, bayan = pair_of(seed, part.sa_hz, plan.seed, rng)
    treble, bass = drummed(part.strokes, n, dayan, bayan, (1.0, 10 ** (plan.bayan_db / 20)))
    restore()
    drums = treble + bass
    reference = loudness(drums) or 0.1
    if rng.random() < 0.2:
        lead = plucked(part.plucks, n, lambda i, pluck: mandolin.pluck_sound(pluck, (seed, 1, i)), 1.0)
    else:
        voice = soundfont._voice(soundfont.GM_SOUNDFONT, int(rng.choice(PROGRAMS)))
        lead = plucked(part.plucks, n, lambda _, pluck: voice.pluck_sound(pluck), 1.0)
    dry = panned(drums, 0.2) + panned(at_level(lead, reference, plan.lead_db), -0.25)
    drone = tanpura.drone(part.sa_hz, part.drone_ratios, part.duration_s, plan.seed, part.duration_s)[:n]
    dry += at_level(drone, reference, plan.drone_db)
    mix = in_room(dry, plan.room_gain, plan.reverberation_s)
    edge_hz, gain = float(np.exp(rng.uniform(np.log(150), np.log(4000)))), 10 ** (rng.uniform(-6, 6) / 20)
    low = sosfilt(butter(1, edge_hz, fs=RATE_HZ, output="sos"), mix, axis=0)
    mix = (low + (mix - low) * gain).astype(np.float32)
    mix *= np.float32(0.89 / np.abs(mix).max() * 10 ** (rng.uniform(-18, 0) / 20))
    noise = rng.standard_normal(mix.shape, dtype=np.float32)
    mix += np.float32(10 ** (plan.noise_db / 20) * 0.5) * noise
    if plan.mp3_quality >= 0:
        mix = through_mp3(mix, plan.mp3_quality)
    return part, soxr.resample(mix.mean(axis=1), RATE_HZ, WORK_RATE_HZ).astype(np.float32)
