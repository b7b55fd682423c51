"""From what is written to what is played: every stroke gets its time, loudness and touch.

Rules of the playing: strokes scatter about the pulse by some milliseconds (less at sam); sam is loudest, then the
vibhags, then whole matras. Where a tihai and a line or the theka meet on one stroke, the tihai's stroke is played.

The result keeps each stroke's place on paper beside its time, so that the tables of truth are read off the strokes that
sound, not computed a second time.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from sample_data.clock import PulseClock
from sample_data.events import Part
from sample_data.score import Line, Performance, PlannedTihai
from sample_data.touch import FreePhrase, Played, play_alap, plucks, strokes
from theory.notation import parse
from theory.passage import Passage
from theory.talas import Tala, get_tala

SCATTER_S = 0.009
SCATTER_AT_MOST_S = 0.015
BEFORE_GAT_S = 0.5
AFTER_LAST_SAM_S = 3.4


@dataclass(frozen=True)
class PlayedTihai:
    """When the three pallas began and when the landing stroke came, in seconds."""

    plan: PlannedTihai
    palla_s: tuple[float, float, float]
    landing_s: float
    target_s: float


@dataclass(frozen=True)
class Rendition:
    """A performance as played: the strokes and everything that is known of them."""

    performance: Performance
    tala: Tala
    clock: PulseClock
    gat_starts_s: float
    part: Part
    alap: tuple[FreePhrase, ...]
    melody: tuple[Played, ...]
    tabla: tuple[Played, ...]
    tihais: tuple[PlayedTihai, ...]

    def position(self, cycle: int, matra: Fraction | int) -> Fraction:
        """Position of a place in the tala, in matras from the first sam."""
        return position_of(self.tala, cycle, matra)


def position_of(tala: Tala, cycle: int, matra: Fraction | int) -> Fraction:
    """Position of a matra of a cycle, in matras from the first sam."""
    return Fraction((cycle - 1) * tala.matras) + matra - 1


def play(performance: Performance) -> Rendition:
    """Play a performance: the same one in the same way every time.

    Parameters
    ----------
    performance : Performance

    Returns
    -------
    Rendition
        Strokes and truth; nothing has sounded yet.
    """
    tala = get_tala(performance.tala)
    rng = np.random.default_rng((performance.seed, 6))
    alap_plucks, alap, alap_ends_s = play_alap(performance, rng)
    gat_starts_s = alap_ends_s + BEFORE_GAT_S
    first, last = Fraction(-performance.lead_in), Fraction(performance.cycles * tala.matras)
    clock = PulseClock(first, gat_starts_s, last, performance.tempo, performance.seed)
    hands = _Hands(performance, tala, clock, np.random.default_rng((performance.seed, 7)))
    melody = hands.melody()
    drumming = hands.tabla()
    part = Part(
        sa_hz=performance.sa_hz,
        duration_s=round(clock.time_s(last) + AFTER_LAST_SAM_S, 3),
        plucks=(*alap_plucks, *plucks(performance, clock, melody, np.random.default_rng((performance.seed, 8)))),
        strokes=strokes(drumming, np.random.default_rng((performance.seed, 9))),
        drone_ratios=performance.drone_ratios,
    )
    tihais = tuple(hands.as_played(i, melody, drumming) for i in range(len(performance.tihais)))
    return Rendition(performance, tala, clock, gat_starts_s, part, alap, melody, drumming, tihais)


class _Hands:
    """The gat: puts lines, theka and tihais on the pulse."""

    def __init__(self, performance: Performance, tala: Tala, clock: PulseClock, rng: np.random.Generator) -> None:
        self._performance, self._tala, self._clock, self._rng = performance, tala, clock, rng
        self._vibhags = frozenset(tala.vibhag_starts)

    def melody(self) -> tuple[Played, ...]:
        """What the mandolin plays from the gat on."""
        written: dict[Fraction, tuple[str, Fraction]] = {}
        for line in self._performance.lines:
            self._write(written, self._place(line.cycle, line.matra), parse(line.swaras))
        return self._perform(written, ("mandolin", "both"))

    def tabla(self) -> tuple[Played, ...]:
        """What the tabla plays: theka, fills, tihais."""
        written: dict[Fraction, tuple[str, Fraction]] = {}
        for cycle in range(0, self._performance.cycles + 1):
            self._write(written, self._place(cycle, 1), self._tala.theka)
        for fill in self._performance.fills:
            passage = parse(fill.bols)
            start = self._place(fill.cycle, fill.matra)
            _clear(written, start, start + passage.length)
            self._write(written, start, passage)
        last = self._place(self._performance.cycles + 1, 1)
        written[last] = (self._tala.theka.notes[0].symbol, Fraction(2))
        from_position = -self._performance.lead_in
        return self._perform({at: note for at, note in written.items() if at >= from_position}, ("tabla", "both"))

    def as_played(self, number: int, melody: tuple[Played, ...], strokes: tuple[Played, ...]) -> PlayedTihai:
        """Read off when a tihai's pallas began and when it landed."""
        plan = self._performance.tihais[number]
        heard = strokes if plan.played_by == "tabla" else melody
        at_s = {stroke.position: stroke.onset_s for stroke in heard if stroke.of_tihai == number}
        start = self._place(plan.cycle, plan.matra)
        palla_s = tuple(at_s[start + k * plan.period + plan.passage.onsets[0]] for k in range(3))
        landing = start + plan.landing_offset
        target = self._nearest(landing, plan.target)
        return PlayedTihai(plan, (palla_s[0], palla_s[1], palla_s[2]), at_s[landing], self._clock.time_s(target))

    def _nearest(self, position: Fraction, matra: Fraction) -> Fraction:
        cycles = range(0, self._performance.cycles + 2)
        return min((self._place(cycle, matra) for cycle in cycles), key=lambda place: abs(place - position))

    def _place(self, cycle: int, matra: Fraction | int) -> Fraction:
        return position_of(self._tala, cycle, matra)

    @staticmethod
    def _write(written: dict[Fraction, tuple[str, Fraction]], start: Fraction, passage: Passage) -> None:
        for note in passage.notes:
            written[start + note.onset] = (note.symbol, note.length)

    def _perform(self, written: dict[Fraction, tuple[str, Fraction]], players: tuple[str, ...]) -> tuple[Played, ...]:
        """Lay the tihais of some players over what is written, and give every stroke its time and loudness."""
        whose: dict[Fraction, int] = {}
        for number, planned in enumerate(self._performance.tihais):
            if planned.played_by in players:
                self._lay_over(written, whose, number, planned, with_bols="tabla" in players)
        played = []
        for position in sorted(written):
            symbol, length = written[position]
            of_tihai = whose.get(position)
            plan = None if of_tihai is None else self._performance.tihais[of_tihai]
            onset_s = self._clock.time_s(position) + self._scatter_s(position) + self._lag_s(plan, position)
            played.append(Played(symbol, position, length, onset_s, self._level(position, plan, players), of_tihai))
        return tuple(played)

    def _lay_over(
        self,
        written: dict[Fraction, tuple[str, Fraction]],
        whose: dict[Fraction, int],
        number: int,
        plan: PlannedTihai,
        with_bols: bool,
    ) -> None:
        palla = parse(plan.bols) if with_bols and plan.played_by == "both" else plan.passage
        start = self._place(plan.cycle, plan.matra)
        landing = start + plan.landing_offset
        held = written.get(landing)
        _clear(written, start, landing)
        for k in range(3):
            palla_start = start + k * plan.period
            self._write(written, palla_start, palla)
            whose |= {palla_start + onset: number for onset in palla.onsets}
            if plan.filler and k < 2:
                written[palla_start + palla.length] = (plan.filler, plan.dam)
                whose[palla_start + palla.length] = number
        symbol = plan.landing or palla.symbols[-1]
        written[landing] = (symbol, held[1] if held else palla.notes[-1].length)
        whose[landing] = number

    def _scatter_s(self, position: Fraction) -> float:
        share = 0.4 if position % self._tala.matras == 0 else 1.0
        drawn = self._rng.normal(0.0, SCATTER_S)
        return float(share * np.clip(drawn, -SCATTER_AT_MOST_S, SCATTER_AT_MOST_S))

    def _lag_s(self, plan: PlannedTihai | None, position: Fraction) -> float:
        if plan is None or not plan.late_ms:
            return 0.0
        way = (position - self._place(plan.cycle, plan.matra)) / plan.landing_offset
        return float(way) * plan.late_ms / 1000.0

    def _level(self, position: Fraction, plan: PlannedTihai | None, players: tuple[str, ...]) -> float:
        matra = position % self._tala.matras + 1
        if matra == 1:
            level = 0.97
        elif matra in self._vibhags:
            level = 0.83
        else:
            level = 0.76 if matra.denominator == 1 else 0.66
        if "tabla" in players and plan is None:
            level *= 0.8
        if plan is not None:
            start = self._place(plan.cycle, plan.matra)
            level = 1.0 if position == start + plan.landing_offset else min(1.0, level + 0.1)
        return float(np.clip(level + self._rng.normal(0.0, 0.035), 0.3, 1.0))


def _clear(written: dict[Fraction, tuple[str, Fraction]], start: Fraction, end: Fraction) -> None:
    """Take out what begins in [start, end), and let what sounded before end there."""
    for position in [position for position in written if start <= position < end]:
        del written[position]
    for position in [position for position in written if position < start]:
        symbol, length = written[position]
        written[position] = (symbol, min(length, start - position))


def line_passages(lines: Iterable[Line]) -> Iterator[tuple[Line, Passage]]:
    """Lines that are phrases, with their passages."""
    return ((line, parse(line.swaras)) for line in lines if line.role)
