"""Many pairs of tabla out of two: the recorded pair in other tunings and colours, and synthetic pairs far apart.

What a network should learn is what the hands do and not how one pair sounds, so the pairs differ as widely as may still
be called tabla: pitch by more than an octave, decays by four times, the balance of the modes, the click of the fingers,
equalisation. The spreads are our own judgement.

Conventions as in ``sample_data.tabla``: mono float32 at 44.1 kHz.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.signal import butter, sosfilt

from benchmarks.concerts.recorded import RecordedTabla
from sample_data import tabla
from sample_data.events import Stroke
from sample_data.tools import RATE_HZ, Signal

Sounds = Callable[[int, Stroke], Signal]
Modes = tuple[tuple[float, float, float], ...]

NARROW_UNTIL, SYNTHETIC_UNTIL = 2000, 2100
"""Seeds below the first: two recorded pairs to one synthetic, near what they are; from there wide apart: synthetic up
to the second, recorded beyond."""

DAYAN_HZ = 279.0
_CLICKS = dict(tabla.TREBLE_CLICK)
_BAYAN_HZ, _BAYAN_MODES = tabla.BAYAN_HZ, tabla.BAYAN_MODES


def is_synthetic(seed: int) -> bool:
    """Whether the pair of this seed is synthetic."""
    return seed % 3 == 2 if seed < NARROW_UNTIL else seed < SYNTHETIC_UNTIL


def pair_of(seed: int, sa_hz: float, plan_seed: int, rng: np.random.Generator) -> tuple[Sounds, Sounds]:
    """Sounds of the dayan and the bayan of one pair, tuned to Sa or, now and then, to Pa."""
    wide = seed >= NARROW_UNTIL
    fifth = 1.5 if rng.random() < 0.25 else 1.0
    if is_synthetic(seed):
        _spread(rng, wide)
        around_hz = rng.uniform(200, 560) if wide else DAYAN_HZ
        tuned_hz = sa_hz * fifth * 2.0 ** round(np.log2(around_hz / sa_hz))
        sounds: tuple[Sounds, Sounds] = (
            lambda number, stroke: tabla.dayan_sound(stroke, tuned_hz, (seed, 2, number, 0)),
            lambda number, stroke: tabla.bayan_sound(stroke, (seed, 2, number, 1)),
        )
    else:
        retuned = 2 ** rng.uniform(-1.0, 0.2) if wide else 2 ** rng.uniform(-0.2, 0.2) if seed % 3 == 1 else 1.0
        recorded = RecordedTabla(sa_hz * fifth * retuned, plan_seed)
        sounds = recorded.dayan_sound, recorded.bayan_sound
    return (_coloured(sounds[0], rng), _coloured(sounds[1], rng)) if wide else sounds


def restore() -> None:
    """Give the synthetic pair its own sound back."""
    tabla.TREBLE_MODES.update(rim=tabla.RIM, sur=tabla.SUR, open=tabla.OPEN, dead=tabla.DEAD)
    tabla.TREBLE_CLICK.update(_CLICKS)
    tabla.BAYAN_HZ, tabla.BAYAN_MODES = _BAYAN_HZ, _BAYAN_MODES


def _spread(rng: np.random.Generator, wide: bool) -> None:
    """Make another pair out of the synthetic one."""
    if not wide:
        _spread_narrowly(rng)
        return
    decays = rng.uniform(0.7, 1.6)

    def spread(modes: Modes) -> Modes:
        tilt = rng.uniform(-0.8, 0.8)
        return tuple(
            (r * rng.uniform(0.97, 1.03), level * rng.uniform(0.4, 2.2) * r**tilt, s * decays * rng.uniform(0.5, 1.8))
            for r, level, s in modes
        )

    tabla.TREBLE_MODES.update(rim=spread(tabla.RIM), sur=spread(tabla.SUR), open=spread(tabla.OPEN))
    tabla.TREBLE_MODES["dead"] = tuple(
        (r * rng.uniform(0.7, 1.5), level * rng.uniform(0.3, 2), s * rng.uniform(0.5, 2)) for r, level, s in tabla.DEAD
    )
    for kind, (gain, low_hz, high_hz, decay_s) in _CLICKS.items():
        up = rng.uniform(0.6, 1.7)
        tabla.TREBLE_CLICK[kind] = (
            gain * rng.uniform(0.3, 2.5), low_hz * up, min(high_hz * up, 9500.0), decay_s * rng.uniform(0.5, 2.5),
        )  # fmt: skip
    tabla.BAYAN_HZ = _BAYAN_HZ * 2 ** rng.uniform(-0.5, 0.45)
    tabla.BAYAN_MODES = spread(_BAYAN_MODES)


def _spread_narrowly(rng: np.random.Generator) -> None:
    def spread(modes: Modes) -> Modes:
        return tuple(
            (r * rng.uniform(0.98, 1.02), level * rng.uniform(0.5, 1.6), s * rng.uniform(0.6, 1.5))
            for r, level, s in modes
        )

    tabla.TREBLE_MODES.update(
        rim=spread(tabla.RIM), sur=spread(tabla.SUR), open=spread(tabla.OPEN), dead=spread(tabla.DEAD)
    )
    tabla.BAYAN_HZ = _BAYAN_HZ * 2 ** rng.uniform(-0.35, 0.25)
    tabla.BAYAN_MODES = spread(_BAYAN_MODES)


def _coloured(sounds: Sounds, rng: np.random.Generator) -> Sounds:
    """The same drum through another equalisation, its peak kept."""
    edge_hz = float(np.exp(rng.uniform(np.log(200), np.log(3000))))
    gain = 10 ** (rng.uniform(-8, 8) / 20)
    low_pass = butter(1, edge_hz, fs=RATE_HZ, output="sos")

    def sound(number: int, stroke: Stroke) -> Signal:
        plain = sounds(number, stroke)
        if not len(plain):
            return plain
        low = sosfilt(low_pass, plain)
        turned = low + (plain - low) * gain
        return np.asarray(turned * (np.abs(plain).max() / max(np.abs(turned).max(), 1e-6)), dtype=np.float32)

    return sound
