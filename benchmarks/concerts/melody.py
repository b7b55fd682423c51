"""What the lead plays: alap and jor in free time; in the gat its composition, slow unfolding and runs.

Lines go by step up the raga's aroha and down its avaroha; that keeps to the swaras, it does not make a musician. In the
gat a composition of one avartan comes again and again, and is all that is played while the tabla is solo.

Conventions: as in ``strokes``; what is written is a dict from position to (swara, length in matras).
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import cache

import numpy as np

from benchmarks.concerts.strokes import Drumming, Written, clear
from sample_data.events import Pluck
from sample_data.touch import pitch_hz
from theory.notation import parse
from theory.ragas import Raga
from theory.swaras import semitones_of
from theory.talas import Tala

LOWEST, HIGHEST = -5, 15  # semitones from Sa within which lines move
NOTE_S = (0.13, 1.3)  # shortest and longest note on purpose in the gat
SHARES = (*(Fraction(1, n) for n in (16, 8, 4, 3, 2)), Fraction(1), Fraction(2))
JOINS_TIHAI = 0.5
MUKHRA_S = 8.0  # in vilambit the mukhra is no longer than this
SWARA_OF = "SrRgGmMPdDnN"


class Scale:
    """The swaras of a raga from ``LOWEST`` to ``HIGHEST``, as the way up and the way down."""

    def __init__(self, raga: Raga, rng: np.random.Generator) -> None:
        self._rng = rng
        self.up, self.down = _steps(raga.aroha), _steps(raga.avaroha)
        self.rests = [semitones_of(letter) for letter in ("S", raga.vadi or "S", raga.samvadi or "S")]
        self._way = 1

    def line(self, start: int, count: int) -> list[int]:
        """``count`` swaras by step from ``start`` on, turning now and then; semitones from Sa."""
        out, at = [], start
        for _ in range(count):
            out.append(at)
            if self._rng.random() < 0.22:
                self._way = -self._way
            steps = self.up if self._way > 0 else self.down
            ahead = [step for step in steps if (step - at) * self._way > 0]
            if not ahead:
                self._way = -self._way
                ahead = [step for step in (self.up if self._way > 0 else self.down) if (step - at) * self._way > 0]
            ahead.sort(key=lambda step: abs(step - at))
            at = ahead[0] if self._rng.random() < 0.85 else ahead[min(1, len(ahead) - 1)]
        return out

    def rest(self) -> int:
        """A swara to come to rest on."""
        return int(self._rng.choice(self.rests))


@cache
def _steps(notation: str) -> tuple[int, ...]:
    """All semitones from LOWEST to HIGHEST whose swara stands in a line of notation."""
    classes = {semitones_of(symbol) % 12 for symbol in parse(notation).symbols}
    return tuple(step for step in range(LOWEST, HIGHEST + 1) if step % 12 in classes)


def symbol_of(semitones: int) -> str:
    """The swara at some semitones from Sa, as notation."""
    octave, step = divmod(semitones, 12)
    return "." * -octave + SWARA_OF[step] + "'" * octave


def alap(seconds: float, start_s: float, sa_hz: float, scale: Scale, rng: np.random.Generator) -> list[Pluck]:
    """Free time: long swaras with meends, a few quick ones between, rests."""
    out: list[Pluck] = []
    at_s, at, before_hz = start_s, scale.rest(), None
    while at_s < start_s + seconds - 3.0:
        line = scale.line(at, int(rng.integers(2, 8)))
        at = scale.rest()
        for semitones in [*line, at]:
            length_s = float(rng.choice((0.22, 0.45, 0.9, 1.7), p=(0.3, 0.3, 0.25, 0.15)) * rng.uniform(0.85, 1.2))
            hz = pitch_hz(symbol_of(semitones), sa_hz)
            out.append(_pluck(at_s, length_s, hz, before_hz, 0.6 + rng.normal(0, 0.06), rng))
            before_hz, at_s = hz, at_s + length_s
        rest_s = float(rng.uniform(0.5, 1.6))
        at_s += rest_s
    return out


def jor(
    seconds: float, start_s: float, mpm: tuple[float, float], sa_hz: float, scale: Scale, rng: np.random.Generator
) -> list[Pluck]:
    """A pulse without tabla: one or two plucks a beat, by step."""
    out: list[Pluck] = []
    at_s, before_hz = start_s, None
    line = scale.line(scale.rest(), 2000)
    for semitones in line:
        way = (at_s - start_s) / seconds
        if way >= 1:
            break
        beat_s = 60.0 / (mpm[0] + (mpm[1] - mpm[0]) * way)
        length_s = beat_s / (2 if rng.random() < 0.5 else 1)
        hz = pitch_hz(symbol_of(semitones), sa_hz)
        for part in range(2 if length_s < beat_s else 1):
            onset_s = at_s + part * length_s + rng.normal(0, 0.01)
            out.append(_pluck(onset_s, length_s, hz, before_hz, 0.65 - 0.1 * part, rng))
            before_hz = None
        before_hz, at_s = hz, at_s + beat_s
    return out


def gat(tala: Tala, cycles: int, matra_s: float, drumming: Drumming, scale: Scale, rng: np.random.Generator) -> Written:
    """The lead's part from its mukhra before the first sam to the last sam."""
    shares = [share for share in SHARES if NOTE_S[0] < float(share) * matra_s < NOTE_S[1]]
    composition = one_avartan(tala, shares, scale, rng)
    written: Written = {}
    for cycle in range(-1, cycles):
        at = Fraction(cycle * tala.matras)
        solo = any(start <= at < end for start, end in drumming.solos)
        kind = "gat" if solo or cycle < 2 else str(rng.choice(("gat", "unfolding", "run"), p=(0.45, 0.3, 0.25)))
        if kind == "gat":
            part = composition
        elif kind == "unfolding":
            part = one_avartan(tala, shares, scale, rng)
        else:
            part = tan(tala, shares, scale, rng)
        for position, note in part.items():
            written[at + position] = note
    mukhra = Fraction(-max(1, min(round(tala.matras * 0.3), int(MUKHRA_S / matra_s))))
    written = {at: note for at, note in written.items() if at >= mukhra}
    for tihai in drumming.tihais:
        if rng.random() < JOINS_TIHAI and not any(start < tihai.landing <= end for start, end in drumming.solos):
            clear(written, tihai.pallas[0], tihai.landing)
            palla = [onset - tihai.pallas[0] for onset in tihai.onsets if onset < tihai.pallas[1]]
            for start in tihai.pallas:
                for offset, semitones in zip(palla, scale.line(7, len(palla)), strict=True):
                    written[start + offset] = (symbol_of(semitones), Fraction(1, 2))
    written[Fraction(cycles * tala.matras)] = ("S", Fraction(2))
    return written


