"""How well ingest follows the melody, on rendered concerts with the exact fundamental.

``python -m benchmarks.melody [--seeds 1-6] [--cache FOLDER]``

Of the frames in which the lead sounds, the share whose cents are within 50 of the truth, and the same with octaves left
aside; how many times faster than the recording plays it was. The true Sa is handed over.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from benchmarks.concerts.render import parse_seeds, rendered
from benchmarks.concerts.truth import MELODY_HOP_S, Truth
from benchmarks.installed import require_sounds
from ingest.melody import Melody, melody

NEAR_CENTS = 50


def shares_near(found: Melody, truth: Truth) -> tuple[float, float]:
    """Share of truly voiced frames within 50 cents, and with octaves left aside."""
    true_hz = np.array(truth.melody_hz)
    frame = np.rint(np.arange(len(found.cents)) * found.hop_s / MELODY_HOP_S).astype(int)
    inside = frame < len(true_hz)
    hz, cents = true_hz[frame[inside]], found.cents[inside]
    away = cents[hz > 0] - 1200 * np.log2(hz[hz > 0] / truth.sa_hz)
    folded = (away + 600) % 1200 - 600
    return float(np.mean(np.abs(away) <= NEAR_CENTS)), float(np.mean(np.abs(folded) <= NEAR_CENTS))


def main(arguments: Sequence[str] | None = None) -> None:
    """Render what is not yet rendered, measure, print."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.melody", description=__doc__.split("\n")[0])
    parser.add_argument("--seeds", type=parse_seeds, default=parse_seeds("1-6"), help="such as 1-6 or 101,103")
    parser.add_argument("--cache", type=Path, help="folder that keeps rendered concerts (default: a temporary one)")
    options = parser.parse_args(arguments)
    require_sounds()
    rows = []
    print("concert  within 50 cents  octaves aside  times real time")
    with tempfile.TemporaryDirectory() as temporary:
        for seed in options.seeds:
            path, truth = rendered(seed, options.cache or Path(temporary))
            began_s = time.perf_counter()
            found = melody(path, truth.sa_hz)
            speed = truth.duration_s / (time.perf_counter() - began_s)
            rows.append((*shares_near(found, truth), speed))
            print(f"{seed:7d}  {rows[-1][0]:15.2f}  {rows[-1][1]:13.2f}  {speed:15.0f}", flush=True)
    near, folded, speed = np.mean(rows, axis=0)
    print(f"   mean  {near:15.2f}  {folded:13.2f}  {speed:15.0f}")


if __name__ == "__main__":
    main()
