"""Where the swaras lie: ratios and cents of the twelve swaras and the 22 shrutis, by source.

Conventions: ratios are to Sa, within one octave, as Fractions. Cents are floats: 1200 to an octave, 100 to a semitone
of equal temperament, which is what a fretted string plays. Sources differ and none is followed exactly in performance.
Table: ``data/intonation.toml``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Any

from theory.errors import UnknownName
from theory.numbers import parse_matras
from theory.swaras import all_swaras
from theory.tables import field, load, notes_of, source_of


@dataclass(frozen=True, slots=True)
class Shruti:
    """One of the 22: its number from 1, the swara it belongs to, its ratio, and a ratio that others give it."""

    number: int
    swara: str
    ratio: Fraction
    also: Fraction | None

    @property
    def cents(self) -> float:
        """How far above Sa it lies."""
        return cents_of(self.ratio)


@dataclass(frozen=True, slots=True)
class Tuning:
    """The twelve swaras by one source: the ratio of each letter, and the Sa in Hz that the source counts from."""

    key: str
    name: str
    ratios: Mapping[str, Fraction]
    sa_hz: Fraction
    source: str
    notes: str

    def cents(self, letter: str) -> float:
        """How far above Sa a swara lies."""
        return cents_of(self.ratios[letter])

    def off_equal_cents(self, letter: str) -> float:
        """How far a swara lies above (below, if negative) the same one in equal temperament."""
        return off_equal_cents(letter, self.ratios[letter])

    def hz(self, letter: str) -> Fraction:
        """The frequency that the source gives a swara, from its own Sa."""
        return self.ratios[letter] * self.sa_hz


def cents_of(ratio: Fraction) -> float:
    """Return the size of an interval in cents: 1200 is an octave, 100 an equal semitone."""
    return 1200 * math.log2(ratio)


def off_equal_cents(letter: str, ratio: Fraction) -> float:
    """Return how far a ratio lies above (below, if negative) a swara's place in equal temperament, in cents."""
    semitones = {swara.letter: swara.semitones for swara in all_swaras()}
    return cents_of(ratio) - 100 * semitones[letter]


@cache
def all_tunings() -> tuple[Tuning, ...]:
    """Return the tunings of the table.

    Raises
    ------
    BadData
        When a row is wrong.
    """
    return tuple(_tuning(row) for row in load("intonation")["tuning"])


def get_tuning(key: str) -> Tuning:
    """Look a tuning up by its key.

    Raises
    ------
    UnknownName
        When there is none of that key.
    """
    for tuning in all_tunings():
        if tuning.key == key:
            return tuning
    raise UnknownName("tuning", key, (), known=[tuning.key for tuning in all_tunings()])


def _tuning(row: Mapping[str, Any]) -> Tuning:
    where = f"intonation.toml, tuning '{row['key']}'"
    return Tuning(
        key=field(row, "key", str, where),
        name=field(row, "name", str, where),
        ratios={swara.letter: parse_matras(field(row, swara.letter, str, where)) for swara in all_swaras()},
        sa_hz=parse_matras(field(row, "sa_hz", str, where)),
        source=source_of(row, where),
        notes=notes_of(row, where),
    )


@cache
def shrutis() -> tuple[Shruti, ...]:
    """Return the 22 shrutis from Sa upwards.

    References
    ----------
    H. Bakshi, The twenty-two Shruti-s of Indian Music, soundofindia.com, 2003 (ratios; its cents are 2 off in places).
    """
    where = "intonation.toml, shrutis"
    return tuple(
        Shruti(
            number,
            field(row, "swara", str, where),
            parse_matras(field(row, "ratio", str, where)),
            parse_matras(row["also"]) if "also" in row else None,
        )
        for number, row in enumerate(load("intonation")["shrutis"]["shruti"], 1)
    )


@cache
def placements() -> dict[str, dict[str, int]]:
    """Return on which shruti (1 to 22) each shuddha swara stands: the "old" way and the "modern" way.

    References
    ----------
    Vasant, Sangit Visharad, Sangeet Karyalaya, Hathras, p. 42 (old), p. 45 (modern).
    """
    letters = [swara.letter for swara in all_swaras() if swara.kind == "shuddha"]
    return {
        row["key"]: {
            letter: field(row, letter, int, f"intonation.toml, placement '{row['key']}'") for letter in letters
        }
        for row in load("intonation")["placement"]
    }
