"""What a theka leads one to hear: which drum sounds at which place of the cycle, and how surely.

Between the strokes of the theka others are put in (bharan), the more the longer the matra. They stand in no table;
where they may fall is laid down here, as halves and quarters of the matra.

A place is a matra (from 0) and a share of it (0 to 1). Two strokes of the theka on a whole matra are nearly always
played; those inside a matra are often varied or left out, and other strokes are put in. The chances are our own
judgement, to be re-estimated from annotated recordings.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from theory.bols import Side, strokes
from theory.talas import Tala

# Chance that an onset is heard in a drum's band, by what the drum is said to do there. A dead bass stroke (Ke, Kat)
# slaps across all bands; a lone bass stroke (Ge) clicks a little in the treble; a closed treble stroke (Te) thumps a
# little in the bass.
BASS_CHANCE: dict[Side, float] = {"rings": 0.85, "dead": 0.4, "none": 0.12}
TREBLE_CHANCE: dict[Side, float] = {"rings": 0.65, "dead": 0.6, "none": 0.3}
BASS_CHANCE_OF_A_CLOSED_TREBLE_STROKE = 0.3
CHANCE_INSIDE_A_MATRA = 0.7  # that a stroke of the theka between two matras is played at all
# Filling in: where in the matra, from what length of the matra on, and over how many seconds more it becomes usual.
FILLINGS = ((1 / 2, 0.3, 0.5), (1 / 4, 0.6, 1.0), (3 / 4, 0.6, 1.0))
FILLING_BASS_CHANCE, FILLING_TREBLE_CHANCE = 0.2, 0.5
FILLING_MISSED = 0.2  # how far a place left unfilled counts against the laya: filling in is a custom and no duty


@dataclass(frozen=True)
class Place:
    """A stroke of the theka.

    Parameters
    ----------
    matra : int
        Which matra, sam = 0.
    share : float
        Where in the matra, 0 to 1.
    bass, treble : float
        Chance that an onset is heard in the band of the bayan, of the dayan.
    """

    matra: int
    share: float
    bass: float
    treble: float


def theka_places(tala: Tala) -> tuple[Place, ...]:
    """Places of the strokes of a tala's theka, in order."""
    places = []
    for stroke in strokes(tala.theka):
        matra = int(stroke.onset)
        share = float(stroke.onset - matra)
        played = 1.0 if share == 0 else CHANCE_INSIDE_A_MATRA
        bass, treble = BASS_CHANCE[stroke.bol.bass], TREBLE_CHANCE[stroke.bol.treble]
        if stroke.bol.treble == "dead":
            bass = max(bass, BASS_CHANCE_OF_A_CLOSED_TREBLE_STROKE)
        places.append(Place(matra, share, bass * played, treble * played))
    return tuple(places)


@dataclass(frozen=True)
class FillingPlaces:
    """Where strokes that are not of the theka may be put in.

    Parameters
    ----------
    matras : tuple of int
        Matras, sam = 0, that have no stroke of the theka there.
    share : float
        Where in the matra, 0 to 1.
    begins_s, grows_s : float
        Length of the matra from which on it is done, and the further length over which it becomes usual.
    """

    matras: tuple[int, ...]
    share: float
    begins_s: float
    grows_s: float

    def usual(self, matra_s: NDArray[np.float64]) -> NDArray[np.float64]:
        """How usual it is to fill in there when a matra lasts so long: 0 to 1."""
        return np.clip((matra_s - self.begins_s) / self.grows_s, 0.0, 1.0)


def filling_places(tala: Tala) -> tuple[FillingPlaces, ...]:
    """Places between the strokes of a tala's theka."""
    taken = {(place.matra, place.share) for place in theka_places(tala)}
    return tuple(
        FillingPlaces(tuple(m for m in range(tala.matras) if (m, share) not in taken), share, begins_s, grows_s)
        for share, begins_s, grows_s in FILLINGS
    )
