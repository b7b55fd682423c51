"""What a theka leads one to hear: which drum sounds at which place of the cycle, and how surely.

A place is a matra (from 0) and a share of it (0 to 1). Two strokes of the theka on a whole matra are nearly always
played; those inside a matra are often varied or left out, and other strokes are put in. The chances are our own
judgement, to be re-estimated from annotated recordings.
"""

from __future__ import annotations

from dataclasses import dataclass

from theory.bols import Side, strokes
from theory.talas import Tala

# Chance that an onset is heard in a drum's band, by what the drum is said to do there. A dead bass stroke (Ke, Kat)
# slaps across all bands; a lone bass stroke (Ge) clicks a little in the treble.
BASS_CHANCE: dict[Side, float] = {"rings": 0.85, "dead": 0.4, "none": 0.12}
TREBLE_CHANCE: dict[Side, float] = {"rings": 0.75, "dead": 0.7, "none": 0.35}
CHANCE_INSIDE_A_MATRA = 0.7  # that a stroke of the theka between two matras is played at all


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
        bol = stroke.bol
        places.append(Place(matra, share, BASS_CHANCE[bol.bass] * played, TREBLE_CHANCE[bol.treble] * played))
    return tuple(places)
