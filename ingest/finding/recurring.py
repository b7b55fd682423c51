"""Phrases that come again and again: more often, and longer, than the line's own habit makes likely.

A phrase is worth a name of its own when saying "this phrase, with these changes" each time it comes is shorter than
telling it note by note as `chain` would. What it saves is a logarithm of a likelihood ratio; the phrase itself, told
once, and every change of a note are paid for, so neither two notes in their usual order nor a vague likeness gains.
The phrase that saves most is taken first; what it takes up no other phrase may use (their last and first note may be
shared).

Conventions: notes are numbered from 0; a gain is in nats.

References
----------
J. Rissanen, Modeling by shortest data description, Automatica 14, 1978 (two-part codes).
"""

from __future__ import annotations

import heapq
from collections import Counter
from dataclasses import dataclass

import numpy as np

from ingest.finding.chain import surprises
from ingest.finding.like_lines import CLOSED, comings
from ingest.finding.notes_heard import NotesHeard
from ingest.swaras_heard import symbol

SHORTEST, LONGEST = 4, 16
NOTES_AN_EDIT = 4
"""Of so many notes beyond the first one may differ: none of four, one of five to eight ..."""
LEAST_COUNT = 2
LEAST_GAIN = 5.0
"""Nats: the phrase is 150 times as likely as the habit alone."""
MOST_SEEDS = 800
MOST_GROUPS = 40


@dataclass(frozen=True)
class Coming:
    """Once that a phrase comes.

    Parameters
    ----------
    first, end : int
        Its first note, and the one after its last.
    start_s, end_s : float
    edits : int
        How many notes are changed, left out or added against the group's phrase.
    """

    first: int
    end: int
    start_s: float
    end_s: float
    edits: int


@dataclass(frozen=True)
class Group:
    """A phrase that comes again and again.

    Parameters
    ----------
    semitones : tuple of int
        Of its notes, above the middle Sa: the wording heard most often.
    comings : tuple of Coming
        In order of time.
    gain : float
        Logarithm of the likelihood ratio, in nats.
    """

    semitones: tuple[int, ...]
    comings: tuple[Coming, ...]
    gain: float

    @property
    def text(self) -> str:
        """Its swaras."""
        return " ".join(symbol(each) for each in self.semitones)


def recurring(notes: NotesHeard, most: int = MOST_GROUPS) -> list[Group]:
    """Find the phrases that come again and again, those that tell most first."""
    if len(notes) < 2 * SHORTEST:
        return []
    search = _Search(notes)
    waiting = [(-gain, seed) for seed, gain in search.seeds()]
    heapq.heapify(waiting)
    groups: list[Group] = []
    while waiting and len(groups) < most:
        told, seed = heapq.heappop(waiting)
        found = search.group(seed)
        if found is None:
            continue
        # what was taken since has made it less: others may be worth more by now
        if waiting and found.gain < -waiting[0][0] and found.gain < -told:
            heapq.heappush(waiting, (-found.gain, seed))
            continue
        groups.append(found)
        search.take(found)
    return sorted(groups, key=lambda group: -group.gain)


def allowed_edits(length: int) -> int:
    """How many notes of a phrase may differ where it comes."""
    return (length - 1) // NOTES_AN_EDIT


def comings_in(notes: NotesHeard, phrase: tuple[int, ...]) -> list[Coming]:
    """Where a phrase comes in a line, likely or not, a breath never within it."""
    if not len(notes):
        return []
    closed = np.flatnonzero(notes.after_breath)
    # places of notes keep their numbers: what is closed off stands before each note that follows a breath
    lowest = min(int(notes.semitone.min(initial=0)), *phrase)
    line = np.insert(notes.semitone - lowest, closed, CLOSED)
    number = np.insert(np.arange(len(notes)), closed, -1)
    rows = comings(line, np.array(phrase, np.int64) - lowest, allowed_edits(len(phrase)))
    out = []
    for begin, end, edits in rows.tolist():
        first, last = int(number[begin]), int(number[end - 1])
        out.append(Coming(first, last + 1, float(notes.start_s[first]), float(notes.end_s[last]), edits))
    return out


