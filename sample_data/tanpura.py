"""A tanpura: four strings in turn, each with the slow sweep of overtones that the curved bridge gives.

The jivari is imitated, not modelled: on top of a plain decaying string, a ridge of strong harmonics starts high in the
series and sinks while the string rings. Each string is made once in two slightly different versions and used again.

Conventions as in ``mandolin``; stereo, because the strings of a large instrument close by are heard side by side.
"""

from __future__ import annotations

import numpy as np

from sample_data.tools import RATE_HZ, Signal, panned, place

RING_S = 6.5
STEP_S = 1.12
REST_S = 0.45
HARMONICS = 36


def drone(sa_hz: float, ratios: tuple[float, ...], duration_s: float, seed: int, until_s: float) -> Signal:
    """The drone of a recording, from its start to ``until_s``.

    Parameters
    ----------
    sa_hz : float
        Sa of the lead's middle octave.
    ratios : tuple of float
        The strings in the order they are pulled, as ratios to Sa.
    duration_s : float
        Length of the recording; the last strings ring out before it ends.
    seed : int
        Seed of the performance.
    until_s : float
        How much of it is wanted.

    Returns
    -------
    ndarray of float32, shape (n, 2)
    """
    mix = np.zeros((int(until_s * RATE_HZ), 2), np.float32)
    if not ratios:
        return mix
    versions = [[string_sound(sa_hz * ratio, (seed, 3, i, v)) for v in range(2)] for i, ratio in enumerate(ratios)]
    pull, at_s = 0, 0.15
    while at_s < min(until_s, duration_s - 3.0):
        i = pull % len(ratios)
        rng = np.random.default_rng((seed, 4, pull))
        level = rng.uniform(0.85, 1.0) * (1.15 if i == len(ratios) - 1 else 1.0)
        sound = panned(versions[i][int(rng.integers(2))], pan=-0.45 + 0.3 * i)
        place(mix, sound, at_s + rng.normal(0.0, 0.02), level)
        at_s += STEP_S + (REST_S if i == len(ratios) - 1 else 0.0)
        pull += 1
    return mix


def string_sound(hz: float, seed: tuple[int, ...]) -> Signal:
    """One pull of one string, mono."""
    rng = np.random.default_rng(seed)
    t = np.arange(int(RING_S * RATE_HZ)) / RATE_HZ
    ridge = 3.0 + 17.0 * np.exp(-t / 1.3)
    swell = 1 - np.exp(-t / 0.05)
    out = np.zeros_like(t)
    base = hz * 2 ** (rng.uniform(-1.0, 1.0) / 1200)
    # harmonic k turns k times as fast: one more multiplication by the first one's rotation, cheaper than a sine each
    turn = np.exp(2j * np.pi * base * t)
    turned = np.ones_like(turn)
    height, slow, quick = np.log(ridge), 0.9 * np.exp(-0.5 * t), np.exp(-0.06 * t)
    plain = np.exp(-0.55 * t)
    for k in range(1, min(HARMONICS, int(7500 / hz)) + 1):
        turned *= turn
        plain *= quick
        buzz = slow * np.exp(-((np.log(k) - height) ** 2) / 0.18) / k**0.35
        phase = 2 * np.pi * rng.random()
        out += (plain / k**0.8 + buzz) * (turned.real * np.sin(phase) + turned.imag * np.cos(phase))
    fade = np.clip((RING_S - t) / 1.0, 0.0, 1.0)
    return (0.2 * swell * fade * out).astype(np.float32)
