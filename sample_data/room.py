"""The room and the mix: seats of the players, reverberation, loudness, the sound file.

The room is exponentially decaying noise, different for the two ears, the treble dying sooner than the bass.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import soundfile
from scipy.signal import butter, oaconvolve, sosfilt

from sample_data import mandolin, tabla, tanpura
from sample_data.events import Part, Pluck, Stroke
from sample_data.tools import RATE_HZ, Signal, panned, place, release

PEAK_DB = -1.0
MANDOLIN_PAN, DAYAN_PAN, BAYAN_PAN = -0.28, 0.38, 0.14
MANDOLIN_GAIN, DAYAN_GAIN, BAYAN_GAIN, DRONE_GAIN = 0.70, 0.80, 0.80, 0.062
STOPPING_S = 0.012
ROOM_GAIN = 0.16
REVERBERATION_S = 1.1
FIRST_ECHO_S = 0.014


def sound_of(part: Part, seed: int, until_s: float | None = None) -> Signal:
    """Play a part.

    Parameters
    ----------
    part : Part
        What to play.
    seed : int
        Seed of the performance: same part and seed, same samples.
    until_s : float, optional
        Play only this much from the start; the samples are those of the whole up to the final gain.

    Returns
    -------
    ndarray of float32, shape (n, 2)
        At 44.1 kHz, peak at -1 dB of full scale.
    """
    length_s = part.duration_s if until_s is None else min(until_s, part.duration_s)
    dry = dry_mix(part, seed, length_s)
    mix = in_room(dry, ROOM_GAIN)
    if until_s is None:
        mix *= _fade(dry.shape[0])[:, None]
    peak = float(np.abs(mix).max()) or 1.0
    return (mix * np.float32(10 ** (PEAK_DB / 20) / peak)).astype(np.float32)


def dry_mix(part: Part, seed: int, until_s: float) -> Signal:
    """All players in their seats and at their loudness, without the room.

    Parameters
    ----------
    part, seed, until_s
        As in `sound_of`.

    Returns
    -------
    ndarray of float32, shape (n, 2)
    """
    n = int(until_s * RATE_HZ)
    dry = tanpura.drone(part.sa_hz, part.drone_ratios, part.duration_s, seed, until_s) * np.float32(DRONE_GAIN)
    dry += panned(_mandolin(part, seed, n), MANDOLIN_PAN)
    treble, bass = _tabla(part, seed, n)
    dry += panned(treble, DAYAN_PAN) + panned(bass, BAYAN_PAN)
    return dry


def in_room(dry: Signal, gain: float, reverberation_s: float = REVERBERATION_S) -> Signal:
    """Add the room's answer, shape (n, 2); ``gain`` is linear, the answer dies by 60 dB in ``reverberation_s``."""
    n = dry.shape[0]
    wet = np.stack([oaconvolve(dry[:, ear], _room(ear, reverberation_s), axes=0)[:n] for ear in (0, 1)], axis=1)
    mix: Signal = dry + np.float32(gain) * wet.astype(np.float32)
    return mix


def write_ogg(path: Path, sound: Signal) -> None:
    """Write OGG Vorbis; nothing half-written stays under the final name.

    Parameters
    ----------
    path : Path
        File to make or replace.
    sound : ndarray of float32, shape (n, 2)
        At 44.1 kHz.
    """
    unfinished = path.with_suffix(".part")
    with soundfile.SoundFile(
        unfinished, "w", RATE_HZ, sound.shape[1], format="OGG", subtype="VORBIS", compression_level=0.6
    ) as file:
        # in blocks: the encoder keeps what it is handed on its stack, and minutes at once overflow it
        for first in range(0, sound.shape[0], RATE_HZ):
            file.write(sound[first : first + RATE_HZ])
    unfinished.replace(path)


def _mandolin(part: Part, seed: int, n: int) -> Signal:
    return plucked(part.plucks, n, lambda number, pluck: mandolin.pluck_sound(pluck, (seed, 1, number)), MANDOLIN_GAIN)


