"""Ready-made trackers of a fundamental on the bench's concerts, beside ingest's own.

``python -m benchmarks.melody_trackers [--seeds 1-6] [--cache FOLDER] [--seconds 60]``

Each follows the same stretch of every concert (its middle, where tabla and lead both play), with its own settings but
for the range of pitch, 65 to 1370 Hz, and a frame every 20 ms or so; measured as `benchmarks.melody` does. Wanted
besides: ``pip install -c constraints.txt -e '.[trackers]'``.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from benchmarks.concerts.render import parse_seeds, rendered
from benchmarks.installed import require_sounds
from benchmarks.melody import MELODY_COLUMNS, Times, melody_scores
from ingest.decode import WORK_RATE_HZ, mono_blocks
from ingest.melody import melody_of_blocks
from ingest.swaras_heard import VOICED

LOWEST_HZ, HIGHEST_HZ = 65.0, 1370.0
HOP = 441
SURE_OF_SWIFT = 0.5  # its own writer's default
Followed = tuple[Times, Times, NDArray[np.bool_]]
"""Times of frames, pitch in Hz of all of them, and which are judged to sound."""


def by_ingest(sound: NDArray[np.float32]) -> Followed:
    """This project's own."""
    found = melody_of_blocks([sound])
    times_s = np.arange(len(found.voicing)) * found.hop_s
    return times_s, found.fundamental_hz.astype(float), found.voicing >= VOICED


def by_yin(sound: NDArray[np.float32]) -> Followed:
    """librosa.yin (A. de Cheveigne, H. Kawahara, 2002): it judges no voicing, all frames sound."""
    import librosa

    hz = librosa.yin(sound, fmin=LOWEST_HZ, fmax=HIGHEST_HZ, sr=WORK_RATE_HZ, hop_length=HOP)
    return np.arange(len(hz)) * HOP / WORK_RATE_HZ, hz, np.ones(len(hz), bool)


def by_pyin(sound: NDArray[np.float32]) -> Followed:
    """librosa.pyin (M. Mauch, S. Dixon, 2014)."""
    import librosa

    hz, voiced, _ = librosa.pyin(sound, fmin=LOWEST_HZ, fmax=HIGHEST_HZ, sr=WORK_RATE_HZ, hop_length=HOP, fill_na=None)
    return np.arange(len(hz)) * HOP / WORK_RATE_HZ, hz, voiced


def by_swift_f0(sound: NDArray[np.float32]) -> Followed:
    """swift-f0 (MIT), a small neural network made for speech and music."""
    from swift_f0 import SwiftF0

    found = SwiftF0(threads=1).detect(sound, WORK_RATE_HZ, LOWEST_HZ, HIGHEST_HZ)
    hz = np.nan_to_num(np.asarray(found.pitch_hz, dtype=float), nan=LOWEST_HZ)
    return np.asarray(found.timestamps, dtype=float), hz, np.asarray(found.confidence, dtype=float) >= SURE_OF_SWIFT


TRACKERS: dict[str, Callable[[NDArray[np.float32]], Followed]] = {
    "ingest": by_ingest,
    "yin": by_yin,
    "pyin": by_pyin,
    "swift-f0": by_swift_f0,
}


def main(arguments: Sequence[str] | None = None) -> None:
    """Render what is not yet rendered, measure, print."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.melody_trackers", description=__doc__.split("\n")[0])
    parser.add_argument("--seeds", type=parse_seeds, default=parse_seeds("1-6"), help="such as 1-6 or 101,103")
    parser.add_argument("--cache", type=Path, help="folder that keeps rendered concerts (default: a temporary one)")
    parser.add_argument("--seconds", type=float, default=60.0, help="length of the stretch (default 60)")
    options = parser.parse_args(arguments)
    require_sounds()
    rows: dict[str, list[tuple[float, ...]]] = {name: [] for name in TRACKERS}
    with tempfile.TemporaryDirectory() as temporary:
        for seed in options.seeds:
            path, truth = rendered(seed, options.cache or Path(temporary))
            sound = np.concatenate(list(mono_blocks(path, WORK_RATE_HZ)))
            begin_s = max(0.0, truth.duration_s / 2 - options.seconds / 2)
            part = sound[int(begin_s * WORK_RATE_HZ) : int((begin_s + options.seconds) * WORK_RATE_HZ)]
            for name, follow in TRACKERS.items():
                began_s = time.perf_counter()
                times_s, hz, voiced = follow(part)
                speed = len(part) / WORK_RATE_HZ / (time.perf_counter() - began_s)
                rows[name].append((*melody_scores(times_s + begin_s, hz, voiced, truth), speed))
    print("tracker   " + "  ".join((*MELODY_COLUMNS, "times real time")))
    for name, scores in rows.items():
        means = np.mean(scores, axis=0)
        cells = (f"{mean:{len(column)}.2f}" for mean, column in zip(means, MELODY_COLUMNS, strict=False))
        print(f"{name:8s}  " + "  ".join(cells) + f"  {means[-1]:15.0f}", flush=True)


if __name__ == "__main__":
    main()
