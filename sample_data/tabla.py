"""A pair of tabla, by adding up the modes of the two skins.

The dayan's loaded skin has modes near the harmonics 1 : 2 : 3 : 4 : 5 of a weak fundamental (C. V. Raman, "The Indian
musical drums", Proc. Indian Acad. Sci. A 1, 1934, pp. 179-188; from memory), which is why it can be tuned. The levels
and decays per tone are ours: a stroke on the rim hides the fundamental, a stroke on the sur favours the second mode, an
open stroke in the middle favours the fundamental. The dayan's second mode is tuned to Sa. The bayan is a low skin whose
pitch falls as the first swing dies and then follows the heel of the hand. Dead strokes are short bursts of noise with
modes that die within some hundredths of a second.

Conventions as in ``mandolin``.
"""

from __future__ import annotations

import numpy as np

from sample_data.events import Stroke
from sample_data.tools import RATE_HZ, Signal, Wave, band_noise

# (multiple of Sa, level, decay in seconds); slightly off the exact harmonics, as the loaded skin is
RIM = ((0.52, 0.06, 0.10), (1.0, 0.55, 0.30), (1.504, 1.0, 0.26), (2.006, 0.60, 0.17), (2.51, 0.33, 0.11),
       (3.03, 0.20, 0.07), (4.07, 0.12, 0.04), (5.3, 0.07, 0.025))  # fmt: skip
SUR = ((0.52, 0.10, 0.12), (1.0, 1.0, 0.42), (1.504, 0.34, 0.24), (2.006, 0.28, 0.16), (2.51, 0.08, 0.08),
       (3.4, 0.05, 0.03))  # fmt: skip
OPEN = ((0.535, 1.0, 0.36), (1.0, 0.34, 0.22), (1.51, 0.12, 0.12), (2.02, 0.05, 0.06))
DEAD = ((0.83, 0.5, 0.016), (1.31, 0.7, 0.018), (1.87, 0.6, 0.014), (2.63, 0.45, 0.011), (3.55, 0.3, 0.008))
TREBLE_MODES = {"rim": RIM, "sur": SUR, "open": OPEN, "dead": DEAD}
# click of the finger: level, low and high edge in Hz, decay in seconds
TREBLE_CLICK = {
    "rim": (0.30, 1800.0, 7500.0, 0.004),
    "sur": (0.12, 1200.0, 5000.0, 0.003),
    "open": (0.10, 600.0, 3000.0, 0.004),
    "dead": (0.42, 900.0, 5200.0, 0.011),
}

BAYAN_HZ = 82.0
BAYAN_MODES = ((1.0, 1.0, 0.36), (1.58, 0.30, 0.16), (2.08, 0.24, 0.13), (2.63, 0.12, 0.08), (3.2, 0.08, 0.05))


def dayan_sound(stroke: Stroke, sa_hz: float, seed: tuple[int, ...]) -> Signal:
    """Sound of the treble drum in one stroke; empty when it is not struck. Shape (n,)."""
    if stroke.treble == "none":
        return np.zeros(0, np.float32)
    rng = np.random.default_rng(seed)
    tone = stroke.colour if stroke.treble == "rings" else "dead"
    modes = TREBLE_MODES[tone]
    t = _time(max(decay for _, _, decay in modes))
    out = np.zeros_like(t)
    for ratio, level, decay_s in modes:
        # the struck skin starts a trace sharp; each stroke weighs the modes a little differently
        cycles = ratio * sa_hz * (t + 0.006 * 0.012 * (1 - np.exp(-t / 0.012)))
        out += level * rng.uniform(0.85, 1.15) * np.exp(-t / decay_s) * np.sin(2 * np.pi * cycles)
    out *= np.minimum(1.0, t / 0.0004)
    gain, low_hz, high_hz, decay_s = TREBLE_CLICK[tone]
    _add_click(out, rng, gain, low_hz, high_hz, decay_s)
    weight = 0.55 if tone == "dead" else 0.5
    return (weight * stroke.level * out).astype(np.float32)


def bayan_sound(stroke: Stroke, seed: tuple[int, ...]) -> Signal:
    """Sound of the bass drum in one stroke; empty when it is not struck. Shape (n,)."""
    if stroke.bass == "none":
        return np.zeros(0, np.float32)
    rng = np.random.default_rng(seed)
    if stroke.bass == "dead":
        out = 0.5 * np.exp(-_time(0.02) / 0.02) * np.sin(2 * np.pi * 135.0 * _time(0.02))
        _add_click(out, rng, 0.55, 250.0, 1600.0, 0.010)
        return (0.5 * stroke.level * out).astype(np.float32)
    t = _time(BAYAN_MODES[0][2])
    heel = np.clip((t - 0.05) / 0.22, 0.0, 1.0)
    hz = BAYAN_HZ * (1 + 0.28 * np.exp(-t / 0.022) + stroke.bend * 0.5 * (1 - np.cos(np.pi * heel)))
    phase = 2 * np.pi * np.cumsum(hz) / RATE_HZ
    out = np.zeros_like(t)
    for ratio, level, decay_s in BAYAN_MODES:
        out += level * rng.uniform(0.9, 1.1) * np.exp(-t / decay_s) * np.sin(ratio * phase)
    out *= np.minimum(1.0, t / 0.0012)
    _add_click(out, rng, 0.22, 200.0, 1500.0, 0.006)
    return (0.62 * stroke.level * out).astype(np.float32)


def _time(decay_s: float) -> Wave:
    """Time in seconds from the onset until a decay can no longer be heard (about 60 dB down)."""
    return np.arange(int((7 * decay_s + 0.05) * RATE_HZ)) / RATE_HZ


def _add_click(out: Wave, rng: np.random.Generator, gain: float, low_hz: float, high_hz: float, decay_s: float) -> None:
    """Add the noise of finger or palm meeting the skin, in place."""
    noise = band_noise(rng, min(8 * decay_s, out.size / RATE_HZ), low_hz, high_hz)
    out[: noise.size] += gain * noise * np.exp(-np.arange(noise.size) / (decay_s * RATE_HZ))
