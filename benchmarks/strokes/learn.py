"""Learn the weights of `ingest.stroke_chances`; say how well the cycle is followed with strokes never heard before.

``python -m benchmarks.strokes.learn --cache FOLDER [--write FILE] [--synthetic-only]``

The lessons are rendered into the folder first (about 12 s of work each). With ``--synthetic-only`` nothing recorded
is learnt from, so that the bench, which plays the recorded pair, shows what becomes of a pair never heard before.
The network is scikit-learn's multi-layer perceptron.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from rich.progress import track
from scipy.ndimage import binary_dilation
from sklearn.neural_network import MLPClassifier

from benchmarks.strokes.material import SEEDS, Lesson, lesson
from benchmarks.strokes.pairs import is_synthetic
from ingest.onsets import HOP_S
from ingest.stroke_chances import OFFSETS, STROKE_KINDS, evened

HIDDEN, ROUNDS, SEED = 80, 14, 0
NEAR, GREY = 5, 2  # frames around a stroke that are all taken, and those beside it of which nothing is asked
QUIET_PER_STROKE = 1.5  # frames taken far from any stroke, per frame with one


def main(arguments: Sequence[str] | None = None) -> None:
    """Learn and write."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.strokes.learn", description=__doc__.split("\n")[0])
    parser.add_argument("--cache", type=Path, required=True, help="folder that keeps the lessons")
    parser.add_argument("--write", type=Path, help="where to write the weights, such as ingest/data/stroke_network.npz")
    parser.add_argument("--synthetic-only", action="store_true", help="learn from synthetic pairs alone")
    options = parser.parse_args(arguments)
    seeds = [seed for seed in SEEDS if is_synthetic(seed) or not options.synthetic_only]
    rng = np.random.default_rng(SEED)
    rows, wanted = [], []
    for seed in track(seeds, "lessons"):
        seen, told = examples(lesson(seed, options.cache), rng)
        rows.append(seen)
        wanted.append(told)
    network = MLPClassifier(
        (HIDDEN,), alpha=1e-3, batch_size=256, learning_rate_init=1e-3, max_iter=ROUNDS, random_state=SEED, verbose=True
    )
    network.fit(np.concatenate(rows), np.concatenate(wanted))
    if options.write:
        (into, out), (into_bias, out_bias) = network.coefs_, network.intercepts_
        np.savez_compressed(
            options.write, into=into.astype(np.float16), into_bias=into_bias.astype(np.float32),
            out=out.astype(np.float32), out_bias=out_bias.astype(np.float32),
        )  # fmt: skip


def examples(of: Lesson, rng: np.random.Generator) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """What is seen, shape (k, offsets * bands), and what is there, shape (k, 7): all strokes, and some of the rest."""
    there = targets(of)
    struck = there.any(axis=1)
    near = binary_dilation(struck, iterations=NEAR)
    grey = binary_dilation(struck, iterations=GREY) & ~struck
    quiet = np.flatnonzero(~near)
    some = min(len(quiet), int(struck.sum() * QUIET_PER_STROKE))
    taken = np.concatenate(
        [np.flatnonzero(struck), np.flatnonzero(near & ~struck & ~grey), rng.choice(quiet, some, replace=False)]
    )
    even = evened(of.bands.astype(np.float32))
    around = np.clip(taken[:, None] + OFFSETS, 0, len(even) - 1)
    return even[around].reshape(len(taken), -1), there[taken]


def targets(of: Lesson) -> NDArray[np.float32]:
    """1 at the frame of a stroke and beside it, by kind; shape (n, 7)."""
    there = np.zeros((len(of.bands), len(STROKE_KINDS)), np.float32)

    def mark(times_s: NDArray[np.float64], kind: int) -> None:
        for frame in np.rint(times_s / HOP_S).astype(int):
            there[max(0, frame - 1) : frame + 2, kind] = 1.0

    for code in (1, 2):
        mark(of.stroke_s[of.bayan == code], code - 1)
    for code in (1, 2, 3, 4):
        mark(of.stroke_s[of.dayan == code], code + 1)
    mark(of.pluck_s, STROKE_KINDS.index("pluck"))
    return there


if __name__ == "__main__":
    main()
