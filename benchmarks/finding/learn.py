"""Learn from rendered concerts what `ingest.finding.judge` knows, and write it into ``ingest/data/finding.npz``.

``python -m benchmarks.finding.learn --seeds 1-150 --cache FOLDER`` (about half a minute a concert when they have to be
rendered first). The figures of the learning, each concert judged by trees that have not seen it, are printed and kept
in ``finding.json`` beside the trees.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from rich.progress import track
from sklearn.ensemble import HistGradientBoostingClassifier
from sklearn.isotonic import IsotonicRegression

import ingest
from benchmarks.concerts.render import parse_seeds
from benchmarks.finding.heard import HeardSection, heard, ticks
from benchmarks.installed import require_sounds
from ingest.finding.close_look import NAMES, VIEWS, Looked, look
from ingest.finding.judge import SHARE_COLUMNS
from ingest.finding.mukhra import find_mukhra
from ingest.finding.palla_start import lengths_of, measure_lengths
from ingest.finding.scan import SEEDS_A_MINUTE, scan
from ingest.finding.trees import NO_CHILD, Trees

FOLDS = 3
PLAYERS = {"tabla": 0, "melody": 1, "both": 2}
OF_TIHAI = {"max_iter": 400, "learning_rate": 0.04, "max_leaf_nodes": 10, "min_samples_leaf": 30,
            "l2_regularization": 10.0, "max_features": 0.2}  # fmt: skip
OF_PLAYER = {"max_iter": 80, "learning_rate": 0.07, "max_leaf_nodes": 8, "min_samples_leaf": 8, "max_features": 0.3}
OF_PALLA = {"max_iter": 160, "learning_rate": 0.07, "max_leaf_nodes": 12, "min_samples_leaf": 15, "max_features": 0.5}
SAME_LENGTH_TICKS = 0.6


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


def lesson(section: HeardSection) -> Lesson:
    """Look at a section as the finder does."""
    lattice = section.lattice
    minutes = (lattice.time_s[-1] - lattice.time_s[0]) / 60
    looked = look(lattice, scan(lattice), find_mukhra(lattice), int(SEEDS_A_MINUTE * minutes))
    event = np.full(len(looked.landing), -1, np.int64)
    for number, each in enumerate(section.events):
        event[section.matching(each, looked.landing, looked.spacing)] = number
    return Lesson(section, looked, event)


def as_trees(model: HistGradientBoostingClassifier) -> Trees:
    """The trees of a model as plain arrays; that they say the same is tested."""
    parts: list[Any] = []
    root, output, first = [], [], 0
    for several in model._predictors:
        for number, predictor in enumerate(several):
            nodes = predictor.nodes
            root.append(first)
            output.append(number)
            leaf = nodes["is_leaf"] > 0
            children = [np.where(leaf, NO_CHILD, nodes[side].astype(np.int64) + first) for side in ("left", "right")]
            parts.append((nodes["feature_idx"], nodes["num_threshold"], *children, np.where(leaf, nodes["value"], 0.0)))
            first += len(nodes)
    column, limit, left, right, value = (np.concatenate(each) for each in zip(*parts, strict=True))
    return Trees(
        column.astype(np.int32), limit.astype(np.float64), left.astype(np.int32), right.astype(np.int32), value,
        np.array(root, np.int32), np.array(output, np.int32), np.asarray(model._baseline_prediction, float).ravel(),
    )  # fmt: skip


def fitted(rows: NDArray[Any], labels: NDArray[Any], settings: dict[str, Any]) -> HistGradientBoostingClassifier:
    """A model of its settings, the same every time."""
    return HistGradientBoostingClassifier(random_state=0, early_stopping=False, **settings).fit(rows, labels)


def unseen(
    rows: NDArray[Any], labels: NDArray[Any], seeds: NDArray[Any], settings: dict[str, Any]
) -> NDArray[np.float64]:
    """Chances by models that have not seen the concert they judge."""
    classes = len(np.unique(labels))
    chances = np.zeros((len(labels), classes))
    numbers = np.unique(seeds, return_inverse=True)[1]
    for fold in range(FOLDS):
        left_out = numbers % FOLDS == fold
        chances[left_out] = fitted(rows[~left_out], labels[~left_out], settings).predict_proba(rows[left_out])
    return chances[:, 1] if classes == 2 else chances


def palla_rows(
    lessons: Sequence[Lesson], by: Sequence[NDArray[np.float64]], places: Sequence[tuple[int, int]]
) -> tuple[NDArray[np.float32], NDArray[np.bool_], NDArray[np.int64]]:
    """Measures of every length of every true palla, whether it is the right one, and which palla it is."""
    rows, right, number = [], [], []
    for place, ((which, at), chances) in enumerate(zip(places, by, strict=True)):
        looked, section = lessons[which].looked, lessons[which].section
        lengths = lengths_of(section.lattice, int(looked.spacing[at]))
        measured = measure_lengths(
            section.lattice, int(looked.landing[at]), int(looked.spacing[at]), lengths, chances,
            looked.measures[at, SHARE_COLUMNS],
        )  # fmt: skip
        event = section.events[lessons[which].event[at]]
        rows.append(measured)
        right.append(np.abs(lengths - ticks(Fraction(event.palla), section.lattice)) < SAME_LENGTH_TICKS)
        number.append(np.full(len(lengths), place))
    return np.concatenate(rows), np.concatenate(right), np.concatenate(number)


def main(arguments: Sequence[str] | None = None) -> None:
    """Learn and write."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.finding.learn", description=__doc__.split("\n")[0])
    parser.add_argument("--seeds", type=parse_seeds, default=parse_seeds("1-150"), help="such as 1-150 or 1,3")
    parser.add_argument("--cache", type=Path, required=True, help="folder that keeps rendered concerts")
    options = parser.parse_args(arguments)
    require_sounds()
    lessons = [
        lesson(section)
        for seed in track(options.seeds, "concerts", transient=True)
        for section in heard(seed, options.cache)
    ]
    figures = learn(lessons)
    print(json.dumps({key: each for key, each in figures.items() if key != "measures"}, indent=1))


