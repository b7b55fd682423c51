"""From the chances of strokes to likelihood ratios: what is heard at a moment against what is heard at any moment here.

On either drum one thing happens at a time: nothing, or one kind of stroke. The chances of a frame are widened by how
far a stroke may fall from its place, brought to a sum of one on each drum, and divided by their local means. Weighed
by what a player may be expected to do at a place, such a ratio is the likelihood of the place against coincidence;
over a section the ratios of pure chance average to one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ingest.evidence import Evidence
from ingest.stroke_chances import STROKE_KINDS

Ratios = NDArray[np.float32]

BAYAN = ("none", "rings", "dead")
DAYAN = ("none", "rim", "sur", "open", "dead")
REACH_S = 0.045  # how far from its place a stroke may fall, its evidence falling off to nothing
SPAN_S = 16.0  # over which the local means are taken
LEAST = 0.01  # chance that anything happens unheard, or is heard and does not happen
TRAINED_ON_MORE = 9.0  # times as many of the frames the network was trained on held a stroke as of all frames
AUDIBLE = 0.3  # a stroke's chance that counts as one heard


@dataclass(frozen=True)
class StrokesHeard:
    """Likelihood ratios by frame: of the bayan, shape (n, 3), in the order of `BAYAN`; of the dayan, (n, 5), `DAYAN`.

    ``any_tabla`` is whether any stroke of the tabla was heard at all.
    """

    hop_s: float
    bayan: Ratios
    dayan: Ratios
    any_tabla: bool

    def __len__(self) -> int:
        return len(self.bayan)

    def log_ratio(self, bayan: NDArray[np.float64], dayan: NDArray[np.float64], kept: float) -> Ratios:
        """Log likelihood ratio, by frame, of a stroke expected here against coincidence.

        Parameters
        ----------
        bayan, dayan : ndarray of float, shapes (3,) and (5,)
            What a player who keeps to it does here, as chances.
        kept : float
            Chance that it is kept to; otherwise anything may happen, as anywhere.
        """
        return np.log(kept * (self.bayan @ bayan) * (self.dayan @ dayan) + 1 - kept).astype(np.float32)

    def nothing(self) -> Ratios:
        """Ratio of no stroke on either drum."""
        ratio: Ratios = self.bayan[:, 0] * self.dayan[:, 0]
        return ratio

    def any_of(self, strokes: NDArray[np.float64]) -> Ratios:
        """Ratio of one stroke out of several; ``strokes`` is their chances, shape (3, 5), bayan by dayan."""
        return np.einsum("nb,nd,bd->n", self.bayan, self.dayan, strokes, optimize=True).astype(np.float32)


def strokes_heard(evidence: Evidence, start_s: float, end_s: float) -> StrokesHeard:
    """Likelihood ratios through a section; frame 0 is the one nearest to ``start_s``."""
    hop_s = evidence.stroke_hop_s
    chances = evidence.strokes[max(0, round(start_s / hop_s)) : max(0, round(end_s / hop_s))]
    odds = chances / (1 - np.minimum(chances, 1 - 1e-6)) / TRAINED_ON_MORE
    near = _widened(odds / (1 + odds), hop_s)
    bayan = _ratios(near[:, : len(BAYAN) - 1], hop_s)
    dayan = _ratios(near[:, len(BAYAN) - 1 : len(STROKE_KINDS) - 1], hop_s)
    heard = bool(len(near) and (near[:, : len(STROKE_KINDS) - 1] > AUDIBLE).any())
    return StrokesHeard(hop_s, bayan, dayan, heard)


def _widened(chances: Ratios, hop_s: float) -> Ratios:
    """The best chance within reach of each frame, less the farther it is."""
    from scipy.ndimage import grey_dilation

    if not len(chances):
        return chances
    reach = round(REACH_S / hop_s)
    falloff = -((np.arange(-reach, reach + 1) / (reach + 0.5)) ** 2)[:, None]
    near = grey_dilation(chances, structure=np.repeat(falloff, 1, axis=1).astype(np.float32), mode="nearest")
    return np.clip(near, 0.0, 1.0)


def _ratios(chances: Ratios, hop_s: float) -> Ratios:
    """Chances of each kind to ratios, that of nothing first; shape (n, kinds) to (n, kinds + 1)."""
    from scipy.ndimage import uniform_filter1d

    nothing = np.prod(1 - chances, axis=1, keepdims=True)
    shared = chances * (1 - nothing) / (chances.sum(axis=1, keepdims=True) + 1e-6)
    kinds = np.concatenate([nothing, shared], axis=1)
    kinds = kinds * (1 - LEAST * kinds.shape[1]) + LEAST
    if not len(kinds):
        return kinds
    usual = uniform_filter1d(kinds, max(1, round(SPAN_S / hop_s)), axis=0, mode="nearest")
    return (kinds / usual).astype(np.float32)
