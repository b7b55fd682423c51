"""What the tabla plays through a section: theka with variations, strokes that fill a slow matra, solos, tihais.

Conventions: positions are Fractions of matras from the first sam of the section. What is written is a dict from
position to (bol, length in matras); later writing replaces what stood there. Material: ``material.toml``.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from benchmarks.concerts.plan import SectionPlan
from theory.bols import get_bol
from theory.notation import parse
from theory.passage import Note, Passage
from theory.talas import Tala, get_tala

Written = dict[Fraction, tuple[str, Fraction]]

FILL_BELOW_MPM = 50.0
FILL_GAP_S = 1.1  # a silence longer than this is filled, as players do
SOLO_FROM_MPM = 55.0
QUICKEST_STROKE_S = 0.085
SILENT = 0.12  # of the avartans: the tabla strikes sam and leaves the rest, or half of it, to the lead
LEAST_TIHAI_MATRAS = 3


@dataclass(frozen=True)
class Tihai:
    """Positions of the three pallas' first strokes and of the landing, and of all its strokes."""

    pallas: tuple[Fraction, Fraction, Fraction]
    landing: Fraction
    onsets: tuple[Fraction, ...]


@dataclass(frozen=True)
class Drumming:
    """The tabla's part of a section on paper.

    Attributes
    ----------
    written : dict
        What is struck.
    solos : tuple of (Fraction, Fraction)
        From where to where the theka is left.
    tihais : tuple of Tihai
    """

    written: Written
    solos: tuple[tuple[Fraction, Fraction], ...]
    tihais: tuple[Tihai, ...]


@cache
def material() -> dict[str, Any]:
    """The table of what is put beside the theka."""
    return tomllib.loads((Path(__file__).parent / "material.toml").read_text(encoding="utf-8"))


