"""How well ingest follows the melody and drafts its notation, on rendered concerts with the exact truth.

``python -m benchmarks.melody [--seeds 1-6] [--cache FOLDER] [--no-draft]``

A table per concert and the means:

* by mir_eval's melody measures (50 cents): raw pitch and raw chroma accuracy (of the frames in which the lead sounds,
  the share within 50 cents, octaves told apart or not; voicing left aside), voicing recall and false alarm, overall
  accuracy; how many times faster than the recording plays it was;
* of the draft, on the true matras, with the Sa's octave chosen as the commands do: of the sixteenth parts of a matra
  (fewer where they would be shorter than 0.09 s) the share with the swara that sounds longest in truth, silence being
  one of them; how often a note begins where one was plucked (F at +-70 ms).
"""

from __future__ import annotations

import argparse
import tempfile
import time
import warnings
from bisect import bisect_left
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import mir_eval
import numpy as np
from numpy.typing import NDArray

from annotate.swaras import raga_swaras
from benchmarks.concerts.render import parse_seeds, rendered
from benchmarks.concerts.truth import MELODY_HOP_S, SectionTruth, Truth
from benchmarks.installed import require_sounds
from ingest.draft import DIVISIONS, SHORTEST_PART_S, Draft, draft
from ingest.measure import measure
from ingest.melody import Melody, melody
from ingest.onset_times import onset_times
from ingest.swaras_heard import SILENT, VOICED, middle_sa_hz
from theory.swaras import semitones_of

NEAR_CENTS, START_WINDOW_S = 50, 0.07
MELODY_COLUMNS = ("raw pitch", "raw chroma", "recall", "false alarm", "overall")
DRAFT_COLUMNS = ("parts right", "starts F", "Sa's octave")

Times = NDArray[np.float64]


def true_hz_at(truth: Truth, times_s: Times) -> Times:
    """The lead's fundamental at some times, 0 where it is silent."""
    hz = np.array(truth.melody_hz)
    frames = np.rint(times_s / MELODY_HOP_S).astype(int)
    return np.where(frames < len(hz), hz[np.minimum(frames, len(hz) - 1)], 0.0)


def melody_scores(times_s: Times, found_hz: Times, voiced: NDArray[np.bool_], truth: Truth) -> tuple[float, ...]:
    """The measures of `MELODY_COLUMNS` by mir_eval.

    Parameters
    ----------
    times_s, found_hz : ndarray of float64, shape (n,)
        Frames and what was found in them, voiced or not.
    voiced : ndarray of bool, shape (n,)
    truth : Truth
    """
    found = np.where(voiced, found_hz, -found_hz)  # mir_eval: a pitch below 0 is one that is judged to be silent
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # mir_eval warns of silence at the start
        scores = mir_eval.melody.evaluate(
            times_s, true_hz_at(truth, times_s), times_s, found, cent_tolerance=NEAR_CENTS
        )
    names = ("Raw Pitch Accuracy", "Raw Chroma Accuracy", "Voicing Recall", "Voicing False Alarm", "Overall Accuracy")
    return tuple(float(scores[name]) for name in names)


def draft_scores(found: Melody, truth: Truth, onsets_s: Times) -> tuple[float, ...]:
    """The measures of `DRAFT_COLUMNS`."""
    sa_hz = middle_sa_hz(found, truth.sa_hz)
    raga = raga_swaras(truth.plan["raga"])
    right, parts, drafted_s = 0, 0, []
    plucked_s: list[float] = []
    for section in truth.with_tala:
        matra_s = np.array(section.matra_s)
        drafted = draft(found, sa_hz, matra_s, raga, onsets_s)
        starts = np.array([float(each.note.onset) for each in drafted.notes])
        drafted_s += np.interp(starts, np.arange(len(matra_s)), matra_s).tolist()
        plucked_s += [at for at in truth.pluck_s if matra_s[0] - START_WINDOW_S <= at < matra_s[-1] - START_WINDOW_S]
        good, of = _parts_right(drafted, section, truth)
        right, parts = right + good, parts + of
    starts_f = mir_eval.onset.f_measure(np.array(plucked_s), np.array(drafted_s), window=START_WINDOW_S)[0]
    return right / parts, float(starts_f), float(np.log2(sa_hz / truth.sa_hz))


def _parts_right(drafted: Draft, section: SectionTruth, truth: Truth) -> tuple[int, int]:
    """Parts in which the draft has the swara that sounds longest in truth, and all parts."""
    matra_s = np.array(section.matra_s)
    finest = [max(n for n in DIVISIONS if n == 1 or s / n >= SHORTEST_PART_S) for s in np.diff(matra_s)]
    places = [matra + Fraction(part, count) for matra, count in enumerate(finest) for part in range(count)]
    edges_s = np.interp([*map(float, places), len(finest)], np.arange(len(matra_s)), matra_s)
    written = np.full(len(places), SILENT)
    for each in drafted.notes:
        first, last = bisect_left(places, each.note.onset), bisect_left(places, each.note.end)
        written[first:last] = semitones_of(each.note.symbol)
    heard = [_longest(truth, start_s, end_s) for start_s, end_s in pairwise(edges_s)]
    return int(np.sum(written == np.array(heard))), len(places)


def _longest(truth: Truth, start_s: float, end_s: float) -> int:
    """The swara that sounds longest in truth, in semitones from Sa; `SILENT` where it is silence."""
    hz = true_hz_at(truth, np.arange(start_s, end_s, MELODY_HOP_S))
    semitones = np.where(hz > 0, np.rint(12 * np.log2(np.maximum(hz, 1) / truth.sa_hz)), SILENT).astype(int)
    values, counts = np.unique(semitones, return_counts=True)
    return int(values[counts.argmax()])


def main(arguments: Sequence[str] | None = None) -> None:
    """Render what is not yet rendered, measure, print."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.melody", description=__doc__.split("\n")[0])
    parser.add_argument("--seeds", type=parse_seeds, default=parse_seeds("1-6"), help="such as 1-6 or 101,103")
    parser.add_argument("--cache", type=Path, help="folder that keeps rendered concerts (default: a temporary one)")
    parser.add_argument("--no-draft", action="store_true", help="the melody alone")
    options = parser.parse_args(arguments)
    require_sounds()
    columns = (*MELODY_COLUMNS, "times real time", *(() if options.no_draft else DRAFT_COLUMNS))
    rows = []
    print("concert  " + "  ".join(columns))
    with tempfile.TemporaryDirectory() as temporary:
        for seed in options.seeds:
            path, truth = rendered(seed, options.cache or Path(temporary))
            began_s = time.perf_counter()
            found = melody(path)
            speed = truth.duration_s / (time.perf_counter() - began_s)
            times_s = np.arange(len(found.voicing)) * found.hop_s
            row = [*melody_scores(times_s, found.fundamental_hz.astype(float), found.voicing >= VOICED, truth), speed]
            if not options.no_draft:
                row += draft_scores(found, truth, onset_times(measure(path)))
            rows.append(row)
            _print_row(f"{seed:7d}", row, columns)
    _print_row("   mean", np.mean(rows, axis=0).tolist(), columns)


def _print_row(head: str, row: Sequence[float], columns: Sequence[str]) -> None:
    cells = (f"{value:{len(name)}.{0 if value > 2 else 3}f}" for value, name in zip(row, columns, strict=True))
    print(head + "  " + "  ".join(cells), flush=True)


if __name__ == "__main__":
    main()
