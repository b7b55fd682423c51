"""A draft of the notation of a stretch on its matras: the tool proposes, a person corrects.

For every matra the coarsest division is taken on whose parts what was played begins: changes of swara, and strokes
that sound the same swara anew. In each part the swara that sounds longest is written. Ornaments and glides come out as
that swara; where another one sounds nearly as long, or the lead hardly sounds, the note says so.

Conventions: positions are matras from the stretch's first one (0); times are seconds, frame 0 of the melody being 0.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ingest.melody import Melody
from ingest.swaras_heard import SILENT, bridged, heard_semitones, symbol
from theory.passage import Note, Passage

DIVISIONS = (1, 2, 4, 3, 8, 6, 12, 16)
"""Into how many parts a matra is divided, the simplest first."""

SHORTEST_PART_S = 0.09
"""No part is shorter: melody quicker than this is not followed."""

STRAY_S = 0.03  # how far from its place what is played may begin: players' scatter and a frame and a half of ours
ONE_MORE_DIVISION = 2.0  # what a less simple division has to win, in squared strays
LOST_START = 4.0  # cost of two starts that fall into one part
FARTHEST_STRAY = 6.0  # squared; what strays farther was no start on any division
SHORTEST_NOTE_S, GAP_S = 0.06, 0.06
HELD_ON_S, ALMOST_SILENT = 0.6, 0.05
FAR_SEMITONES, NEAR_SEMITONES = 9, 7
SHORTEST_UNSTRUCK_S = 0.09
SHORTEST_REST_S, REST_WEIGHT = 0.2, 0.4  # a string dies away where it likes
STRUCK_NEAR_S, BEFORE_AFTER_S, STRUCK_RISE = 0.05, 0.08, 1.25
SURE = 0.6


@dataclass(frozen=True)
class DraftNote:
    """A note of a draft.

    Parameters
    ----------
    note : Note
        Symbol, onset and length in matras.
    sureness : float
        0 to 1: the share of the note's time in which its swara sounds, times how surely the lead sounds there.
    other : str
        The swara that sounds there longest beside it; '' where there is none.
    """

    note: Note
    sureness: float
    other: str

    @property
    def doubtful(self) -> bool:
        """Whether a person should listen."""
        return self.sureness < SURE


@dataclass(frozen=True)
class Draft:
    """A stretch as drafted: its notes, its length in matras, and into how many parts each matra was divided."""

    notes: tuple[DraftNote, ...]
    matras: int
    divisions: tuple[int, ...]

    @property
    def passage(self) -> Passage:
        """The notes alone."""
        notes = tuple(each.note for each in self.notes)
        return Passage("sargam" if notes else "empty", notes, Fraction(self.matras))


def draft(
    melody: Melody,
    sa_hz: float,
    matra_s: Sequence[float] | NDArray[np.float64],
    raga: Collection[str] = (),
    onsets_s: Sequence[float] | NDArray[np.float64] = (),
    parts: int | None = None,
) -> Draft:
    """Propose the notation of a stretch.

    Parameters
    ----------
    melody : Melody
    sa_hz : float
    matra_s : sequence of float, shape (k,)
        Times of consecutive matras; the last one is where the stretch ends.
    raga : collection of str
        Letters of the raga's swaras; empty where it is not known.
    onsets_s : sequence of float
        When strings and drums were struck (see `ingest.onset_times`); without them no swara is struck anew.
    parts : int, optional
        Into how many parts every matra is divided; by default each as it was played.

    Returns
    -------
    Draft
        Of no matras for k < 2.
    """
    times_s = np.asarray(matra_s, dtype=np.float64)
    semitones = bridged(heard_semitones(melody, sa_hz, raga), round(GAP_S / melody.hop_s))
    rests_s = _rests_s(semitones, melody.hop_s)
    semitones = held_on(without_octave_slips(semitones), melody)
    semitones = without_passing(semitones, melody.hop_s, np.asarray(onsets_s, dtype=np.float64))
    struck_s = struck_anew_s(melody, semitones, np.asarray(onsets_s, dtype=np.float64))
    starts_s = np.sort(np.concatenate([_changes_s(semitones, melody.hop_s), struck_s]))
    divisions = tuple(parts or _division(starts_s, rests_s, start_s, end_s) for start_s, end_s in pairwise(times_s))
    notes: list[DraftNote] = []
    before = SILENT
    for matra, count in enumerate(divisions):
        edges_s = np.linspace(times_s[matra], times_s[matra + 1], count + 1)
        for number, (start_s, end_s) in enumerate(pairwise(edges_s)):
            place, length = matra + Fraction(number, count), Fraction(1, count)
            half_s = (end_s - start_s) / 2
            anew = bool(np.any(np.abs(struck_s - start_s) < min(half_s, 2 * STRUCK_NEAR_S)))
            heard, share, other = _in_part(semitones, melody, start_s, end_s)
            if heard == SILENT:
                pass
            elif heard == before and not anew:
                notes[-1] = _longer(notes[-1], length, share, other)
            else:
                notes.append(DraftNote(Note(symbol(heard), place, length), share, other))
            before = heard
    return Draft(tuple(notes), len(divisions), divisions)


def without_octave_slips(semitones: NDArray[np.int64]) -> NDArray[np.int64]:
    """Swaras that lie far from the ones before and after, and an octave on near to both, put into that octave.

    The drone's Sa, and a dayan tuned to it, make the octave uncertain; a melody that leaps by most of an octave for one
    swara and back is rare. Common practice, no source.
    """
    out = semitones.copy()
    starts, lasts = _runs_of(semitones)
    sounding = [(start, last) for start, last in zip(starts.tolist(), lasts.tolist(), strict=True)
                if semitones[start] != SILENT]  # fmt: skip
    for (before, _), (start, last), (after, _) in zip(sounding, sounding[1:], sounding[2:], strict=False):
        here, sides = int(semitones[start]), (int(out[before]), int(semitones[after]))
        shift = 12 * round((sum(sides) / 2 - here) / 12)
        if shift and all(
            abs(here - side) >= FAR_SEMITONES and abs(here + shift - side) <= NEAR_SEMITONES for side in sides
        ):
            out[start : start + last] = here + shift
    return out


def without_passing(semitones: NDArray[np.int64], hop_s: float, onsets_s: NDArray[np.float64]) -> NDArray[np.int64]:
    """Swaras that were passed in a glide or at the turn of two notes, given to the one before: short and not struck."""
    out = semitones.copy()
    if not len(onsets_s):
        return out
    starts, lasts = _runs_of(semitones)
    struck = _away_s((starts * hop_s).astype(np.float64), np.sort(onsets_s)) <= STRUCK_NEAR_S
    for start, last, is_struck in zip(starts.tolist(), lasts.tolist(), struck.tolist(), strict=True):
        if start and not is_struck and semitones[start] != SILENT and last * hop_s < SHORTEST_UNSTRUCK_S:
            out[start : start + last] = out[start - 1]
    return out


def _away_s(times_s: NDArray[np.float64], onsets_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """How far the nearest onset is from each time; onsets ascend."""
    after = np.clip(np.searchsorted(onsets_s, times_s), 0, len(onsets_s) - 1)
    before = np.maximum(after - 1, 0)
    away_s: NDArray[np.float64] = np.minimum(np.abs(onsets_s[after] - times_s), np.abs(onsets_s[before] - times_s))
    return away_s


def struck_anew_s(melody: Melody, semitones: NDArray[np.int64], onsets_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """The onsets at which the lead becomes louder on the swara that it is on: a string struck anew, not the tabla."""
    width = round(BEFORE_AFTER_S / melody.hop_s)
    out = []
    for onset_s in onsets_s.tolist():
        at = round(onset_s / melody.hop_s)
        if not width <= at < len(semitones) - width:
            continue
        same = semitones[at - width] == semitones[at + width] != SILENT
        before, after = (float(melody.strength[part].mean()) for part in (slice(at - width, at), slice(at, at + width)))
        if same and after > STRUCK_RISE * before:
            out.append(onset_s)
    return np.array(out, dtype=np.float64)


def held_on(semitones: NDArray[np.int64], melody: Melody) -> NDArray[np.int64]:
    """What is not quite silent after a swara counts as that swara: while a string dies away, it is written on."""
    out = semitones.copy()
    starts, lasts = _runs_of(semitones)
    most = round(HELD_ON_S / melody.hop_s)
    for start, last in zip(starts.tolist(), lasts.tolist(), strict=True):
        if start and semitones[start] == SILENT:
            silent = np.append(np.flatnonzero(melody.voicing[start : start + last] < ALMOST_SILENT), last)
            out[start : start + min(int(silent[0]), most)] = semitones[start - 1]
    return out


def _changes_s(semitones: NDArray[np.int64], hop_s: float) -> NDArray[np.float64]:
    """Where a swara begins that lasts long enough to be a note."""
    starts, lasts = _runs_of(semitones)
    return starts[(lasts * hop_s >= SHORTEST_NOTE_S) & (semitones[starts] != SILENT)] * hop_s


def _rests_s(semitones: NDArray[np.int64], hop_s: float) -> NDArray[np.float64]:
    """Where a rest begins that lasts long enough to be meant."""
    starts, lasts = _runs_of(semitones)
    return starts[(lasts * hop_s >= SHORTEST_REST_S) & (semitones[starts] == SILENT)] * hop_s


def _runs_of(semitones: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """First frame and number of frames of every run."""
    changes = np.flatnonzero(np.diff(semitones)) + 1
    starts = np.concatenate([np.zeros(min(1, len(semitones)), np.int64), changes])
    return starts, np.diff(np.append(starts, len(semitones)))


def _division(starts_s: NDArray[np.float64], rests_s: NDArray[np.float64], start_s: float, end_s: float) -> int:
    """The division on whose parts what begins within a matra falls best, simpler ones preferred."""
    length_s = end_s - start_s

    def within(times_s: NDArray[np.float64]) -> NDArray[np.float64]:
        return (times_s[(times_s >= start_s - STRAY_S) & (times_s < end_s - STRAY_S)] - start_s) / length_s

    starts, rests = within(starts_s), within(rests_s)
    best, least = 1, np.inf
    for rank, count in enumerate(DIVISIONS):
        if count > 1 and length_s / count < SHORTEST_PART_S:
            continue
        places = np.rint(starts * count)
        lost = len(places) - len(np.unique(places)) + np.sum(places == count)
        cost = ONE_MORE_DIVISION * rank + LOST_START * lost
        for inside, weight in ((starts, 1.0), (rests, REST_WEIGHT)):
            strays = ((inside - np.rint(inside * count) / count) * length_s / STRAY_S) ** 2
            cost += weight * float(np.minimum(strays, FARTHEST_STRAY).sum())
        if cost < least:
            best, least = count, float(cost)
    return best


def _in_part(semitones: NDArray[np.int64], melody: Melody, start_s: float, end_s: float) -> tuple[int, float, str]:
    """The swara that sounds longest (or `SILENT`), how sure it is, and the one that sounds longest beside it."""
    part = slice(max(0, round(start_s / melody.hop_s)), max(0, round(end_s / melody.hop_s)))
    heard = semitones[part]
    if not len(heard):
        return SILENT, 0.0, ""
    values, counts = np.unique(heard, return_counts=True)
    order = np.argsort(-counts, kind="stable")
    first = int(values[order[0]])
    if first == SILENT:
        return SILENT, 0.0, ""
    others = [int(value) for value in values[order[1:]] if value != SILENT]
    sure = float(counts[order[0]] / len(heard) * melody.voicing[part][heard == first].mean())
    return first, sure, symbol(others[0]) if others else ""


def _longer(before: DraftNote, length: Fraction, share: float, other: str) -> DraftNote:
    """A note held through one more part: as sure as its parts are on the average."""
    note = before.note
    whole = note.length + length
    sure = (before.sureness * float(note.length) + share * float(length)) / float(whole)
    return DraftNote(Note(note.symbol, note.onset, whole), sure, before.other or other)