def drum(
    plan: SectionPlan, missing: float, varied: float, rng: np.random.Generator, with_tihais: bool = True
) -> Drumming:
    """Write the tabla's part.

    Parameters
    ----------
    plan : SectionPlan
        A section with a tala.
    missing, varied : float
        Share of the theka's strokes left out, and of its whole matras played otherwise.
    rng : numpy.random.Generator
    with_tihais : bool
        Whether solos, the middle and the end of the section are led to by tihais.

    Returns
    -------
    Drumming
        From the first sam to the sam that ends the section, that one struck.
    """
    tala = get_tala(plan.tala)
    matras, cycles = tala.matras, plan.cycles
    matra_s = 120.0 / sum(plan.mpm)
    written: Written = {}
    theka = _usual_theka(tala, matra_s, rng)
    for cycle in range(cycles):
        _theka(written, theka, cycle * matras, matra_s, varied, rng)
    if 60 / matra_s < FILL_BELOW_MPM:
        _fill(written, tala, cycles * matras, matra_s, rng)
    for position in list(written):
        if position != 0 and rng.random() < missing:
            del written[position]
    for cycle in range(2, cycles - 1):
        if rng.random() < SILENT and matras * matra_s < 12:
            silent_from = Fraction(cycle * matras) + (Fraction(1, 2) if rng.random() < 0.5 else Fraction(matras // 2))
            clear(written, silent_from, Fraction((cycle + 1) * matras))
    solos = _solos(written, plan, tala, matra_s, rng)
    last = Fraction(cycles * matras)
    landings = {end for _, end in solos} | {last} | ({Fraction((cycles // 2) * matras)} if cycles >= 4 else set())
    tihais: list[Tihai] = []
    for landing in sorted(landings) if with_tihais else ():
        earliest = tihais[-1].landing if tihais else Fraction(0)
        tihai = _tihai(written, landing, earliest, matra_s, rng)
        tihais += [tihai] if tihai else []
    written[last] = (tala.theka.notes[0].symbol, Fraction(1))
    return Drumming(written, tuple(solos), tuple(tihais))


def clear(written: Written, start: Fraction, end: Fraction) -> None:
    """Take away what begins from ``start`` on and before ``end``."""
    for position in [at for at in written if start <= at < end]:
        del written[position]


def write(written: Written, start: Fraction, notes: tuple[Note, ...], scale: Fraction = Fraction(1)) -> None:
    """Write notes from a position on, their time multiplied by ``scale``."""
    for note in notes:
        written[start + note.onset * scale] = (note.symbol, note.length * scale)


def _usual_theka(tala: Tala, matra_s: float, rng: np.random.Generator) -> Passage:
    """The theka this player uses in this section: that of the table, or one of those often played instead."""
    others = [parse(text) for text in material()["thekas"][tala.key]]
    played = [theka for theka in others if matra_s / theka.subdivision > QUICKEST_STROKE_S]
    return played[int(rng.integers(len(played)))] if played and rng.random() < 0.5 else tala.theka


def _theka(written: Written, theka: Passage, at: int, matra_s: float, varied: float, rng: np.random.Generator) -> None:
    """One avartan, here and there a matra played otherwise or strokes squeezed in where there is time."""
    write(written, Fraction(at), theka.notes)
    for note in theka.notes:
        options = [
            passage
            for passage in (parse(text) for text in material()["variations"].get(note.symbol, ()))
            if passage.length == note.length == 1 and matra_s / passage.subdivision > QUICKEST_STROKE_S
        ]
        if options and rng.random() < varied:
            write(written, at + note.onset, options[int(rng.integers(len(options)))].notes)


def _fill(written: Written, tala: Tala, matras: int, matra_s: float, rng: np.random.Generator) -> None:
    """Strokes between those of a slow theka: on halves, quarters, eighths; a roll before a new vibhag."""
    parts = next(parts for parts in (2, 4, 8, 16) if matra_s / parts < 0.65 or parts == 16)
    most_silent = max(1, int(FILL_GAP_S / (matra_s / parts)))
    vibhags = {start - 1 for start in tala.vibhag_starts}
    for matra in range(matras):
        place = Fraction(matra)
        within = (matra + 1) % tala.matras
        if within in vibhags and rng.random() < 0.5:
            texts = material()["fill"]["before_vibhag"]
            roll = parse(texts[int(rng.integers(len(texts)))])
            room = Fraction(1, 2) if matra_s < 2.5 else Fraction(1, 4)
            clear(written, place + 1 - room, place + 1)
            write(written, place + 1 - room, roll.notes, room)
        bol = get_bol(tala.theka.notes[0].symbol)
        silent = 0
        for part in range(parts):
            at = place + Fraction(part, parts)
            if at in written:
                bol, silent = get_bol(written[at][0]), 0
                continue
            silent += 1
            likely = 0.75 if part * 2 == parts else 0.4
            if silent >= most_silent or rng.random() < likely:
                side = material()["fill"]["open" if bol.bass == "rings" else "closed"]
                written[at] = (str(rng.choice(side)), Fraction(1, parts))
                silent = 0


def _solos(
    written: Written, plan: SectionPlan, tala: Tala, matra_s: float, rng: np.random.Generator
) -> list[tuple[Fraction, Fraction]]:
    """Runs of avartans in which the tabla leaves the theka for a kaida, while the lead keeps the cycle."""
    mpm, cycles = 60 / matra_s, plan.cycles
    if plan.kind == "tabla solo":
        first = [(start, min(cycles - 1, start + 4)) for start in range(2, cycles - 1, 5)]
    elif mpm > SOLO_FROM_MPM and cycles >= 6 and rng.random() < 0.7:
        long = 2 if tala.matras >= 12 else 3
        start = int(rng.integers(2, cycles - long))
        first = [(start, start + long)]
    else:
        return []
    solos = []
    for start, end in first:
        # two words of two strokes a matra is chaugun, one is dugun; from madhya to drut
        words_a_matra = 2 if matra_s / 4 > QUICKEST_STROKE_S and rng.random() < 0.6 else 1
        theme = [str(word) for word in rng.choice(material()["kaida"]["words"], size=tala.matras * words_a_matra)]
        theme[0] = "DhaDha"
        for cycle in range(start, end):
            _kaida(written, tala, cycle * tala.matras, theme, words_a_matra)
            theme = _turned(theme, rng)
        solos.append((Fraction(start * tala.matras), Fraction(end * tala.matras)))
    return solos


def _kaida(written: Written, tala: Tala, at: int, theme: list[str], words_a_matra: int) -> None:
    """One avartan of a kaida: its first half open, the second closed until shortly before sam."""
    half, count = len(theme) // 2, len(theme)
    words = theme[: count - half] + theme[:half]
    words[-1] = words[count - half - 1] = material()["kaida"]["close"]
    length = Fraction(1, words_a_matra)
    clear(written, Fraction(at), Fraction(at + tala.matras))
    for number, word in enumerate(words):
        closed = count - half <= number < count - max(1, count // 8)
        notes = tuple(
            Note(material()["closed"].get(note.symbol, note.symbol) if closed else note.symbol, note.onset, note.length)
            for note in parse(word).notes
        )
        write(written, at + number * length, notes, length)


def _turned(theme: list[str], rng: np.random.Generator) -> list[str]:
    """A palta: a few words change places."""
    out = list(theme)
    for _ in range(max(1, len(theme) // 6)):
        one, other = rng.integers(1, len(out), 2)
        out[one], out[other] = out[other], out[one]
    return out


def _tihai(
    written: Written, landing: Fraction, earliest: Fraction, matra_s: float, rng: np.random.Generator
) -> Tihai | None:
    """A tihai by the within rule, its last stroke on ``landing``; at whatever laya its strokes fall comfortably."""
    text = str(rng.choice(material()["tihai"]["pallas"]))
    palla = parse(text)
    scales = [
        scale
        for scale in (Fraction(1, 16), Fraction(1, 8), Fraction(1, 4), Fraction(1, 2), Fraction(1), Fraction(2))
        if 0.1 < matra_s * float(scale) / palla.subdivision < 0.55
    ]
    if not scales:
        return None
    scale = scales[int(rng.integers(len(scales)))]
    dam = Fraction(int(rng.integers(0, 3)), 2) * scale
    period = palla.length * scale + dam
    start = landing - 2 * period - palla.last_onset * scale
    if start <= earliest or landing - start < LEAST_TIHAI_MATRAS * scale:
        return None
    clear(written, start, landing)
    for number in range(3):
        write(written, start + number * period, palla.notes, scale)
    onsets = tuple(start + number * period + onset * scale for number in range(3) for onset in palla.onsets)
    starts = tuple(start + number * period for number in range(3))
    return Tihai((starts[0], starts[1], starts[2]), landing, onsets)
