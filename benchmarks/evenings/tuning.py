"""Tuning: strings struck again and again while the peg is turned; the dayan tried and hammered round its rim.

Conventions: times in seconds from the start of the tuning.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sample_data.events import Pluck, Stroke
from sample_data.tools import RATE_HZ, Signal, band_noise

STRINGS = (1.0, 0.5, 0.75, 1.5, 2.0, 4 / 3)  # of Sa
FURTHEST_CENTS = 120.0
TAP_S = 0.06


@dataclass(frozen=True)
class Tuned:
    """What sounds while tuning: plucks, strokes of the dayan with how far it is off then, and taps of the hammer."""

    plucks: tuple[Pluck, ...]
    strokes: tuple[tuple[Stroke, float], ...]
    taps: tuple[tuple[float, float], ...]  # onset in seconds, level


def tune(seconds: float, sa_hz: float, rng: np.random.Generator) -> Tuned:
    """Tune for some seconds: the strings, the tabla, or one after or beside the other."""
    who = str(rng.choice(("strings", "tabla", "both", "after"), p=(0.3, 0.2, 0.25, 0.25)))
    half = seconds / 2 if who == "after" else 0.0
    plucks = [] if who == "tabla" else _strings(0.0, half or seconds, sa_hz, rng)
    strokes, taps = ([], []) if who == "strings" else _dayan(half, seconds, rng)
    return Tuned(tuple(plucks), tuple(strokes), tuple(taps))


def _strings(start_s: float, end_s: float, sa_hz: float, rng: np.random.Generator) -> list[Pluck]:
    out: list[Pluck] = []
    at_s = start_s
    while at_s < end_s - 0.8:
        hz = sa_hz * float(rng.choice(STRINGS))
        cents = float(rng.uniform(-FURTHEST_CENTS, FURTHEST_CENTS))
        for _ in range(int(rng.integers(3, 9))):
            if at_s >= end_s - 0.8:
                break
            turned = cents * float(rng.uniform(0.1, 0.7))
            before, after = hz * 2 ** (cents / 1200), hz * 2 ** (turned / 1200)
            gap_s = float(rng.uniform(0.45, 1.7))
            out.append(Pluck(at_s, min(gap_s + 0.3, 2.5), after, float(rng.uniform(0.4, 0.8)), before,
                             float(rng.uniform(0.3, 0.9))))  # fmt: skip
            cents, at_s = turned, at_s + gap_s
        if rng.random() < 0.35:  # the sympathetic strings, one after the other
            step_s = float(rng.uniform(0.07, 0.14))
            for semitones in (12, 11, 9, 7, 5, 4, 2, 0):
                if at_s < end_s - 0.8:
                    out.append(Pluck(at_s, 0.8, sa_hz * 2 ** (semitones / 12), 0.4))
                    at_s += step_s
        at_s += float(rng.uniform(0.2, 1.5))
    return out


def _dayan(
    start_s: float, end_s: float, rng: np.random.Generator
) -> tuple[list[tuple[Stroke, float]], list[tuple[float, float]]]:
    strokes: list[tuple[Stroke, float]] = []
    taps: list[tuple[float, float]] = []
    at_s, cents = start_s + float(rng.uniform(0, 0.5)), float(rng.uniform(-60, 60))
    while at_s < end_s - 0.6:
        pace_s = float(rng.uniform(0.16, 0.55))
        for _ in range(int(rng.integers(2, 6))):
            if at_s < end_s - 0.6:
                colour = "rim" if rng.random() < 0.8 else "sur"
                strokes.append((Stroke(at_s, "none", "rings", colour, float(rng.uniform(0.5, 0.9))), cents))
                at_s += pace_s * float(rng.normal(1.0, 0.06))
        for _ in range(int(rng.integers(0, 4))):
            if at_s < end_s - 0.6:
                taps.append((at_s, float(rng.uniform(0.3, 1.0))))
                at_s += float(rng.uniform(0.2, 0.4))
        cents *= float(rng.uniform(0.3, 0.9))
        at_s += float(rng.uniform(0.1, 1.2))
    return strokes, taps


def tap_sound(level: float, rng: np.random.Generator) -> Signal:
    """A hammer on the rim: wood and a click, mono."""
    t = np.arange(int(TAP_S * RATE_HZ)) / RATE_HZ
    wood = np.sin(2 * np.pi * float(rng.uniform(700, 1200)) * t) * np.exp(-t / 0.008)
    click = band_noise(rng, TAP_S, 1500.0, 6000.0)[: t.size] * np.exp(-t / 0.004)
    return (0.4 * level * (wood + 0.5 * click)).astype(np.float32)
