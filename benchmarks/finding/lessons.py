"""What the finder learns from: sections of rendered concerts, looked at as the finder does.

Every look is told by what was learnt of the look before. So that no tree learns from what another one knew of the same
concert, concerts are dealt into folds, and each is looked at by trees that were learnt on the others.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from sklearn.ensemble import HistGradientBoostingClassifier

from benchmarks.finding.heard import HeardSection
from benchmarks.finding.models import as_trees, fitted
from ingest.finding.close_look import Looked, look_at
from ingest.finding.company import company
from ingest.finding.mukhra import find_mukhra
from ingest.finding.scan import scan
from ingest.finding.sieve import SEEDS_A_MINUTE, SIFTED_A_MINUTE, FirstLook
from ingest.finding.trees import Trees

FOLDS = 3
SAID_THRICE = ("tihai", "chakradar", "nauhakka", "misses")
"""What the sieve is to let through: where it lands is for the close look to tell."""
WRONG_KEPT = 0.08
"""Share of the wrong places that the sieve learns from: there are thousands for each right one."""
OF_SIEVE = {"max_iter": 150, "learning_rate": 0.08, "max_leaf_nodes": 16, "min_samples_leaf": 40,
            "l2_regularization": 5.0}  # fmt: skip


@dataclass(frozen=True, eq=False)
class Lesson:
    """A section looked at, and which place is which event (-1: none)."""

    section: HeardSection
    looked: Looked
    event: NDArray[np.int64]

    @property
    def is_tihai(self) -> NDArray[np.bool_]:
        """Which places are the landing of a tihai that lands."""
        true = np.array([event.is_tihai for event in self.section.events] + [False])
        return true[self.event]


def first_look(section: HeardSection) -> FirstLook:
    """The first look at a section."""
    return FirstLook(section.lattice, scan(section.lattice), find_mukhra(section.lattice))


def events_at(section: HeardSection, landing: NDArray[np.int64], spacing: NDArray[np.int64]) -> NDArray[np.int64]:
    """Which event each place is, -1 for none."""
    event = np.full(len(landing), -1, np.int64)
    for number, each in enumerate(section.events):
        event[section.matching(each, landing, spacing)] = number
    return event


def sieve_rows(section: HeardSection) -> tuple[NDArray[np.float32], NDArray[np.bool_]]:
    """What the sieve learns from in a section: measures of places, and whether something is said thrice there."""
    first = first_look(section)
    spacing_at, landing_at = first.scanned.seeds(first.a_minute(SEEDS_A_MINUTE))
    event = events_at(section, first.scanned.landings[landing_at], first.scanned.spacings[spacing_at])
    right = np.array([each.what in SAID_THRICE for each in section.events] + [False])[event]
    kept = right | (np.random.default_rng(section.seed).random(len(right)) < WRONG_KEPT)
    return first.measured(spacing_at[kept], landing_at[kept]), right[kept]


def lesson(section: HeardSection, sieve: Trees) -> Lesson:
    """Look at a section as the finder does."""
    first = first_look(section)
    looked = look_at(first, *first.sifted(sieve, first.a_minute(SIFTED_A_MINUTE)))
    return Lesson(section, looked, events_at(section, looked.landing, looked.spacing))


def lessons_of(sections: Sequence[HeardSection]) -> tuple[list[Lesson], HistGradientBoostingClassifier]:
    """Sections looked at, each sifted by a sieve that has not seen its concert, and the sieve learnt on all."""
    rows = [sieve_rows(section) for section in sections]
    fold = folds_of(np.array([section.seed for section in sections]))

    def learnt(kept: NDArray[np.bool_]) -> HistGradientBoostingClassifier:
        chosen = [each for each, keep in zip(rows, kept, strict=True) if keep]
        return fitted(np.concatenate([r for r, _ in chosen]), np.concatenate([y for _, y in chosen]), OF_SIEVE)

    sieves = [as_trees(learnt(fold != number)) for number in range(FOLDS)]
    lessons = [lesson(section, sieves[number]) for section, number in zip(sections, fold, strict=True)]
    return lessons, learnt(np.ones(len(sections), bool))


def folds_of(seeds: NDArray[Any]) -> NDArray[np.int64]:
    """The fold of each concert, drawn: talas follow from the seeds, and each fold is to hold all of them."""
    known, number = np.unique(seeds, return_inverse=True)
    drawn = np.random.default_rng(len(known)).permutation(len(known)) % FOLDS
    fold: NDArray[np.int64] = drawn[number]
    return fold


def unseen(
    rows: NDArray[Any], labels: NDArray[Any], seeds: NDArray[Any], settings: dict[str, Any]
) -> NDArray[np.float64]:
    """Chances by models that have not seen the concert they judge."""
    classes = len(np.unique(labels))
    chances = np.zeros((len(labels), classes))
    fold = folds_of(seeds)
    for number in range(FOLDS):
        left_out = fold == number
        chances[left_out] = fitted(rows[~left_out], labels[~left_out], settings).predict_proba(rows[left_out])
    return chances[:, 1] if classes == 2 else chances


@dataclass(frozen=True, eq=False)
class Among:
    """Places that are judged again, of all lessons.

    Parameters
    ----------
    at : ndarray of int64, shape (k,)
        Their numbers among the places of all lessons.
    rows : ndarray of float32, shape (k, m)
        What the close look measures, and the company.
    """

    at: NDArray[np.int64]
    rows: NDArray[np.float32]


def among(lessons: Sequence[Lesson], chances: NDArray[np.float64]) -> Among:
    """Hold the likely places of every section against the others of it.

    Parameters
    ----------
    lessons : sequence of Lesson
    chances : ndarray of float64
        Of the places of all lessons, by trees that have not seen their concerts.
    """
    kept, rows, begin = [], [], 0
    for each in lessons:
        part = np.clip(chances[begin : begin + len(each.event)], 1e-12, 1 - 1e-12)
        at, measures = company(each.looked, np.log(part / (1 - part)), each.section.lattice.parts)
        kept.append(begin + at)
        rows.append(np.concatenate([each.looked.measures[at], measures], axis=1))
        begin += len(each.event)
    return Among(np.concatenate(kept), np.concatenate(rows))