def _tabla(part: Part, seed: int, n: int) -> tuple[Signal, Signal]:
    return drummed(
        part.strokes,
        n,
        lambda number, stroke: tabla.dayan_sound(stroke, part.sa_hz, (seed, 2, number, 0)),
        lambda number, stroke: tabla.bayan_sound(stroke, (seed, 2, number, 1)),
        (DAYAN_GAIN, BAYAN_GAIN),
    )


def plucked(plucks: Sequence[Pluck], n: int, sound: Callable[[int, Pluck], Signal], gain: float) -> Signal:
    """Lay plucks into ``n`` samples; ``sound`` gives that of each, by its number."""
    mix = np.zeros(n, np.float32)
    for number, pluck in enumerate(plucks):
        if pluck.onset_s * RATE_HZ < n:
            place(mix, sound(number, pluck), pluck.onset_s, gain)
    return mix


def drummed(
    strokes: Sequence[Stroke],
    n: int,
    dayan_sound: Callable[[int, Stroke], Signal],
    bayan_sound: Callable[[int, Stroke], Signal],
    gains: tuple[float, float],
) -> tuple[Signal, Signal]:
    """Both drums, treble and bass, each shape (n,). The hand that strikes a drum again stops what was ringing on it.

    Parameters
    ----------
    strokes : sequence of Stroke
        In order of time.
    n : int
        Samples.
    dayan_sound, bayan_sound : callable
        From a stroke's number and the stroke to its sound on that drum, empty when the drum is not struck.
    gains : tuple of float
        Of the treble and the bass drum.
    """
    treble, bass = np.zeros(n, np.float32), np.zeros(n, np.float32)
    next_treble_s = next_bass_s = np.inf
    for number in reversed(range(len(strokes))):
        stroke = strokes[number]
        if stroke.onset_s * RATE_HZ < n:
            sound = dayan_sound(number, stroke)
            place(treble, _stopped(sound, next_treble_s - stroke.onset_s), stroke.onset_s, gains[0])
            sound = bayan_sound(number, stroke)
            place(bass, _stopped(sound, next_bass_s - stroke.onset_s), stroke.onset_s, gains[1])
        next_treble_s = next_treble_s if stroke.treble == "none" else stroke.onset_s
        next_bass_s = next_bass_s if stroke.bass == "none" else stroke.onset_s
    return treble, bass


def _stopped(sound: Signal, after_s: float) -> Signal:
    """A drum's sound until the next stroke on it."""
    return (sound * release(sound.size, after_s, STOPPING_S)).astype(np.float32)


def _room(ear: int, reverberation_s: float) -> Signal:
    """Impulse response of the room at one ear, energy 1; the same noise for every performance."""
    rng = np.random.default_rng((2024, ear))
    t = np.arange(int(1.3 * reverberation_s * RATE_HZ)) / RATE_HZ
    noise = rng.standard_normal(t.size)
    low = sosfilt(butter(2, 1800.0, fs=RATE_HZ, output="sos"), noise)
    high = sosfilt(butter(2, 7000.0, fs=RATE_HZ, output="sos"), noise) - low
    # exp(-6.9 t / T) is 60 dB down at T
    response = low * np.exp(-6.9 * t / reverberation_s) + 0.7 * high * np.exp(-6.9 * t / (0.55 * reverberation_s))
    response[: int(FIRST_ECHO_S * RATE_HZ)] = 0.0
    scaled: Signal = (response / np.sqrt(np.sum(response**2))).astype(np.float32)
    return scaled


def _fade(n: int) -> Signal:
    """In over a third of a second, out over the last one and a half."""
    t = np.arange(n) / RATE_HZ
    return (np.clip(t / 0.3, 0, 1) * np.clip((n / RATE_HZ - t) / 1.5, 0, 1)).astype(np.float32)
