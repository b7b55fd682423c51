"""Sections laid out by hand: strokes and swaras where they are written, without sound."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

import numpy as np

from ingest.finding.lattice import TABLA_KINDS, Lattice
from ingest.stroke_chances import STROKE_KINDS

RINGS, DEAD_BASS, RIM, SUR, OPEN, DEAD = range(TABLA_KINDS)
assert STROKE_KINDS[:TABLA_KINDS] == ("bass rings", "bass dead", "rim", "sur", "open", "dead")

BOLS = {"Dha": (RINGS, RIM), "Dhin": (RINGS, SUR), "Na": (RIM,), "Ti": (DEAD,), "Ge": (RINGS,), "Ke": (DEAD_BASS,),
        "Tin": (DEAD_BASS, SUR), "Ta": (DEAD_BASS, RIM)}  # fmt: skip
TEENTAL = [
    "Dha",
    "Dhin",
    "Dhin",
    "Dha",
    "Dha",
    "Dhin",
    "Dhin",
    "Dha",
    "Dha",
    "Tin",
    "Tin",
    "Ta",
    "Ta",
    "Dhin",
    "Dhin",
    "Dha",
]


def theka(cycles: int) -> dict[Fraction, str]:
    """Teental, and the sam after it."""
    played = {Fraction(16 * cycle + matra): bol for cycle in range(cycles) for matra, bol in enumerate(TEENTAL)}
    return played | {Fraction(16 * cycles): "Dha"}


def said(times: int, palla: Mapping[Fraction, str], spacing: Fraction, landing: Fraction) -> dict[Fraction, str]:
    """A palla said several times; the last stroke of the last one falls on ``landing``."""
    last = max(palla)
    begins = [landing - last - spacing * (times - 1 - number) for number in range(times)]
    return {begin + onset: bol for begin in begins for onset, bol in palla.items()}


def over(base: Mapping[Fraction, str], played: Mapping[Fraction, str]) -> dict[Fraction, str]:
    """What is played in place of what would be played from its first stroke to its last."""
    first, last = min(played), max(played)
    return {at: bol for at, bol in base.items() if not first <= at <= last} | dict(played)


def laid_out(
    drums: Mapping[Fraction, str],
    lead: Mapping[Fraction, int] = {},
    matras: int = 16,
    matra_s: float = 0.5,
    seed: int = 1,
) -> Lattice:
    """Strokes and swaras (semitones above Sa) as evidence, each spread over its neighbours, with a little noise."""
    parts, count = 24, int(max([*drums, *lead]) // 1) + 2
    n = count * parts + 1
    rng = np.random.default_rng(seed)
    tabla = np.abs(rng.normal(0, 0.02, (n, TABLA_KINDS))).astype(np.float32)
    plucks = np.abs(rng.normal(0, 0.02, n)).astype(np.float32)
    semitone, voiced = np.zeros(n, np.float32), np.zeros(n, np.float32)
    for at, bol in drums.items():
        for kind in BOLS[bol]:
            _spread(tabla[:, kind], int(at * parts))
    for at, step in sorted(lead.items()):
        tick = int(at * parts)
        _spread(plucks, tick)
        semitone[tick:], voiced[tick:] = step, 1.0
    pitch = np.exp(-0.5 * (((semitone[:, None] - np.arange(12) + 6) % 12 - 6) / 0.35) ** 2) * voiced[:, None]
    struck = np.maximum(tabla.max(axis=1), plucks)
    return Lattice(
        matras,
        0,
        parts,
        np.arange(n) * matra_s / parts,
        tabla,
        plucks,
        pitch.astype(np.float32),
        semitone,
        voiced,
        struck,
    )


def _spread(row: np.ndarray, tick: int) -> None:
    for off, chance in ((-2, 0.2), (-1, 0.7), (0, 0.95), (1, 0.7), (2, 0.2)):
        if 0 <= tick + off < len(row):
            row[tick + off] = max(row[tick + off], chance)
