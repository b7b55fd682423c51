"""From the course of a melody to swaras: which sounds when, how long each, and which are held.

A frame counts when its voicing reaches `VOICED`; its swara is the nearest of the twelve equal semitones above Sa. Where
the raga is known, a pitch between a swara of the raga and one that it does not use is heard as the raga's, unless it
lies within `FOREIGN_CENTS` of the other: a person hears it so too. Shrutis are not told apart.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ingest.melody import Melody
from theory.swaras import letters

VOICED = 0.2  # on the bench's concerts 1 to 6: recall 0.91, false alarm 0.21; 0.35 has 0.84 and 0.11
FOREIGN_CENTS = 30.0  # how near a swara outside the raga has to be to be heard as itself; common practice, no source
HELD_S, HELD_SPREAD_CENTS, HELD_GAP_S = 0.4, 35.0, 0.06
MIDDLE_FROM_CENTS = -100  # the median of a melody lies between this and an octave above it
SILENT = -1000  # no semitone
OCTAVES = 2  # as far as octave marks go


@dataclass(frozen=True)
class HeldSwara:
    """A swara that stands still from ``start_s`` to ``end_s`` (nyas)."""

    start_s: float
    end_s: float
    swara: str


def swara_histogram(melody: Melody, sa_hz: float, raga: Collection[str] = ()) -> dict[str, float]:
    """Share of the voiced time per swara, octaves together, Sa first; all 0 where nothing is voiced."""
    semitones = heard_semitones(melody, sa_hz, raga)
    classes = semitones[semitones != SILENT] % 12
    counts = np.bincount(classes, minlength=12) / max(len(classes), 1)
    return dict(zip(letters(), counts.tolist(), strict=True))


def held_swaras(melody: Melody, sa_hz: float, raga: Collection[str] = (), least_s: float = HELD_S) -> list[HeldSwara]:
    """Swaras that stay within 35 cents of their semitone for ``least_s`` seconds or longer, in order of time.

    Parameters
    ----------
    melody : Melody
    sa_hz : float
    raga : collection of str
        Letters of the raga's swaras; empty where it is not known.
    least_s : float
        An interruption of 60 ms, such as a stroke of the tabla makes, does not end a held swara.

    Returns
    -------
    list of HeldSwara
        Times are seconds from the melody's first frame.
    """
    semitones = heard_semitones(melody, sa_hz, raga)
    away = np.abs(melody.cents(sa_hz) - 100.0 * semitones)
    semitones[away > HELD_SPREAD_CENTS] = SILENT
    out: list[HeldSwara] = []
    for start, end in _runs(bridged(semitones, round(HELD_GAP_S / melody.hop_s))):
        if (end - start) * melody.hop_s >= least_s:
            out.append(HeldSwara(start * melody.hop_s, end * melody.hop_s, symbol(int(semitones[start]))))
    return out


def middle_sa_hz(melody: Melody, sa_hz: float) -> float:
    """The Sa, some octaves from the one given, above which the middle of the melody lies.

    From a drone alone nobody can tell in which octave the lead has its Sa; half the voiced time lies above the
    fourth or fifth of the middle octave or below it. Common practice, no source.
    """
    voiced = melody.voicing >= VOICED
    if not voiced.any():
        return sa_hz
    middle = float(np.median(melody.cents(sa_hz)[voiced]))
    return sa_hz * 2.0 ** np.floor((middle - MIDDLE_FROM_CENTS) / 1200)


def heard_semitones(melody: Melody, sa_hz: float, raga: Collection[str] = ()) -> NDArray[np.int64]:
    """Semitones above the middle Sa of every frame, shape (n,); `SILENT` where it is not voiced."""
    cents = melody.cents(sa_hz).astype(np.float64)
    nearest = np.rint(cents / 100).astype(np.int64)
    used = np.array([letter in raga for letter in letters()])
    if used.any():
        side = np.where(cents >= 100 * nearest, 1, -1)
        off = np.abs(cents - 100 * nearest)
        given = (off > FOREIGN_CENTS) & ~used[nearest % 12] & used[(nearest + side) % 12]
        nearest = np.where(given, nearest + side, nearest)
    return np.where(melody.voicing >= VOICED, nearest, SILENT)


def bridged(semitones: NDArray[np.int64], most_frames: int) -> NDArray[np.int64]:
    """Interruptions of a swara by at most so many frames, of silence or of something else, filled with it."""
    out = semitones.copy()
    lasting = [(start, end) for start, end in _runs(semitones) if end - start > most_frames]
    for (_, end), (start, _) in pairwise(lasting):
        if 0 < start - end <= most_frames and semitones[end - 1] == semitones[start]:
            out[end:start] = semitones[start]
    return out


def symbol(semitones: int) -> str:
    """The swara some semitones above the middle Sa as it is written, at most two octaves marked."""
    octave, step = divmod(semitones, 12)
    octave = min(max(octave, -OCTAVES), OCTAVES)
    return "." * -octave + letters()[step] + "'" * octave


def _runs(semitones: NDArray[np.int64]) -> list[tuple[int, int]]:
    """First frame and the one after the last of every run of one swara; silence left out."""
    if not len(semitones):
        return []
    edges = np.concatenate([[0], np.flatnonzero(np.diff(semitones)) + 1, [len(semitones)]]).tolist()
    return [(start, end) for start, end in pairwise(edges) if semitones[start] != SILENT]