def gat_plucks(
    played: list[tuple[float, float, str, float]], sa_hz: float, rng: np.random.Generator
) -> Iterator[Pluck]:
    """Plucks from (onset_s, length_s, swara, level) in order of time: meends into longer notes that are near."""
    before_hz, before_end_s = None, -1.0
    for onset_s, length_s, symbol, level in played:
        hz = pitch_hz(symbol, sa_hz)
        joined = onset_s - before_end_s < 0.1
        yield _pluck(onset_s, length_s, hz, before_hz if joined else None, level, rng)
        before_hz, before_end_s = hz, onset_s + length_s


def _pluck(
    onset_s: float, length_s: float, hz: float, before_hz: float | None, level: float, rng: np.random.Generator
) -> Pluck:
    near = before_hz is not None and before_hz != hz and 0.74 < before_hz / hz < 1.35
    glides = near and length_s > 0.35 and rng.random() < 0.4
    sway = 18.0 if length_s > 0.8 and rng.random() < 0.4 else 0.0
    return Pluck(
        onset_s=onset_s,
        sounding_s=min(length_s + 0.04, 3.0),
        hz=hz,
        level=float(np.clip(level, 0.2, 1.0)),
        from_hz=before_hz if glides else None,
        glide_s=float(rng.uniform(0.08, 0.25)),
        sway_cents=sway,
        upstroke=bool(rng.random() < 0.35),
    )


def one_avartan(tala: Tala, shares: list[Fraction], scale: Scale, rng: np.random.Generator) -> Written:
    """One avartan: most notes on whole matras and halves, longer at the vibhags, a swara of rest on sam."""
    longest = [share for share in shares if share >= Fraction(1, 4)] or shares[-1:]
    vibhags = {Fraction(start - 1) for start in tala.vibhag_starts}
    written: Written = {}
    at, step = Fraction(0), scale.rest()
    while at < tala.matras:
        length = longest[int(rng.integers(len(longest)))]
        if at in vibhags:
            length = longest[-1]
        # a line stays on the pulse: no note crosses a matra unless it begins on one
        room = (at // 1 + 1 - at) if at % 1 else Fraction(tala.matras) - at
        length = min(length, room)
        silent = at and rng.random() < 0.1
        if not silent:
            written[at] = (symbol_of(step), length)
        step = scale.line(step, 2)[1]
        at += length
    return written


def tan(tala: Tala, shares: list[Fraction], scale: Scale, rng: np.random.Generator) -> Written:
    """A tan: the quickest even notes, from sam or from the middle of the avartan to its end, a line before."""
    quick = shares[0]
    start = Fraction(0) if rng.random() < 0.4 else Fraction(tala.matras // 2)
    written = {at: note for at, note in one_avartan(tala, shares, scale, rng).items() if at < start}
    count = int((tala.matras - start) / quick)
    for number, semitones in enumerate(scale.line(scale.rest(), count)):
        written[start + number * quick] = (symbol_of(semitones), quick)
    return written
