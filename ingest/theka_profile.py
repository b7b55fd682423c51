"""What a theka leads one to hear: what either hand does at which place of the cycle, and how surely.

Between the strokes of the theka others are put in (bharan), the more the longer the matra: a silence of a second
seldom stays empty. They stand in no table; where they may fall is laid down here, as halves, quarters and eighths of
the matra. In a solo anything may be played, at equal parts of the matra.

A place is a matra (from 0) and a share of it (0 to 1). The chances were estimated on rendered concerts (seeds 1 to 6
and 11 to 16 of ``benchmarks/concerts``, where the strokes' places are known) and drawn towards each other, since
hands and schools differ: which bol is struck on the rim and which on the sur is common practice and not the same
everywhere.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ingest.strokes_heard import BAYAN, DAYAN
from theory.bols import Bol, strokes
from theory.talas import Tala

Chances = NDArray[np.float64]

# in the order of BAYAN: none, rings, dead
BAYAN_DOES: dict[str, Chances] = {
    "rings": np.array([0.07, 0.85, 0.08]),
    "dead": np.array([0.20, 0.08, 0.72]),
    "none": np.array([0.80, 0.12, 0.08]),
}
# in the order of DAYAN: none, rim, sur, open, dead
DAYAN_DOES: dict[str, Chances] = {
    "rim": np.array([0.06, 0.77, 0.06, 0.02, 0.09]),
    "sur": np.array([0.06, 0.07, 0.76, 0.02, 0.09]),
    "open": np.array([0.10, 0.15, 0.30, 0.35, 0.10]),
    "dead": np.array([0.15, 0.08, 0.04, 0.03, 0.70]),
    "none": np.array([0.70, 0.08, 0.08, 0.06, 0.08]),
}
# the dayan's tone where it is not the rim's (common practice, no source; schools differ, hence the chances above)
ON_THE_SUR = frozenset(("Tin", "Dhin", "Dhi", "Ti", "Thin"))
IN_THE_MIDDLE = frozenset(("Tun", "Thun", "Tu", "Din", "Di", "Dun"))
KEPT, KEPT_INSIDE_A_MATRA = 0.8, 0.65  # chance that a stroke of the theka is played as it stands

# filling in: parts of the matra, and how usual it is by the length of a part: at 0.25 s, and more per doubling
FILLED_PARTS = (2, 4, 8)
FILLED_AT_QUARTER_SECOND, FILLED_MORE_PER_DOUBLING, FILLED_MOST, FILLED_LEAST = 0.35, 0.3, 0.93, 0.06
SHORTEST_PART_S = 0.17
LEVELS = np.linspace(FILLED_LEAST, FILLED_MOST, 10)
FILLED_AS_SAID = 0.9  # otherwise anything may happen
SOLO_PARTS = (2, 3, 4, 8)
SOLO_PART_S = (0.08, 0.4)
PLAYED_IN_A_SOLO = 0.85
# what is played between: (bayan, dayan) and its share
_OPEN_SIDE = {("rings", "none"): 0.40, ("none", "rim"): 0.14, ("none", "dead"): 0.14, ("rings", "rim"): 0.12,
              ("dead", "none"): 0.08, ("none", "sur"): 0.08, ("rings", "sur"): 0.04}  # fmt: skip
_CLOSED_SIDE = {("none", "rim"): 0.33, ("none", "dead"): 0.25, ("dead", "none"): 0.25, ("none", "sur"): 0.08,
                ("rings", "none"): 0.03, ("dead", "dead"): 0.06}  # fmt: skip
_SOLO = {("rings", "none"): 0.18, ("none", "rim"): 0.20, ("none", "dead"): 0.27, ("rings", "rim"): 0.12,
         ("dead", "none"): 0.09, ("none", "sur"): 0.07, ("rings", "sur"): 0.05, ("none", "open"): 0.02}  # fmt: skip


@dataclass(frozen=True)
class Place:
    """A stroke of the theka.

    Parameters
    ----------
    matra : int
        Which matra, sam = 0.
    share : float
        Where in the matra, 0 to 1.
    bayan, dayan : ndarray of float, shapes (3,) and (5,)
        What either hand does, as chances in the order of `strokes_heard.BAYAN` and `DAYAN`.
    kept : float
        Chance that it is played as it stands.
    """

    matra: int
    share: float
    bayan: Chances
    dayan: Chances
    kept: float


def theka_places(tala: Tala) -> tuple[Place, ...]:
    """Places of the strokes of a tala's theka, in order; a matra that begins without a stroke is a place of silence."""
    places = []
    begun = set()
    for stroke in strokes(tala.theka):
        matra = int(stroke.onset)
        share = float(stroke.onset - matra)
        kept = KEPT if share == 0 else KEPT_INSIDE_A_MATRA
        places.append(Place(matra, share, BAYAN_DOES[stroke.bol.bass], DAYAN_DOES[tone(stroke.bol)], kept))
        if share == 0:
            begun.add(matra)
    for matra in set(range(tala.matras)) - begun:
        places.append(Place(matra, 0.0, BAYAN_DOES["none"], DAYAN_DOES["none"], KEPT))
    return tuple(sorted(places, key=lambda place: (place.matra, place.share)))


def tone(bol: Bol) -> str:
    """Where the dayan is struck: "rim", "sur", "open", "dead" or "none"."""
    if bol.treble != "rings":
        return bol.treble
    return "sur" if bol.name in ON_THE_SUR else "open" if bol.name in IN_THE_MIDDLE else "rim"


def open_side(tala: Tala) -> NDArray[np.bool_]:
    """The matras whose stroke rings on the bayan, shape (matras,)."""
    rings = {
        int(stroke.onset) for stroke in strokes(tala.theka) if stroke.bol.bass == "rings" and stroke.onset % 1 == 0
    }
    return np.array([matra in rings for matra in range(tala.matras)])


def filled_places(matra_s: NDArray[np.float64]) -> list[tuple[float, NDArray[np.int64]]]:
    """Shares of the matra at which strokes are filled in; for each, by length of the matra, a level of `LEVELS` from 1.

    0 where the parts would be too short to be filled.
    """
    places = []
    for parts in FILLED_PARTS:
        part_s = matra_s / parts
        usual = FILLED_AT_QUARTER_SECOND + FILLED_MORE_PER_DOUBLING * np.log2(part_s / 0.25)
        level = 1 + np.abs(np.clip(usual, FILLED_LEAST, FILLED_MOST)[:, None] - LEVELS).argmin(axis=1)
        level[part_s < SHORTEST_PART_S] = 0
        places += [(number / parts, level) for number in range(1, parts, 2)]
    return places


def solo_parts(matra_s: NDArray[np.float64]) -> NDArray[np.int64]:
    """Into how many equal parts a solo may divide matras of these lengths, shape (4, l); 0 where it may not."""
    parts = np.array(SOLO_PARTS)[:, None]
    part_s = matra_s / parts
    return np.where((part_s > SOLO_PART_S[0]) & (part_s < SOLO_PART_S[1]), parts, 0)


def fill_strokes() -> tuple[Chances, Chances, Chances]:
    """What is filled in on the open and on the closed side, and what a solo plays: chances, shape (3, 5) each."""
    return _table(_OPEN_SIDE), _table(_CLOSED_SIDE), _table(_SOLO)


def _table(shares: dict[tuple[str, str], float]) -> Chances:
    table = np.zeros((len(BAYAN), len(DAYAN)))
    for (bass, treble), share in shares.items():
        table[BAYAN.index(bass), DAYAN.index(treble)] = share
    return table
