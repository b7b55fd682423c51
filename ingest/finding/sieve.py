"""Which places of the first look deserve the second: all that the first look knows of a place, weighed by trees.

The first look stands many thousand places a minute out, most of them wrong. What it knows of each of them (how it
stands out in every stream, what is beside it, where in the cycle it lies) is cheap to measure and tells nearly all of
the wrong ones, so that the close look can be spent on few.

Conventions: ticks as in `lattice`; places by the numbers of their spacing and landing in a `Scan`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ingest.finding.lattice import Floats, Lattice
from ingest.finding.mukhra import Mukhra, contrast_by_matra
from ingest.finding.scan import NO_SUCH, STREAMS, Scan, units_of
from ingest.finding.trees import Trees

Numbers = NDArray[np.int64]

STEPS_BESIDE = (-2, -1, 1, 2)
FIRST: tuple[str, ...] = (
    *(f"{stream} height" for stream in STREAMS),
    *(f"{stream} elsewhere" for stream in STREAMS),
    *(f"{stream} fresh" for stream in STREAMS),
    "second height",
    "heights together",
    "spacing s",
    "spacing matras",
    "spacing cycles",
    "spacing off the cycle",
    "spacing counted in",
    "on sam",
    "matras from sam",
    "off the matra",
    "matras from the mukhra",
    "mukhra's contrast",
    "contrast from here on",
    "contrast from here on, less the best",
    "matra s",
    "stroke s",
    "score",
    "best shorter",
    "best longer",
    "best shorter, any stream",
    "less than the best there",
    *(f"score of the landing {step:+d}, less it" for step in STEPS_BESIDE),
    *(f"score of the spacing {step:+d}, less it" for step in STEPS_BESIDE),
    *(f"{stream} height a spacing {when}" for when in ("earlier", "later") for stream in STREAMS),
)
"""What is measured of a place at the first look, in order."""

FAR_MATRAS = 3  # farther from sam than this all places are alike: where the mukhra is differs from gat to gat
SEEDS_A_MINUTE = 12_000
SIFTED_A_MINUTE = 600
_BATCH = 1 << 16
"""So many places are measured at once: memory does not grow with the section."""


class FirstLook:
    """A section after the first look, ready to say what is known of any place in it.

    Parameters
    ----------
    lattice : Lattice
    scanned : Scan
    mukhra : Mukhra, optional
        Where the section's mukhra begins: tihais land there too.
    """

    def __init__(self, lattice: Lattice, scanned: Scan, mukhra: Mukhra | None) -> None:
        self.lattice, self.scanned, self.mukhra = lattice, scanned, mukhra
        self._score = scanned.score
        self._units = units_of(lattice)

    @cached_property
    def _counted(self) -> NDArray[np.float64]:
        """The longest part of a matra that each spacing is a number of, in matras."""
        counted = [next((u for u in self._units if each % u == 0), 0) for each in self.scanned.spacings]
        return np.array(counted) / self.lattice.parts

    @cached_property
    def _contrast(self) -> Floats:
        return contrast_by_matra(self.lattice)

    @cached_property
    def _rivals(self) -> _Rivals:
        return _Rivals.of(self._score, self.scanned.spacings, self._units[-1])

    @cached_property
    def _rivals_of_any(self) -> _Rivals:
        return _Rivals.of(self.scanned.height.max(axis=0), self.scanned.spacings, self._units[-1])

    def measured(self, spacing_at: Numbers, landing_at: Numbers) -> Floats:
        """What `FIRST` names of some places, shape (n, len(FIRST))."""
        lattice, scanned, score = self.lattice, self.scanned, self._score
        landing, spacing = scanned.landings[landing_at], scanned.spacings[spacing_at]
        cycle = lattice.matras * lattice.parts
        place = (landing + lattice.first * lattice.parts) % cycle
        off, contrast = spacing % cycle, self._contrast
        from_mukhra = np.full(len(place), float(lattice.matras))
        if self.mukhra is not None:
            away = (place - (self.mukhra.matra - 1) * lattice.parts) % cycle
            from_mukhra = np.minimum(away, cycle - away) / lattice.parts
        height, here = scanned.height[:, spacing_at, landing_at], score[spacing_at, landing_at]
        step = int(scanned.landings[1] - scanned.landings[0]) if len(scanned.landings) > 1 else 1
        apart = np.rint(spacing / step).astype(np.int64)
        columns = [
            *height,
            *scanned.elsewhere[:, spacing_at, landing_at],
            *scanned.fresh[:, spacing_at, landing_at],
            np.sort(height, axis=0)[1],
            height.sum(axis=0),
            spacing * lattice.tick_s,
            spacing / lattice.parts,
            spacing / cycle,
            np.minimum(off, cycle - off) / lattice.parts,
            self._counted[spacing_at],
            place == 0,
            np.clip(_signed(place, cycle) / lattice.parts, -FAR_MATRAS, FAR_MATRAS),
            place % lattice.parts / lattice.parts,
            from_mukhra,
            np.full(len(place), self.mukhra.contrast if self.mukhra is not None else 0.0),
            contrast[place // lattice.parts],
            contrast[place // lattice.parts] - contrast.max(),
            np.full(len(place), lattice.matra_s),
            np.full(len(place), self._units[-1] * lattice.tick_s),
            here,
            self._rivals.shorter_than(spacing_at, landing_at),
            self._rivals.longer_than(spacing_at, landing_at),
            self._rivals_of_any.shorter_than(spacing_at, landing_at),
            here - self._rivals.best[landing_at],
            *(_at(score, spacing_at, landing_at + away) - here for away in STEPS_BESIDE),
            *(_at(score, spacing_at + away, landing_at) - here for away in STEPS_BESIDE),
            *(_at(each, spacing_at, landing_at + back * apart) for back in (-1, 1) for each in scanned.height),
        ]
        return np.stack(columns, axis=1).astype(np.float32)

    def sifted(self, trees: Trees, most: int) -> tuple[Numbers, Numbers, Floats]:
        """The likeliest places.

        Parameters
        ----------
        trees : Trees
            Learnt on `FIRST`.
        most : int
            How many at most.

        Returns
        -------
        spacing_at, landing_at : ndarray of int64, shape (n,)
            The likeliest first.
        told : ndarray of float32, shape (n,)
            Log odds, as the trees tell them.
        """
        spacing_at, landing_at = self.scanned.seeds(self.a_minute(SEEDS_A_MINUTE))
        told = np.concatenate(
            [np.zeros(0)]
            + [
                trees.sums(self.measured(spacing_at[at : at + _BATCH], landing_at[at : at + _BATCH]))[:, 0]
                for at in range(0, len(spacing_at), _BATCH)
            ]
        )
        kept = np.argsort(-told, kind="stable")[:most]
        return spacing_at[kept], landing_at[kept], told[kept].astype(np.float32)

    def a_minute(self, places: int) -> int:
        """So many places a minute, for this section."""
        return int(places * (self.lattice.time_s[-1] - self.lattice.time_s[0]) / 60)


@dataclass(frozen=True, eq=False)
class _Rivals:
    """The best score of every landing at shorter and at longer spacings than those a stroke away."""

    shorter: Floats
    longer: Floats
    below: Numbers
    above: Numbers

    @classmethod
    def of(cls, score: Floats, spacings: Numbers, unit: int) -> _Rivals:
        nowhere = np.full((1, score.shape[1]), NO_SUCH, np.float32)
        return cls(
            np.concatenate([nowhere, np.maximum.accumulate(score, axis=0)]),
            np.concatenate([np.maximum.accumulate(score[::-1], axis=0)[::-1], nowhere]),
            np.searchsorted(spacings, spacings - 2 * unit, side="left"),
            np.searchsorted(spacings, spacings + 2 * unit, side="right"),
        )

    @property
    def best(self) -> Floats:
        """The best score of every landing at any spacing."""
        best: Floats = self.shorter[-1]
        return best

    def shorter_than(self, spacing_at: Numbers, landing_at: Numbers) -> Floats:
        found: Floats = self.shorter[self.below[spacing_at], landing_at]
        return found

    def longer_than(self, spacing_at: Numbers, landing_at: Numbers) -> Floats:
        found: Floats = self.longer[self.above[spacing_at], landing_at]
        return found


def _signed(place: Numbers, cycle: int) -> Numbers:
    """Places in the cycle as distances from the nearer sam."""
    return (place + cycle // 2) % cycle - cycle // 2


def _at(scores: Floats, spacing_at: Numbers, landing_at: Numbers) -> Floats:
    """Scores of places of which some may lie outside."""
    spacings, landings = scores.shape
    inside = (spacing_at >= 0) & (spacing_at < spacings) & (landing_at >= 0) & (landing_at < landings)
    found = scores[np.clip(spacing_at, 0, spacings - 1), np.clip(landing_at, 0, landings - 1)]
    return np.where(inside, found, np.float32(NO_SUCH))
