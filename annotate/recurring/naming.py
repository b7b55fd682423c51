"""Names for a phrase that comes again: held against the typical phrases, the aroha and the avaroha of its raga.

A name is a proposal. The table holds one typical way of the sources it names; schools and teachers differ, and what a
raga's pakad is above all. A swara struck again counts once, and the whole phrase may stand in another octave.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ingest.finding.like_lines import least_edits
from theory.errors import UnknownName
from theory.notation import parse
from theory.ragas import Raga, get_raga, raga_variants
from theory.swaras import semitones_of

AGREES = 0.75
"""Least share of notes that must agree for a name to be proposed."""
FEWEST_NOTES = 3
OCTAVES = (-24, -12, 0, 12, 24)
DIFFER = "A proposal: schools and teachers differ."


@dataclass(frozen=True)
class ProposedName:
    """A name for a phrase.

    Parameters
    ----------
    name : str
        ``"pakad"``, ``"part of the aroha"``, ``"part of the avaroha"``, ``"mukhra of the gat"`` or
        ``"line of the gat"``.
    role : str
        What a phrase of that name is written down as; '' where no role follows from it.
    agreement : float
        0 to 1: the share of notes (of a mukhra and a line: of places) that agree.
    why : str
        With what it agrees, and the source.
    """

    name: str
    role: str
    agreement: float
    why: str

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return {"name": self.name, "role": self.role, "agreement": round(self.agreement, 2), "why": self.why}


def names_for(semitones: Sequence[int], raga: str) -> list[ProposedName]:
    """Propose names for a phrase from its raga's table, those that agree best first; none where it is in no table.

    Parameters
    ----------
    semitones : sequence of int
        Above Sa.
    raga : str
    """
    try:
        known = get_raga(raga)
    except UnknownName:
        return []
    phrase = without_repeats(semitones)
    found = [name for each in (known, *raga_variants(known)) for name in _by_table(phrase, each)]
    best: dict[str, ProposedName] = {}
    for each in sorted(found, key=lambda name: -name.agreement):  # the raga itself before its variants
        best.setdefault(each.name, each)
    return list(best.values())


def without_repeats(semitones: Sequence[int]) -> NDArray[np.int64]:
    """The notes, one struck again counted once."""
    notes = np.asarray(semitones, dtype=np.int64)
    return notes[np.concatenate([[True] * min(1, len(notes)), np.diff(notes) != 0]).astype(np.bool_)]


def _by_table(phrase: NDArray[np.int64], raga: Raga) -> list[ProposedName]:
    names = []
    for typical in raga.phrases:
        other = _notes_of(typical)
        if min(len(phrase), len(other)) < FEWEST_NOTES:
            continue
        whole = len(other) <= len(phrase)
        inner, outer = (other, phrase) if whole else (phrase, other)
        agreement = _agreement(outer, inner)
        if agreement >= AGREES:
            told = "holds" if whole else "is part of"
            why = f"{_how_much(agreement)} {told} the phrase {typical} of {raga.name} ({raga.source}). {DIFFER}"
            names.append(ProposedName("pakad", "pakad", agreement, why))
    for way, text in (("aroha", raga.aroha), ("avaroha", raga.avaroha)):
        line = _endless(text)
        agreement = _agreement(line, phrase) if len(phrase) > FEWEST_NOTES else 0.0
        if agreement >= AGREES:
            why = f"{_how_much(agreement)} goes along the {way} {text} of {raga.name} ({raga.source}). {DIFFER}"
            names.append(ProposedName(f"part of the {way}", "", agreement, why))
    return names


def _how_much(agreement: float) -> str:
    return "It" if agreement == 1 else f"By {round(100 * agreement)} % of its notes it"


def _agreement(outer: NDArray[np.int64], inner: NDArray[np.int64]) -> float:
    """The share of notes of the inner phrase that agree where it comes nearest in the outer one, in any octave."""
    least = min(least_edits(outer, inner + octave) for octave in OCTAVES)
    return max(0.0, 1 - least / len(inner))


@lru_cache(maxsize=1024)
def _notes_of(text: str) -> NDArray[np.int64]:
    return without_repeats([semitones_of(each) for each in parse(text.replace(",", " ")).symbols])


@lru_cache(maxsize=512)
def _endless(text: str) -> NDArray[np.int64]:
    """A way up or down led on through the octaves, from where one octave's notes come to where the next one's begin."""
    notes = _notes_of(text)
    rises = notes[-1] > notes[0]
    line = notes.tolist()
    for _ in range(2):
        above = [int(each) + (12 if rises else -12) for each in line[-len(notes) :]]
        at = above.index(line[-1]) + 1 if line[-1] in above[:FEWEST_NOTES] else 0
        line += above[at:]
    return np.array(line, dtype=np.int64)
