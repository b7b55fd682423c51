"""The players' touch: from strokes with a time and a loudness to what the instruments are told to do.

The mandolin's down and up strokes, meends, andolan and tremolo; what each bol does on the drums and how the left hand
bends the bayan; the alap, which has no pulse.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from sample_data.clock import PulseClock
from sample_data.events import Pluck, Stroke
from sample_data.score import Performance
from theory import bols
from theory.notation import parse
from theory.passage import Note, Passage
from theory.swaras import semitones_of

# just intonation: ratios to Sa of the twelve swaras from S, as the handbooks of shrutis give them
JUST = (1.0, 16 / 15, 9 / 8, 6 / 5, 5 / 4, 4 / 3, 45 / 32, 3 / 2, 8 / 5, 5 / 3, 9 / 5, 15 / 8)
DRONE_ALONE_S = 1.8
TREMOLO_HZ = 11.0
# the dayan's tone where it is not the rim's
SUR_BOLS = frozenset(("Tin", "Dhin", "Dhi", "Ti", "Thin"))
OPEN_BOLS = frozenset(("Tun", "Thun", "Tu", "Din", "Di", "Dun"))


@dataclass(frozen=True)
class Played:
    """A stroke of one instrument: what it is on paper, when it comes and how loud it is."""

    symbol: str
    position: Fraction
    length: Fraction
    onset_s: float
    level: float
    of_tihai: int | None = None


@dataclass(frozen=True)
class FreePhrase:
    """A phrase of the alap as played."""

    swaras: str
    role: str
    start_s: float
    end_s: float


def pitch_hz(symbol: str, sa_hz: float) -> float:
    """Frequency of a written swara in just intonation."""
    octave, step = divmod(semitones_of(symbol), 12)
    return float(sa_hz * JUST[step] * 2.0**octave)


def play_alap(
    performance: Performance, rng: np.random.Generator
) -> tuple[tuple[Pluck, ...], tuple[FreePhrase, ...], float]:
    """Play the alap: free time, long swaras, here and there a tremolo or a meend."""
    plucks: list[Pluck] = []
    phrases: list[FreePhrase] = []
    at_s = DRONE_ALONE_S
    for free in performance.alap:
        start_s = at_s
        symbols = parse(free.swaras).symbols
        before_hz: float | None = None
        for i, (symbol, seconds) in enumerate(zip(symbols, free.seconds, strict=True)):
            length_s = seconds * rng.uniform(0.95, 1.07)
            hz = pitch_hz(symbol, performance.sa_hz)
            if i == len(symbols) - 1 and free.ending == "tremolo":
                plucks += _tremolo(at_s, length_s, hz, rng)
            else:
                glides = before_hz is not None and length_s > 0.6 and rng.random() < 0.5
                sway = 16.0 if symbol.strip(".'") in performance.sways and length_s > 0.45 else 0.0
                level = 0.62 + 0.12 * (i == len(symbols) - 1) + rng.normal(0, 0.04)
                plucks.append(
                    Pluck(at_s, length_s + 0.12, hz, level, before_hz if glides else None, 0.14, sway_cents=sway)
                )
            before_hz = hz
            at_s += length_s
        phrases.append(FreePhrase(free.swaras, free.role, start_s, at_s))
        at_s += free.rest_s
    return tuple(plucks), tuple(phrases), at_s


def plucks(
    performance: Performance, clock: PulseClock, melody: Iterable[Played], rng: np.random.Generator
) -> Iterator[Pluck]:
    """The mandolin in the gat: strokes down and up, short meends into longer swaras, andolan where the raga has it."""
    before_hz, before_end = 0.0, Fraction(-1000)
    for note in melody:
        hz = pitch_hz(note.symbol, performance.sa_hz)
        length_s = float(note.length) * clock.matra_s(note.position)
        near = note.position <= before_end and 0.74 < hz / (before_hz or hz) < 1.35 and hz != before_hz
        glides = near and note.length >= 1 and rng.random() < 0.3
        sway = 14.0 if note.length >= 1 and note.symbol.strip(".'") in performance.sways else 0.0
        # down on whole matras; up on the half of a dugun, on the second and fourth of a chaugun
        quarter = note.position * 4
        upstroke = quarter % 2 == 1 or (quarter % 4 == 2 and note.length == Fraction(1, 2))
        yield Pluck(
            onset_s=note.onset_s,
            sounding_s=min(length_s + 0.05, 2.8),
            hz=hz,
            level=note.level,
            from_hz=before_hz if glides else None,
            glide_s=0.09,
            sway_cents=sway,
            upstroke=upstroke,
        )
        before_hz, before_end = hz, note.position + note.length


def strokes(tabla: Sequence[Played], rng: np.random.Generator) -> tuple[Stroke, ...]:
    """The tabla's touch: what each drum does, the tone of the dayan, the heel of the left hand."""
    if not tabla:
        return ()
    first = tabla[0].position
    ends = [note.position for note in tabla[1:]] + [tabla[-1].position + tabla[-1].length]
    notes = tuple(
        Note(note.symbol, note.position - first, min(note.length, end - note.position))
        for note, end in zip(tabla, ends, strict=True)
    )
    struck = bols.strokes(Passage("bols", notes, ends[-1] - first))
    out = []
    for note, stroke in zip(tabla, struck, strict=True):
        bol = stroke.bol
        colour = tone_of(bol.name)
        bend = float(rng.choice((-0.10, 0.06, 0.16, 0.30), p=(0.25, 0.3, 0.3, 0.15)))
        out.append(Stroke(note.onset_s, bol.bass, bol.treble, colour, note.level, bend))
    return tuple(out)


def tone_of(bol: str) -> str:
    """Tone of the dayan where it rings in a bol: "sur", "open" or "rim"."""
    return "sur" if bol in SUR_BOLS else "open" if bol in OPEN_BOLS else "rim"


def _tremolo(start_s: float, length_s: float, hz: float, rng: np.random.Generator) -> Iterator[Pluck]:
    """One swara held by quick strokes down and up, swelling and falling."""
    count = max(2, round(length_s * TREMOLO_HZ))
    step_s = length_s / count
    for k in range(count):
        way = k / (count - 1)
        level = 0.34 + 0.28 * np.sin(np.pi * min(1.0, 0.25 + 0.75 * way)) + rng.normal(0, 0.02)
        ring_s = step_s + 0.03 if k < count - 1 else 0.7
        jitter_s = 0.0 if k == 0 else rng.normal(0.0, 0.004)
        yield Pluck(start_s + k * step_s + jitter_s, ring_s, hz, float(level), upstroke=bool(k % 2))
