"""Tones of every shape, with their exact fundamental: what the melody is learnt on besides concerts.

They keep what is learnt from leaning on a handful of instruments: any number of harmonics, falling off slowly or fast,
with or without the even ones; struck, bowed or blown; with glides and andolan; over a still or a wavering drone; with
noises like strokes; with rests as long as the tones; clean or noisy.

Conventions: mono float32 at `ingest.decode.WORK_RATE_HZ`; the fundamental by frame of `ingest.melody_spectra.HOP`, 0 in
rests.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ingest.decode import WORK_RATE_HZ
from ingest.melody_spectra import HOP

LOWEST_HZ, HIGHEST_HZ = 75.0, 1200.0
Signal = NDArray[np.float32]


def tones(seed: int, seconds: float = 24.0) -> tuple[Signal, NDArray[np.float64]]:
    """Make a piece.

    Returns
    -------
    ndarray of float32, shape (n,)
    ndarray of float64, shape (frames,)
        Fundamental in Hz.
    """
    rng = np.random.default_rng((seed, 70))
    count = int(seconds * WORK_RATE_HZ)
    low_hz = LOWEST_HZ * 2 ** rng.uniform(0, 2)
    sa_hz = low_hz * 2 ** rng.uniform(0, 0.8)
    hz, envelope = _line(rng, count, low_hz)
    lead = _voice(rng, hz) * envelope
    lead /= max(float(np.sqrt(np.mean(lead**2))), 1e-6)
    sound = 0.1 * lead
    if rng.random() < 0.8:
        sound = sound + _drone(rng, count, sa_hz) * 0.1 * 10 ** (rng.uniform(-20, -3) / 20)
    if rng.random() < 0.6:
        sound = sound + _strokes(rng, count, sa_hz) * 0.1 * 10 ** (rng.uniform(-8, 6) / 20)
    sound = sound + rng.normal(0, 10 ** (rng.uniform(-90, -42) / 20), count)
    frames = -(-count // HOP)
    at = np.minimum(np.arange(frames) * HOP, count - 1)
    return sound.astype(np.float32), np.where(envelope[at] > 0.03, hz[at], 0.0)


def _line(rng: np.random.Generator, count: int, low_hz: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Pitch and envelope by sample: notes by step and leap in equal semitones, rests between some of them."""
    hz, envelope = np.full(count, low_hz), np.zeros(count)
    top = min(24, int(12 * np.log2(HIGHEST_HZ / low_hz)))
    pace_s, rests, held = rng.uniform(0.15, 1.0), rng.uniform(0, 0.4), rng.random() < 0.5
    at, step, before_hz = int(rng.uniform(0, 2) * WORK_RATE_HZ), int(rng.integers(top)), 0.0
    while at < count:
        n = min(int(pace_s * rng.choice((0.5, 1, 1, 2, 4)) * WORK_RATE_HZ) + 1, count - at)
        if rng.random() < rests:
            at, before_hz = at + n * int(rng.integers(1, 4)), 0.0
            continue
        step = int(np.clip(step + rng.choice((-5, -3, -2, -1, 0, 1, 2, 3, 5)), 0, top))
        t = np.arange(n) / WORK_RATE_HZ
        cents = np.zeros(n)
        note_hz = low_hz * 2 ** (step / 12)
        if before_hz and rng.random() < 0.4:
            glide_s = min(rng.uniform(0.05, 0.3), n / WORK_RATE_HZ)
            cents += 1200 * np.log2(before_hz / note_hz) * 0.5 * (1 + np.cos(np.pi * np.clip(t / glide_s, 0, 1)))
        if rng.random() < 0.3:
            cents += rng.uniform(5, 60) * np.sin(2 * np.pi * rng.uniform(3, 7) * t) * np.clip(t / 0.3, 0, 1)
        hz[at : at + n] = note_hz * 2 ** (cents / 1200)
        rise = np.clip(t / (0.04 if held else 0.004), 0, 1)
        fall = np.clip((n / WORK_RATE_HZ - t) / 0.03, 0, 1)
        envelope[at : at + n] = rise * fall * (1.0 if held else np.exp(-t / rng.uniform(0.25, 1.5)))
        envelope[at : at + n] *= rng.uniform(0.5, 1)
        at, before_hz = at + n, note_hz
    return hz, envelope


def _voice(rng: np.random.Generator, hz: NDArray[np.float64]) -> NDArray[np.float64]:
    """Harmonics with a slope, two bumps, and even ones of their own strength."""
    phase = 2 * np.pi * np.cumsum(hz) / WORK_RATE_HZ
    slope, even = rng.uniform(0.3, 2.2), rng.choice((1.0, 1.0, 1.0, 0.3))
    bumps = [(rng.uniform(300, 3000), rng.uniform(100, 600), rng.uniform(0, 3)) for _ in range(2)]
    out = np.zeros(len(hz))
    for number in range(1, int(rng.integers(3, 25)) + 1):
        if number * hz.max() > 0.45 * WORK_RATE_HZ:
            break
        gain = 1 + sum(high * np.exp(-(((number * hz - centre) / wide) ** 2)) for centre, wide, high in bumps)
        strong = number**-slope * (even if number % 2 == 0 else 1.0) * rng.uniform(0.4, 1.2)
        out += strong * gain * np.sin(number * phase + rng.uniform(0, 6.28))
    return out


def _drone(rng: np.random.Generator, count: int, sa_hz: float) -> NDArray[np.float64]:
    """Pa or ma, Sa and low Sa: still, or plucked one after the other."""
    t = np.arange(count) / WORK_RATE_HZ
    out = np.zeros(count)
    wavering, turn_s = rng.random() < 0.6, rng.uniform(3, 6)
    for place, ratio in enumerate((rng.choice((0.75, 2 / 3)), 1.0, 0.5)):
        since = (t + turn_s * place / 3) % turn_s
        for number in range(1, 16):
            strong = number ** -rng.uniform(0.4, 1.2)
            wave = np.sin(2 * np.pi * number * ratio * sa_hz * t + rng.uniform(0, 6.28))
            level = np.exp(-since / (4 / (1 + 0.1 * number))) if wavering else 1.0
            out += strong * level * wave
    result: NDArray[np.float64] = out / np.sqrt(np.mean(out**2))
    return result


def _strokes(rng: np.random.Generator, count: int, sa_hz: float) -> NDArray[np.float64]:
    """Bursts of noise, and short tones near Sa and of a deep drum, at an uneven pace."""
    out = np.zeros(count)
    at, pace_s = 0, rng.uniform(0.15, 0.6)
    while at < count:
        n = min(int(0.4 * WORK_RATE_HZ), count - at)
        t = np.arange(n) / WORK_RATE_HZ
        kind = rng.random()
        if kind < 0.4:
            burst = rng.normal(0, 1, n) * np.exp(-t / rng.uniform(0.01, 0.05))
        elif kind < 0.75:
            tone = sum(np.sin(2 * np.pi * sa_hz * 2 * m * t) / m for m in (1, 2, 3))
            burst = tone * np.exp(-t / rng.uniform(0.03, 0.15))
        else:
            burst = 2 * np.sin(2 * np.pi * np.cumsum(90 + 40 * np.exp(-t / 0.1)) / WORK_RATE_HZ) * np.exp(-t / 0.15)
        out[at : at + n] += burst * rng.uniform(0.3, 1)
        at += int(pace_s * rng.choice((0.5, 1, 1, 2)) * WORK_RATE_HZ)
    return out / max(float(np.sqrt(np.mean(out**2))), 1e-6)
