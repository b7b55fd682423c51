"""From the course of a melody to swaras: how long each sounds, which are held, and a draft on the matra grid.

A frame counts when its voicing reaches `VOICED`; its swara is the nearest of the twelve equal semitones above Sa. The
draft is a proposal for a person to correct: ornaments and glides come out as the swara that lasts longest.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from ingest.melody import Melody
from theory.notation_print import to_text
from theory.passage import Note, Passage
from theory.swaras import letters

VOICED = 0.35
HELD_S, HELD_SPREAD_CENTS = 0.4, 35.0
SILENT = -1000  # no semitone
OCTAVES = 2  # as far as octave marks go


@dataclass(frozen=True)
class HeldSwara:
    """A swara that stands still from ``start_s`` to ``end_s``."""

    start_s: float
    end_s: float
    swara: str


def swara_histogram(melody: Melody) -> dict[str, float]:
    """Share of the voiced time per swara, octaves together, Sa first; all 0 where nothing is voiced."""
    semitones = _semitones(melody)
    classes = semitones[semitones != SILENT] % 12
    counts = np.bincount(classes, minlength=12) / max(len(classes), 1)
    return dict(zip(letters(), counts.tolist(), strict=True))


def held_swaras(melody: Melody, least_s: float = HELD_S) -> list[HeldSwara]:
    """Swaras that stay within 35 cents of their semitone for ``least_s`` seconds or longer."""
    semitones = _semitones(melody)
    semitones[np.abs(melody.cents - 100 * np.rint(melody.cents / 100)) > HELD_SPREAD_CENTS] = SILENT
    if not len(semitones):
        return []
    edges = np.concatenate([[0], np.flatnonzero(np.diff(semitones)) + 1, [len(semitones)]])
    return [
        HeldSwara(start * melody.hop_s, end * melody.hop_s, symbol(int(semitones[start])))
        for start, end in zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True)
        if semitones[start] != SILENT and (end - start) * melody.hop_s >= least_s
    ]


def draft_transcription(melody: Melody, matra_s: NDArray[np.float64], parts: int = 4) -> str:
    """Propose the notation of a stretch.

    Parameters
    ----------
    melody : Melody
    matra_s : ndarray of float64, shape (k,)
        Times of consecutive matras; the last one is where the stretch ends.
    parts : int
        Into how many equal parts a matra is divided.

    Returns
    -------
    str
        In the notation of `theory.notation`; neighbouring parts with the same swara are one note. Empty for k < 2.
    """
    semitones = _semitones(melody)
    matras = max(len(matra_s) - 1, 0)
    if not matras:
        return ""
    edges_s = np.interp(np.arange(matras * parts + 1) / parts, np.arange(len(matra_s)), matra_s)
    edges = np.rint(edges_s / melody.hop_s).astype(int)
    notes: list[Note] = []
    before = SILENT
    for number, (start, end) in enumerate(zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True)):
        heard = _most_often(semitones[start:end])
        if heard != SILENT and heard == before:
            notes[-1] = Note(notes[-1].symbol, notes[-1].onset, notes[-1].length + Fraction(1, parts))
        elif heard != SILENT:
            notes.append(Note(symbol(heard), Fraction(number, parts), Fraction(1, parts)))
        before = heard
    return to_text(Passage("sargam" if notes else "empty", tuple(notes), Fraction(matras)))


def symbol(semitones: int) -> str:
    """The swara some semitones above the middle Sa as it is written, at most two octaves marked."""
    octave, step = divmod(semitones, 12)
    octave = min(max(octave, -OCTAVES), OCTAVES)
    return "." * -octave + letters()[step] + "'" * octave


def _semitones(melody: Melody) -> NDArray[np.int64]:
    """Nearest semitone of every frame; `SILENT` where it is not voiced."""
    return np.where(melody.voicing >= VOICED, np.rint(melody.cents / 100), SILENT).astype(np.int64)


def _most_often(semitones: NDArray[np.int64]) -> int:
    if not len(semitones):
        return SILENT
    values, counts = np.unique(semitones, return_counts=True)
    return int(values[counts.argmax()])
