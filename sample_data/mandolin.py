"""A plucked mandolin with paired courses, by adding up decaying partials.

Each of the two strings of a course is a sum of harmonics whose starting levels follow the place of the pick
(a string plucked at a share ``b`` of its length lacks harmonics near multiples of 1/b) and the body's resonances, and
whose decay quickens with frequency. The two strings are a few cents apart and the pick meets them a millisecond or two
apart, which gives the shimmer. A short burst of noise is the pick itself.

Conventions: sound is mono float32 at ``RATE_HZ``; the first sample of a rendered pluck is the onset.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sample_data.events import Pluck
from sample_data.tools import RATE_HZ, Signal, band_noise, release

PICK_PLACE = 0.14
HIGHEST_PARTIAL_HZ = 9000.0
DAMPING_S = 0.03
# centre (Hz), width (Hz), gain: a small wooden body of our own, from no measured instrument
BODY = ((290.0, 120.0, 1.1), (560.0, 200.0, 0.9), (1150.0, 450.0, 0.7), (2500.0, 900.0, 0.6))


def pluck_sound(pluck: Pluck, seed: tuple[int, ...]) -> Signal:
    """Sound of one stroke.

    Parameters
    ----------
    pluck : Pluck
        What to play; its ``onset_s`` is not used.
    seed : tuple of int
        Makes the small irregularities of this stroke, always the same for the same seed.

    Returns
    -------
    ndarray of float32, shape (n,)
        From the onset until the string is damped.
    """
    rng = np.random.default_rng(seed)
    n = int((pluck.sounding_s + 5 * DAMPING_S) * RATE_HZ)
    t = np.arange(n) / RATE_HZ
    hz = pitch_along(pluck, t)
    brightness = 0.85 + 0.3 * pluck.level + (0.12 if pluck.upstroke else 0.0)
    out = np.zeros(n)
    for side in (-1, 1):
        cents = side * rng.uniform(0.8, 2.2)
        delay = 0 if side < 0 else int(rng.uniform(0.0006, 0.0018) * RATE_HZ)
        string = _string(hz * 2 ** (cents / 1200), t, brightness, pluck.upstroke)
        out[delay:] += string[: n - delay] * rng.uniform(0.42, 0.58)
    out *= release(n, pluck.sounding_s, DAMPING_S)
    pick = band_noise(rng, 0.012, 1800.0, 7000.0) * np.exp(-np.arange(int(0.012 * RATE_HZ)) / (0.0025 * RATE_HZ))
    knock = band_noise(rng, 0.03, 180.0, 700.0) * np.exp(-np.arange(int(0.03 * RATE_HZ)) / (0.006 * RATE_HZ))
    for noise, gain in ((pick, 0.10), (knock, 0.07)):
        m = min(n, noise.size)
        out[:m] += gain * brightness * noise[:m]
    level = pluck.level * (0.9 if pluck.upstroke else 1.0)
    return (level * out).astype(np.float32)


def pitch_along(pluck: Pluck, t: NDArray[np.float64]) -> NDArray[np.float64]:
    """Pitch along the stroke: a glide in, then perhaps an andolan that grows from nothing.

    Parameters
    ----------
    pluck : Pluck
    t : ndarray, shape (n,)
        Seconds from the onset.

    Returns
    -------
    ndarray, shape (n,)
        In Hz.
    """
    cents = np.zeros_like(t)
    if pluck.from_hz is not None and pluck.glide_s > 0:
        way = 1200 * np.log2(pluck.from_hz / pluck.hz)
        u = np.clip((t - 0.03) / pluck.glide_s, 0.0, 1.0)
        cents += way * 0.5 * (1 + np.cos(np.pi * u))
    if pluck.sway_cents:
        grown = np.clip((t - 0.25) / 0.3, 0.0, 1.0)
        cents += pluck.sway_cents * grown * np.sin(2 * np.pi * 4.2 * (t - 0.25))
    # the string is a little sharp while its swing is wide
    cents += 5.0 * np.exp(-t / 0.05)
    return pluck.hz * 2 ** (cents / 1200)


def _string(hz: NDArray[np.float64], t: NDArray[np.float64], brightness: float, upstroke: bool) -> NDArray[np.float64]:
    """One string: harmonics k = 1, 2, ..., each only as long as it can be heard."""
    # harmonic k turns k times as fast: one more multiplication by the first one's rotation, cheaper than a sine each
    turn = np.exp(2j * np.pi * np.cumsum(hz) / RATE_HZ)
    turned = np.ones_like(turn)
    top_hz = float(hz.max())
    place = PICK_PLACE * (0.85 if upstroke else 1.0)
    fundamental_decay_s = 0.55 * (300.0 / top_hz) ** 0.45
    out = np.zeros_like(t)
    for k in range(1, int(HIGHEST_PARTIAL_HZ / top_hz) + 1):
        f = k * top_hz
        level = abs(np.sin(np.pi * k * place)) / k ** (1.15 / brightness) * _body(f)
        decay_s = fundamental_decay_s / (1 + 0.10 * (k - 1) + (f / 5200.0) ** 2)
        m = min(t.size, int(7 * decay_s * RATE_HZ) + 1)
        turned = turned[:m] * turn[:m]
        # the pick drives the string against the bridge at first, where it loses much; what is left rings on
        envelope = np.exp(-t[:m] / decay_s)
        early = min(m, int(1.6 * decay_s * RATE_HZ))
        envelope[:early] += np.exp(-t[:early] / (0.22 * decay_s))
        out[:m] += 0.5 * level * envelope * turned.imag
    # half a millisecond to let the string go: no click, and an onset that stays sharp
    return out * np.minimum(1.0, t / 0.0005)


def _body(hz: float) -> float:
    """Gain of the body at a frequency."""
    peaks = sum(gain / (1 + ((hz - centre) / width) ** 2) for centre, width, gain in BODY)
    return float((0.45 + peaks) / (1 + (hz / 4200.0) ** 3))
