"""What people accept and reject, and how it ranks what follows.

A logistic regression on the finder's confidence and a dozen plain measures (`measured.SAID`). The finder's word stands
against few decisions: on every proposal decided on it has a say as well, with its own confidence, and all of that
together weighs as much as `FINDERS_SAY` decisions. Used only where recordings (or parts of the decisions) that were
left out are ranked no worse, and no less truly, than by the finder alone.

References
----------
A prior as made-up observations, from memory: Bedrick, Christensen, Johnson, "A new perspective on priors for
generalized linear models", Journal of the American Statistical Association 91 (1996) 1450-1460.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from annotate.archive import Archive
from annotate.proposals.decided import Decided, decided_in
from annotate.proposals.measured import SAID, log_odds, said_of, within_doubt
from annotate.proposals.proposed import Found

LEAST_OF_EACH = 8
"""So many accepted and so many rejected there must be before anything is learnt."""
FINDERS_SAY = 20.0
STRENGTH = 0.3
"""The inverse of how strongly weights are held to nothing, for measures in their own standard deviations."""
FREE = 10.0
"""The finder's log odds are made so much greater beforehand that their own weight is hardly held back."""
MOST_PARTS, LEAST_RECORDINGS = 10, 3


@dataclass(frozen=True, eq=False)
class Weights:
    """A logistic regression; k measures.

    Parameters
    ----------
    usual, spread : ndarray of float64, shape (k,)
        Mean and standard deviation of each measure among the decisions.
    weight : ndarray of float64, shape (k,)
        What a standard deviation more of it adds to the log odds.
    of_finder : float
        By what the finder's log odds are multiplied.
    constant : float
    """

    usual: NDArray[np.float64]
    spread: NDArray[np.float64]
    weight: NDArray[np.float64]
    of_finder: float
    constant: float

    def chance(self, confidence: Sequence[float], said: Sequence[Sequence[float]]) -> NDArray[np.float64]:
        """How likely a person is to accept each of n proposals, shape (n,)."""
        measures = (np.asarray(said, np.float64).reshape(len(confidence), len(self.usual)) - self.usual) / self.spread
        odds = self.constant + self.of_finder * np.array([log_odds(each) for each in confidence])
        chance: NDArray[np.float64] = 1 / (1 + np.exp(-(odds + measures @ self.weight)))
        return chance


@dataclass(frozen=True)
class Figures:
    """How decisions are told by weights that have not seen them, beside how the finder alone tells them.

    Parameters
    ----------
    left_out : str
        In words, what was left out in turn.
    order_finder, order_learnt : float
        Of all pairs of an accepted and a rejected one, the share in which the accepted one is ranked higher.
    loss_finder, loss_learnt : float
        Mean negative logarithm of the chance given to what was decided; less is better.
    """

    left_out: str
    order_finder: float
    order_learnt: float
    loss_finder: float
    loss_learnt: float

    @property
    def no_worse(self) -> bool:
        """Whether what was learnt does no harm."""
        return self.order_learnt >= self.order_finder and self.loss_learnt <= self.loss_finder


@dataclass(frozen=True, eq=False)
class Learnt:
    """What was learnt from the decisions of an archive.

    Parameters
    ----------
    decided : tuple of Decided
    weights : Weights or None
        None where there are too few.
    figures : Figures or None
    """

    decided: tuple[Decided, ...]
    weights: Weights | None = None
    figures: Figures | None = None

    @property
    def accepted(self) -> int:
        """How many were accepted."""
        return sum(each.accepted for each in self.decided)

    @property
    def rejected(self) -> int:
        """How many were rejected."""
        return len(self.decided) - self.accepted

    @property
    def is_used(self) -> bool:
        """Whether proposals are ranked by it."""
        return self.figures is not None and self.figures.no_worse

    @property
    def why(self) -> str:
        """In words, whether it is used and why."""
        if self.figures is None:
            return (
                f"Not used yet: {self.accepted} accepted and {self.rejected} rejected; it takes {LEAST_OF_EACH} of "
                "each. Proposals are ranked by what is heard alone."
            )
        if self.is_used:
            return "Used: decisions that were left out are told at least as well with it."
        return "Not used: decisions that were left out are told less well with it than by what is heard alone."

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        weights = None
        if self.weights is not None:
            weights = {"what is heard": self.weights.of_finder} | dict(words_of(self.weights))
        return {
            "used": self.is_used,
            "why": self.why,
            "accepted": self.accepted,
            "rejected": self.rejected,
            "weights": weights,
            "figures": None if self.figures is None else asdict(self.figures),
            "decisions": [
                {
                    "recording": each.recording,
                    "key": each.key,
                    "tihai": each.tihai,
                    "accepted": each.accepted,
                    "confidence": round(each.confidence, 3),
                    "measures": dict(zip(SAID, each.said, strict=True)),
                }
                for each in self.decided
            ],
        }

    def ranked(self, found: Sequence[Found], names: Sequence[str]) -> list[float]:
        """How likely each proposal is to be accepted; the finder's confidence where nothing was learnt that is used."""
        if not self.is_used or self.weights is None or not found:
            return [each.proposal.confidence for each in found]
        confidence = [each.proposal.confidence for each in found]
        chances = self.weights.chance(confidence, [said_of(each, names) for each in found])
        return np.where(np.isnan(chances), confidence, chances).tolist()


