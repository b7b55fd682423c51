"""A passage that is to be found again: one that was played, or one typed in swaras or bols.

It can be laid out in any number of columns, longer or shorter than it was played, so that it can be held against
another laya. Its length is known in matras where it lies on a grid (and always where it was typed), in seconds where
it was played.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from ingest.errors import NothingToFind
from ingest.finding.course import BESIDE, Columns, Sounding
from ingest.finding.lattice import TABLA_KINDS, Floats, class_weights
from ingest.theka_profile import BAYAN_DOES, DAYAN_DOES, tone
from theory.bols import Bol, strokes
from theory.passage import Passage
from theory.swaras import semitones_of

SHORTEST_NOTE_S, LONGEST_NOTE_S = 0.09, 1.6


class Example(Protocol):
    """A passage that is to be found again."""

    @property
    def matras(self) -> float | None:
        """Its length in matras; None where it lies on no grid."""

    @property
    def played_s(self) -> float | None:
        """Its length in seconds; None where it was typed."""

    @property
    def shortest(self) -> float | None:
        """Its usual note as a share of its length; None where it was played, and its laya is known."""

    def columns(self, count: int) -> Columns:
        """Lay it out in so many columns."""


@dataclass(frozen=True, eq=False)
class Played:
    """A passage of a recording.

    Parameters
    ----------
    sounding : Sounding
    start_s, end_s : float
    matra_s, position : ndarray of float64, shape (k,), optional
        Times and positions of the matras of the section that it lies in.
    """

    sounding: Sounding
    start_s: float
    end_s: float
    matra_s: NDArray[np.float64] | None = None
    position: NDArray[np.float64] | None = None

    shortest = None

    def __post_init__(self) -> None:
        if not self.end_s > self.start_s:
            raise NothingToFind("A passage begins before it ends: give a later end.")

    @property
    def played_s(self) -> float:
        """Its length in seconds."""
        return self.end_s - self.start_s

    @property
    def matras(self) -> float | None:
        """Its length in matras."""
        ends = self._ends()
        return None if ends is None else ends[1] - ends[0]

    def columns(self, count: int) -> Columns:
        """Lay it out: on its grid where it has one, so that a pull or push of the laya is taken out."""
        ends = self._ends()
        if ends is None or self.matra_s is None or self.position is None:
            return self.sounding.columns(np.linspace(self.start_s, self.end_s, count + 1))
        return self.sounding.columns(np.interp(np.linspace(*ends, count + 1), self.position, self.matra_s))

    def _ends(self) -> tuple[float, float] | None:
        if self.matra_s is None or self.position is None:
            return None
        begins, ends = np.interp([self.start_s, self.end_s], self.matra_s, self.position)
        return float(begins), float(ends)


@dataclass(frozen=True, eq=False)
class Typed:
    """A passage on paper, at no laya in particular.

    Raises
    ------
    NothingToFind
        It has no notes.
    theory.errors.UnknownName
        A bol is not in the lexicon.
    """

    passage: Passage

    played_s = None

    def __post_init__(self) -> None:
        if not self.passage.notes:
            raise NothingToFind("A phrase in swaras (m P n S') or in bols (Dha TiRaKiTa) was expected; nothing came.")
        self._struck()

    @property
    def matras(self) -> float:
        """Its length as it is written."""
        return float(self.passage.length)

    @property
    def shortest(self) -> float:
        """Its usual note as a share of its length."""
        return float(np.median([float(note.length) for note in self.passage.notes])) / self.matras

    def columns(self, count: int) -> Columns:
        """Lay it out."""
        semitone, voiced = np.zeros(count, np.float32), np.zeros(count, np.float32)
        tabla, plucks = np.zeros((count, TABLA_KINDS), np.float32), np.zeros(count, np.float32)
        scale = count / self.passage.length
        for onset, does in self._struck():
            _strike(tabla, int(onset * scale), does)
        if self.passage.system == "sargam":
            for note in self.passage.notes:
                begins, ends = int(note.onset * scale), max(int(note.onset * scale) + 1, int(note.end * scale))
                semitone[begins:ends], voiced[begins:ends] = semitones_of(note.symbol), 1.0
                _strike(plucks[:, None], begins, np.ones(1, np.float32))
        return Columns(class_weights(semitone, voiced), tabla, plucks, semitone)

    def _struck(self) -> Sequence[tuple[Fraction, Floats]]:
        """What is done on the tabla, and when, in matras."""
        if self.passage.system != "bols":
            return ()
        return [(each.onset, _done(each.bol)) for each in strokes(self.passage)]


def _done(bol: Bol) -> Floats:
    """Chances of the tabla's strokes, by kind, where a bol is struck; neither hand's silence is among them."""
    return np.concatenate([BAYAN_DOES[bol.bass][1:], DAYAN_DOES[tone(bol)][1:]]).astype(np.float32)


def _strike(rows: Floats, at: int, does: Floats) -> None:
    """Set a stroke in its column, and less of it in those beside it."""
    for column, share in ((at - 1, BESIDE), (at, 1.0), (at + 1, BESIDE)):
        if 0 <= column < len(rows):
            np.maximum(rows[column], share * does, out=rows[column])