def learn(lessons: Sequence[Lesson]) -> dict[str, Any]:
    """Learn from lessons, write what was learnt, and give its figures."""
    rows = np.concatenate([each.looked.measures for each in lessons])
    labels = np.concatenate([each.is_tihai for each in lessons])
    seeds = np.concatenate([np.full(len(each.event), each.section.seed) for each in lessons])
    chances = unseen(rows, labels, seeds, OF_TIHAI)
    calibration = _calibration(lessons, chances)
    places = [
        (which, int(np.flatnonzero(each.event == number)[0]))
        for which, each in enumerate(lessons)
        for number in range(len(each.section.events))
        if number in each.event and each.section.events[number].what in ("tihai", "chakradar", "nauhakka", "misses")
    ]
    player_rows = np.stack([lessons[which].looked.measures[at] for which, at in places])
    player = np.array([PLAYERS[lessons[w].section.events[lessons[w].event[at]].by] for w, at in places])
    of_seed = np.array([lessons[which].section.seed for which, _ in places])
    by = unseen(player_rows, player, of_seed, OF_PLAYER)
    lengths, right, number = palla_rows(lessons, list(by), places)
    chosen = unseen(lengths, right, of_seed[number], OF_PALLA)
    exact = [right[number == place][chosen[number == place].argmax()] for place in range(len(places))]
    figures = {
        "seeds": sorted({each.section.seed for each in lessons}),
        "places": len(labels),
        "tihais among them": len({(w, e) for w, each in enumerate(lessons) for e in set(each.event[each.is_tihai])}),
        "tihais": sum(event.is_tihai for each in lessons for event in each.section.events),
        "player right": round(float((by.argmax(axis=1) == player).mean()), 3),
        "palla exact where landing and spacing are": round(float(np.mean(exact)), 3),
        "measures": list(NAMES),
        "players": list(VIEWS),
        "scikit-learn": version("scikit-learn"),
    }
    models = {
        "tihai": fitted(rows, labels, OF_TIHAI),
        "player": fitted(player_rows, player, OF_PLAYER),
        "palla": fitted(lengths, right, OF_PALLA),
    }
    arrays = {key: array for name, model in models.items() for key, array in as_trees(model).arrays(name).items()}
    folder = Path(ingest.__file__).parent / "data"
    np.savez_compressed(folder / "finding.npz", told=calibration[0], turned_out=calibration[1], **arrays)
    (folder / "finding.json").write_text(json.dumps(figures, indent=1) + "\n", encoding="utf-8")
    return figures


def _calibration(lessons: Sequence[Lesson], chances: NDArray[np.float64]) -> tuple[NDArray[np.float64], ...]:
    """Chances, and how they turn out among the places that stand above those that overlap them."""
    told, right, begin = [], [], 0
    for each in lessons:
        part = chances[begin : begin + len(each.event)]
        begin += len(each.event)
        for at in each.looked.apart(part):
            told.append(part[at])
            right.append(each.is_tihai[at])
    grid = np.unique(np.quantile(told, np.linspace(0, 1, 25)))
    grid = np.unique(np.concatenate([[0.0], grid, [1.0]]))
    isotonic = IsotonicRegression(y_min=0.0, y_max=1.0, out_of_bounds="clip").fit(told, np.array(right, float))
    return grid, isotonic.predict(grid)


if __name__ == "__main__":
    main()
