"""Learn from rendered concerts what `ingest.finding.judge` knows, and write it into ``ingest/data/finding.npz``.

``python -m benchmarks.finding.learn --seeds 1-225 --cache FOLDER`` (about half a minute a concert when they have to be
rendered first). The figures of the learning, each concert judged by trees that have not seen it, are printed and kept
in ``finding.json`` beside the trees.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from fractions import Fraction
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from rich.progress import track
from sklearn.isotonic import IsotonicRegression

import ingest
from benchmarks.concerts.render import parse_seeds
from benchmarks.finding.heard import HeardSection, heard, ticks
from benchmarks.finding.lessons import Lesson, among, lessons_of, unseen
from benchmarks.finding.models import as_trees, fitted
from benchmarks.installed import require_sounds
from ingest.finding.close_look import NAMES, VIEWS
from ingest.finding.company import OF_COMPANY
from ingest.finding.judge import SHARE_COLUMNS
from ingest.finding.palla_start import lengths_of, measure_lengths
from ingest.finding.sieve import FIRST

OF_TIHAI = {"max_iter": 800, "learning_rate": 0.04, "max_leaf_nodes": 6, "min_samples_leaf": 30,
            "l2_regularization": 10.0, "max_features": 0.2}  # fmt: skip
OF_AMONG = OF_TIHAI | {"max_iter": 200}
PLAYERS = {"tabla": 0, "melody": 1, "both": 2}
OF_PLAYER = {"max_iter": 80, "learning_rate": 0.07, "max_leaf_nodes": 8, "min_samples_leaf": 8, "max_features": 0.3}
OF_PALLA = {"max_iter": 160, "learning_rate": 0.07, "max_leaf_nodes": 12, "min_samples_leaf": 15, "max_features": 0.5}
SAME_LENGTH_TICKS = 0.6


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
    parser.add_argument("--seeds", type=parse_seeds, default=parse_seeds("1-225"), help="such as 1-225 or 1,3")
    parser.add_argument("--cache", type=Path, required=True, help="folder that keeps rendered concerts")
    options = parser.parse_args(arguments)
    require_sounds()
    sections = [
        section for seed in track(options.seeds, "concerts", transient=True) for section in heard(seed, options.cache)
    ]
    figures = learn(sections)
    print(
        json.dumps(
            {key: each for key, each in figures.items() if not isinstance(each, list) or key == "seeds"}, indent=1
        )
    )


def learn(sections: Sequence[HeardSection]) -> dict[str, Any]:
    """Learn from sections, write what was learnt, and give its figures."""
    lessons, sieve = lessons_of(sections)
    rows = np.concatenate([each.looked.measures for each in lessons])
    labels = np.concatenate([each.is_tihai for each in lessons])
    seeds = np.concatenate([np.full(len(each.event), each.section.seed) for each in lessons])
    again = among(lessons, unseen(rows, labels, seeds, OF_TIHAI))
    chances = np.zeros(len(labels))
    chances[again.at] = unseen(again.rows, labels[again.at], seeds[again.at], OF_AMONG)
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
        "of the first look": list(FIRST),
        "among the others": list(OF_COMPANY),
        "players": list(VIEWS),
        "scikit-learn": version("scikit-learn"),
    }
    models = {
        "sieve": sieve,
        "among": fitted(again.rows, labels[again.at], OF_AMONG),
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
