"""The lead's line as one swara after another, with or without a tala: what recurring phrases are looked for in.

A swara struck again without another between is one note here: from the sound it cannot be told as surely as a change,
and phrases of a raga are told apart by their way from swara to swara. Shrutis, glides and ornaments are not told.

Conventions: semitones above the middle Sa, octave kept; seconds from the melody's first frame.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ingest.draft import GAP_S, SHORTEST_NOTE_S, held_on, without_octave_slips, without_passing
from ingest.melody import Melody
from ingest.swaras_heard import SILENT, bridged, heard_semitones

BREATH_S = 0.5
"""A silence so long ends a phrase."""


@dataclass(frozen=True, eq=False)
class NotesHeard:
    """Notes in order of time; n of them.

    Parameters
    ----------
    semitone : ndarray of int64, shape (n,)
    start_s, end_s : ndarray of float64, shape (n,)
    """

    semitone: NDArray[np.int64]
    start_s: NDArray[np.float64]
    end_s: NDArray[np.float64]

    def __len__(self) -> int:
        return len(self.semitone)

    @property
    def after_breath(self) -> NDArray[np.bool_]:
        """Whether a note comes after a silence that ends a phrase, shape (n,); the first one does."""
        gaps_s = self.start_s[1:] - self.end_s[:-1]
        return np.concatenate([[True] * min(1, len(self)), gaps_s >= BREATH_S]).astype(np.bool_)


def notes_heard(
    melody: Melody,
    sa_hz: float,
    raga: Collection[str] = (),
    onsets_s: Sequence[float] | NDArray[np.float64] = (),
) -> NotesHeard:
    """Read a melody as notes.

    Parameters
    ----------
    melody : Melody
    sa_hz : float
        The middle Sa.
    raga : collection of str
        Letters of the raga's swaras; empty where it is not known.
    onsets_s : sequence of float
        When strings and drums were struck; without them swaras passed in a glide are notes too.
    """
    semitones = bridged(heard_semitones(melody, sa_hz, raga), round(GAP_S / melody.hop_s))
    semitones = held_on(without_octave_slips(semitones), melody)
    semitones = without_passing(semitones, melody.hop_s, np.asarray(onsets_s, dtype=np.float64))
    starts = np.concatenate([np.zeros(min(1, len(semitones)), np.int64), np.flatnonzero(np.diff(semitones)) + 1])
    ends = np.append(starts[1:], len(semitones)) if len(starts) else starts
    lasting = (semitones[starts] != SILENT) & ((ends - starts) * melody.hop_s >= SHORTEST_NOTE_S)
    starts, ends = starts[lasting], ends[lasting]
    values = semitones[starts]
    apart = (starts[1:] - ends[:-1]) * melody.hop_s >= BREATH_S
    first = np.concatenate([[True] * min(1, len(values)), (np.diff(values) != 0) | apart]).astype(np.bool_)
    last = np.append(first[1:], True) if len(values) else first
    start_s, end_s = (each.astype(np.float64) * melody.hop_s for each in (starts[first], ends[last]))
    return NotesHeard(values[first], start_s, end_s)