def learnt_from(archive: Archive) -> Learnt:
    """Return what was learnt from the decisions of an archive."""
    return learn(decided_in(archive))


@lru_cache(maxsize=4)
def learn(decided: tuple[Decided, ...]) -> Learnt:
    """Learn from decisions; the same ones teach the same."""
    accepted = sum(each.accepted for each in decided)
    if min(accepted, len(decided) - accepted) < LEAST_OF_EACH:
        return Learnt(decided)
    return Learnt(decided, weigh(decided), _figures(decided))


def weigh(decided: Sequence[Decided]) -> Weights:
    """Fit the weights to decisions and the finder's say on them."""
    from sklearn.linear_model import LogisticRegression

    said = np.array([each.said for each in decided], np.float64)
    usual, spread = said.mean(axis=0), said.std(axis=0)
    spread[spread < 1e-6] = 1.0
    heard = np.array([within_doubt(each.confidence) for each in decided])
    odds = np.array([log_odds(each.confidence) for each in decided])
    rows = np.column_stack([FREE * odds, (said - usual) / spread])
    labels = np.array([each.accepted for each in decided], np.int64)
    say = FINDERS_SAY / len(decided)
    model = LogisticRegression(C=STRENGTH, max_iter=1000, tol=1e-6).fit(
        np.concatenate([rows, rows, rows]),
        np.concatenate([labels, np.ones_like(labels), np.zeros_like(labels)]),
        np.concatenate([np.ones(len(labels)), say * heard, say * (1 - heard)]),
    )
    weight = model.coef_[0]
    return Weights(usual, spread, weight[1:], float(weight[0] * FREE), float(model.intercept_[0]))


def words_of(weights: Weights) -> list[tuple[str, float]]:
    """Return what counts, the weightiest first, and by how much a standard deviation of it moves the log odds."""
    return sorted(zip(SAID, weights.weight.tolist(), strict=True), key=lambda each: -abs(each[1]))


def _figures(decided: tuple[Decided, ...]) -> Figures:
    """Tell each decision by what the others teach, a recording left out at a time where there are several."""
    from sklearn.metrics import log_loss, roc_auc_score

    chances = np.zeros(len(decided))
    labels = np.array([each.accepted for each in decided], np.int64)
    parts, left_out = _parts(decided, labels)
    for rest, part in parts:
        weights = weigh([decided[at] for at in rest])
        others = [decided[at] for at in part]
        chances[part] = weights.chance([each.confidence for each in others], [each.said for each in others])
    heard = np.array([within_doubt(each.confidence) for each in decided])
    return Figures(
        left_out,
        float(roc_auc_score(labels, heard)),
        float(roc_auc_score(labels, chances)),
        float(log_loss(labels, heard)),
        float(log_loss(labels, chances)),
    )


def _parts(
    decided: tuple[Decided, ...], labels: NDArray[np.int64]
) -> tuple[Iterable[tuple[NDArray[np.int64], NDArray[np.int64]]], str]:
    """What is learnt from and what is told, in turn, and what is left out in words."""
    from sklearn.model_selection import GroupKFold, StratifiedKFold

    recordings = np.array([each.recording for each in decided])
    count = len(set(recordings))
    if count >= LEAST_RECORDINGS:
        parts = min(count, MOST_PARTS)
        words = "one recording at a time" if parts == count else f"the recordings in {parts} parts, one at a time"
        return GroupKFold(parts).split(labels, labels, recordings), words
    folds = StratifiedKFold(5, shuffle=True, random_state=0)
    return folds.split(labels, labels), "a fifth of the decisions at a time"