class _Search:
    """A line of notes, and what of it is not taken yet."""

    def __init__(self, notes: NotesHeard) -> None:
        self._notes = notes
        self._values, line = np.unique(notes.semitone, return_inverse=True)
        self._symbols = len(self._values)
        told = surprises(line.astype(np.int64), self._symbols)
        # a breath before each phrase closes the line; place k of the line is note at[k], or none
        before = notes.after_breath
        at = np.arange(len(line)) + np.cumsum(before) - 1
        self._line = np.full(len(line) + int(before.sum()) - 1, CLOSED, np.int64)
        self._line[at] = line
        self._note = np.full(len(self._line), -1, np.int64)
        self._note[at] = np.arange(len(line))
        spread = np.zeros(len(self._line))
        spread[at] = told
        self._told = np.concatenate([[0.0], np.cumsum(spread)])
        self._an_edit = float(np.log(max(self._symbols, 2)))

    def seeds(self) -> list[tuple[tuple[int, ...], float]]:
        """Runs that come twice or more, word for word, none a part of a longer one that comes as often."""
        line = self._line.tolist()
        closed = np.concatenate([[0], np.cumsum(self._line == CLOSED)])
        counts: dict[tuple[int, ...], list[int]] = {}
        rows = {}
        for length in range(SHORTEST, LONGEST + 2):
            open_at = np.flatnonzero(closed[length:] == closed[:-length]) if length <= len(line) else np.zeros(0, int)
            places: dict[tuple[int, ...], list[int]] = {}
            for at in open_at.tolist():
                places.setdefault(tuple(line[at : at + length]), []).append(at)
            rows[length] = {run: begins for run, begins in places.items() if len(begins) >= LEAST_COUNT}
        for length in range(SHORTEST, LONGEST + 1):
            longer: Counter[tuple[int, ...]] = Counter()
            for run, begins in rows[length + 1].items():
                for part in (run[:-1], run[1:]):
                    longer[part] = max(longer[part], len(begins))
            counts |= {run: begins for run, begins in rows[length].items() if longer[run] < len(begins)}
        told = [(run, self._gain([(at, at + len(run), 0) for at in begins])) for run, begins in counts.items()]
        told.sort(key=lambda each: (-each[1], each[0]))
        return told[:MOST_SEEDS]

    def group(self, seed: tuple[int, ...]) -> Group | None:
        """The phrase as it comes in what is not taken yet, in the wording heard most often; None if not worth it."""
        wording = seed
        for _ in range(2):
            found = self._worth(wording)
            if len(found) < LEAST_COUNT:
                return None
            heard = Counter(tuple(self._line[begin:end].tolist()) for begin, end, _ in found)
            most, count = max(heard.items(), key=lambda each: (each[1], each[0] == wording, each[0]))
            if count <= heard[wording] or not SHORTEST <= len(most) <= LONGEST:
                break
            wording = most
        gain = self._gain(found)
        if gain < LEAST_GAIN:
            return None
        told = tuple(self._coming(*each) for each in found)
        return Group(tuple(int(self._values[each]) for each in wording), told, gain)

    def take(self, group: Group) -> None:
        """Close what a group takes up, but for its first and last notes."""
        taken = np.zeros(len(self._notes), np.bool_)
        for each in group.comings:
            taken[each.first + 1 : each.end - 1] = True
        self._line[(self._note >= 0) & taken[np.maximum(self._note, 0)]] = CLOSED

    def _worth(self, wording: tuple[int, ...]) -> list[tuple[int, int, int]]:
        """Where a wording comes, each of which gains."""
        rows = comings(self._line, np.array(wording, np.int64), allowed_edits(len(wording))).tolist()
        place = self._naming(len(rows))
        return [(b, e, edits) for b, e, edits in rows if self._saves(b, e, edits, place) > 0]

    def _naming(self, count: int) -> float:
        """What it costs to say that the phrase comes here."""
        return float(np.log(len(self._notes) / max(count, 1)))

    def _saves(self, begin: int, end: int, edits: int, naming: float) -> float:
        changes = edits * (self._an_edit + float(np.log(end - begin)))
        return float(self._told[end] - self._told[begin]) - naming - changes

    def _gain(self, rows: list[tuple[int, int, int]]) -> float:
        """What a phrase saves, itself told once."""
        naming = self._naming(len(rows))
        saved = [self._saves(*row, naming) for row in rows]
        once = min(float(self._told[end] - self._told[begin]) for begin, end, _ in rows)
        return sum(saved) - once

    def _coming(self, begin: int, end: int, edits: int) -> Coming:
        first, last = int(self._note[begin]), int(self._note[end - 1])
        return Coming(first, last + 1, float(self._notes.start_s[first]), float(self._notes.end_s[last]), edits)
