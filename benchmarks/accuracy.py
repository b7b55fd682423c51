"""How well ingest hears the cycle, on rendered concerts with exact truth: by section, by concert, and the mean.

``python -m benchmarks.accuracy [--seeds 1-6] [--cache FOLDER] [--json FILE] [--no-baseline]``

Every section is handed over with its true limits and tala, so that only the following of the cycle is judged; the
stretches with tabla, Sa and onsets are judged on the whole recording. Measures (mir_eval 0.8):

* matra, sam: F-measure at +-70 ms; "2 marks": sams again after the section's first two sams were marked (for these the
  marked ones count as found, as they do for a person who corrects).
* Sa: cents from the truth, modulo the octave. Edges: the worst distance from a true beginning or end of a stretch with
  tabla to the nearest one found, in seconds; and how many edges were found for how many true.
* onsets: F-measure at +-25 ms, of strokes and plucks together; those within 30 ms of each other count as one.
* librosa: its beat tracker on the section's sound, every M-th beat from the first taken for sam.
* laya: how many matras were found per true matra, to the nearest simple ratio.

Tune on seeds 1-6, judge on 101-106.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import tempfile
import time
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import mir_eval
import numpy as np
import soundfile
import soxr
from librosa.beat import beat_track
from numpy.typing import NDArray
from rich.console import Console
from rich.progress import track
from rich.table import Table

from benchmarks.concerts.render import parse_seeds, rendered
from benchmarks.concerts.truth import SectionTruth, Truth
from ingest.cycle import CycleFit, fit_cycle
from ingest.errors import IngestError
from ingest.evidence import Evidence
from ingest.measure import measure
from ingest.stretches import stretches
from ingest.tonic import sa_from_drone
from theory.talas import get_tala

Times = NDArray[np.float64]

BEAT_WINDOW_S, ONSET_WINDOW_S, ONE_ONSET_S = 0.07, 0.025, 0.03
LAYA_RATIOS = (0.25, 1 / 3, 0.5, 2 / 3, 0.75, 1.0, 4 / 3, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0)
LAYA_NAMES = ("1/4", "1/3", "1/2", "2/3", "3/4", "1", "4/3", "3/2", "2", "3", "4", "6", "8")


@dataclass(frozen=True)
class SectionScore:
    """What was found in a section.

    Attributes
    ----------
    laya : str
        Matras found per true matra, named by the nearest simple ratio.
    turned : float
        Mean over true sams of how far the nearest found matra's number is from sam, in matras; 0 when sams are right,
        NaN when the laya is not.
    """

    concert: int
    tala: str
    kind: str
    mpm: tuple[float, float]
    matra_f: float
    sam_f: float
    sam_f_marked: float
    matra_f_marked: float
    matra_f_librosa: float
    sam_f_librosa: float
    laya: str
    laya_marked: str
    turned: float
    fit_s: float
    solos: int


@dataclass(frozen=True)
class ConcertScore:
    """What was found in a concert; F-measures over all its matras and sams together."""

    seed: int
    duration_s: float
    matra_f: float
    sam_f: float
    sam_f_marked: float
    sa_cents: float
    edge_s: float
    edges_found: int
    edges: int
    onset_f: float
    matra_f_librosa: float
    sam_f_librosa: float
    measure_s: float


def beat_f(true_s: Sequence[float] | Times, found_s: Sequence[float] | Times) -> float:
    """F-measure at +-70 ms; 0 when nothing was found."""
    if not len(found_s):
        return 0.0
    return float(mir_eval.beat.f_measure(np.sort(true_s), np.sort(found_s), f_measure_threshold=BEAT_WINDOW_S))


def onset_f(true_s: Sequence[float], found_s: Times) -> float:
    """F-measure at +-25 ms, true onsets closer than 30 ms to the one before being one."""
    return float(mir_eval.onset.f_measure(joined(true_s), found_s, window=ONSET_WINDOW_S)[0])


def joined(onsets_s: Sequence[float]) -> Times:
    """Onsets in order; those that follow the first of a group within 30 ms are heard as one, at their mean."""
    groups: list[list[float]] = []
    for onset_s in sorted(onsets_s):
        if groups and onset_s - groups[-1][0] < ONE_ONSET_S:
            groups[-1].append(onset_s)
        else:
            groups.append([onset_s])
    return np.array([sum(group) / len(group) for group in groups])


def pick_onsets(evidence: Evidence) -> Times:
    """Peaks of the onset strength that stand out from the second around them."""
    from scipy.ndimage import maximum_filter1d, median_filter

    hop_s, strength = evidence.hop_s, evidence.strength.astype(np.float64)
    around = maximum_filter1d(strength, 2 * round(0.03 / hop_s) + 1)
    floor = median_filter(strength, round(0.6 / hop_s)) + 0.15 * np.percentile(strength, 97)
    picked: Times = np.flatnonzero((strength == around) & (strength > floor)) * hop_s
    return picked


def laya_name(found: int, true: int) -> str:
    """Matras found per true one, as the nearest simple ratio."""
    if not found or not true:
        return "none"
    distance = np.abs(np.log(np.array(LAYA_RATIOS) * true / found))
    return LAYA_NAMES[int(distance.argmin())]


def fit(
    evidence: Evidence, section: SectionTruth, marked_s: Sequence[float] = ()
) -> tuple[Times, Times, CycleFit | None]:
    """Matras and sams found between the true first and last sam (half a matra beyond on either side)."""
    try:
        found = fit_cycle(evidence, section.start_s, section.end_s, get_tala(section.tala), marked_s)
    except IngestError:
        return np.zeros(0), np.zeros(0), None
    return _within(found.matra_s, section), _within(found.sam_s, section), found


def turned_matras(section: SectionTruth, found: CycleFit) -> float:
    """Mean distance in matras from sam of the matra found nearest to each true sam."""
    matras = get_tala(section.tala).matras
    nearest = np.abs(found.matra_s[None, :] - np.array(section.sam_s)[:, None]).argmin(axis=1)
    off = (found.matra[nearest] - 1) % matras
    return float(np.minimum(off, matras - off).mean())


def librosa_beats(sound: NDArray[np.float32], rate_hz: int, section: SectionTruth) -> tuple[Times, Times]:
    """Beats by librosa's tracker, and every M-th of them."""
    part = sound[int(section.start_s * rate_hz) : int(section.end_s * rate_hz)]
    _, beats = beat_track(y=part, sr=rate_hz, units="time")
    beats_s = np.asarray(beats, dtype=np.float64) + section.start_s
    return _within(beats_s, section), _within(beats_s[:: get_tala(section.tala).matras], section)


def score_concert(path: Path, truth: Truth, baseline: bool = True) -> tuple[ConcertScore, list[SectionScore]]:
    """Run ingest over a rendered concert and hold it against the truth."""
    began_s = time.perf_counter()
    evidence = measure(path)
    measure_s = time.perf_counter() - began_s
    sound = np.zeros(0, np.float32)
    if baseline:
        stereo, rate_hz = soundfile.read(path, dtype="float32")
        sound = soxr.resample(stereo.mean(axis=1), rate_hz, 22050)
    rows: list[SectionScore] = []
    all_times: dict[str, list[Times]] = {name: [] for name in ("m", "s", "s2", "lm", "ls", "true_m", "true_s")}
    for section in truth.with_tala:
        began_s = time.perf_counter()
        matra_s, sam_s, found = fit(evidence, section)
        fit_s = time.perf_counter() - began_s
        matra_marked_s, sam_marked_s, _ = fit(evidence, section, section.sam_s[:2])
        beats_s, beat_sams_s = librosa_beats(sound, 22050, section) if baseline else (np.zeros(0), np.zeros(0))
        laya = laya_name(len(matra_s), len(section.matra_s))
        rows.append(
            SectionScore(
                concert=truth.seed,
                tala=section.tala,
                kind=section.kind,
                mpm=section.mpm,
                matra_f=beat_f(section.matra_s, matra_s),
                sam_f=beat_f(section.sam_s, sam_s),
                sam_f_marked=beat_f(section.sam_s, sam_marked_s),
                matra_f_marked=beat_f(section.matra_s, matra_marked_s),
                matra_f_librosa=beat_f(section.matra_s, beats_s),
                sam_f_librosa=beat_f(section.sam_s, beat_sams_s),
                laya=laya,
                laya_marked=laya_name(len(matra_marked_s), len(section.matra_s)),
                turned=turned_matras(section, found) if found is not None and laya == "1" else float("nan"),
                fit_s=fit_s,
                solos=len(section.solos),
            )
        )
        new = (matra_s, sam_s, sam_marked_s, beats_s, beat_sams_s, np.array(section.matra_s), np.array(section.sam_s))
        for name, times in zip(all_times, new, strict=True):
            all_times[name].append(times)
    t = {name: np.concatenate(times) for name, times in all_times.items()}
    edge_s, edges_found, edges = edge_distance(evidence, truth)
    concert = ConcertScore(
        seed=truth.seed,
        duration_s=truth.duration_s,
        matra_f=beat_f(t["true_m"], t["m"]),
        sam_f=beat_f(t["true_s"], t["s"]),
        sam_f_marked=beat_f(t["true_s"], t["s2"]),
        sa_cents=cents_modulo_octave(sa_from_drone(evidence).hz, truth.sa_hz),
        edge_s=edge_s,
        edges_found=edges_found,
        edges=edges,
        onset_f=onset_f([*truth.stroke_s, *truth.pluck_s], pick_onsets(evidence)),
        matra_f_librosa=beat_f(t["true_m"], t["lm"]),
        sam_f_librosa=beat_f(t["true_s"], t["ls"]),
        measure_s=measure_s,
    )
    return concert, rows


def edge_distance(evidence: Evidence, truth: Truth) -> tuple[float, int, int]:
    """Worst distance from a true edge of tabla to the nearest found, and how many were found and are true."""
    true_s = truth.tabla_edges_s()
    found_s = [
        edge for stretch in stretches(evidence) if stretch.with_tabla for edge in (stretch.start_s, stretch.end_s)
    ]
    if not found_s:
        return float("inf"), 0, len(true_s)
    return max(min(abs(edge - other) for other in found_s) for edge in true_s), len(found_s), len(true_s)


def cents_modulo_octave(found_hz: float, true_hz: float) -> float:
    """Distance in cents, octaves left aside; -600 to 600."""
    return float((1200 * np.log2(found_hz / true_hz) + 600) % 1200 - 600)


def main(arguments: Sequence[str] | None = None) -> None:
    """Render what is not yet rendered, measure, print."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.accuracy", description=__doc__.split("\n")[0])
    parser.add_argument("--seeds", type=parse_seeds, default=parse_seeds("1-6"), help="such as 1-6 or 101,103")
    parser.add_argument("--cache", type=Path, help="folder that keeps rendered concerts (default: a temporary one)")
    parser.add_argument("--json", type=Path, help="write all figures to this file")
    parser.add_argument("--no-baseline", action="store_true", help="leave out librosa's beat tracker")
    options = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as temporary:
        folder = options.cache or Path(temporary)
        scored = []
        for seed in track(options.seeds, "concerts", transient=True):
            scored.append(score_concert(*rendered(seed, folder), baseline=not options.no_baseline))
    concerts = [concert for concert, _ in scored]
    sections = [row for _, rows in scored for row in rows]
    console = Console(width=150)
    console.print(section_table(sections))
    console.print(concert_table(concerts))
    if options.json:
        options.json.write_text(json.dumps(as_json(concerts, sections), indent=1), encoding="utf-8")


def section_table(rows: Sequence[SectionScore]) -> Table:
    """A row per section."""
    table = Table("concert", "tala", "kind", "matras a minute", title="Sections: F-measures at 70 ms")
    for name in ("matra", "sam", "2 marks", "librosa", "laya", "laya, 2 marks", "turned", "fit s"):
        table.add_column(name, justify="right")
    for row in rows:
        numbers = (row.matra_f, row.sam_f, row.sam_f_marked, row.matra_f_librosa)
        table.add_row(
            str(row.concert), row.tala, row.kind + " + solo" * bool(row.solos and row.kind == "gat"),
            f"{row.mpm[0]:.0f} to {row.mpm[1]:.0f}", *(f"{number:.2f}" for number in numbers),
            "" if row.laya == "1" else row.laya, "" if row.laya_marked == "1" else row.laya_marked,
            "" if np.isnan(row.turned) else f"{row.turned:.1f}", f"{row.fit_s:.1f}",
        )  # fmt: skip
    return table


def concert_table(concerts: Sequence[ConcertScore]) -> Table:
    """A row per concert, and the mean."""
    table = Table("concert", title="Concerts")
    names = ("matra", "sam", "sam, 2 marks", "Sa, cents", "edges, s", "edges", "onsets", "matra, librosa",
             "sam, librosa", "measure s")  # fmt: skip
    for name in names:
        table.add_column(name, justify="right")
    for row in concerts:
        table.add_row(
            str(row.seed), *(f"{f:.2f}" for f in (row.matra_f, row.sam_f, row.sam_f_marked)), f"{row.sa_cents:+.0f}",
            f"{row.edge_s:.1f}", f"{row.edges_found}/{row.edges}",
            *(f"{f:.2f}" for f in (row.onset_f, row.matra_f_librosa, row.sam_f_librosa)), f"{row.measure_s:.1f}",
        )  # fmt: skip
    mean = means(concerts)
    table.add_section()
    table.add_row(
        "mean", *(f"{mean[name]:.2f}" for name in ("matra_f", "sam_f", "sam_f_marked")),
        f"{mean['sa_cents']:.0f}", f"{mean['edge_s']:.1f}", "",
        *(f"{mean[name]:.2f}" for name in ("onset_f", "matra_f_librosa", "sam_f_librosa")), f"{mean['measure_s']:.1f}",
    )  # fmt: skip
    return table


def means(concerts: Sequence[ConcertScore]) -> dict[str, float]:
    """Mean of every figure over the concerts; of the cents, of their size."""
    names = [name for name in asdict(concerts[0]) if name != "seed"]
    return {name: float(np.mean([abs(getattr(concert, name)) for concert in concerts])) for name in names}


def as_json(concerts: Sequence[ConcertScore], sections: Sequence[SectionScore]) -> dict[str, Any]:
    """All figures, with the commit they were measured at."""
    here = Path(__file__).parent
    commit = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"], cwd=here, capture_output=True, text=True, check=False
    )
    return {
        "commit": commit.stdout.strip(),
        "concerts": [asdict(concert) for concert in concerts],
        "sections": [asdict(section) for section in sections],
        "mean": means(concerts),
    }


def _within(times_s: Times, section: SectionTruth) -> Times:
    """Times from half a matra before the first true sam to half a matra after the last."""
    first, last = np.diff(section.matra_s)[[0, -1]] / 2
    within: Times = times_s[(times_s > section.matra_s[0] - first) & (times_s < section.matra_s[-1] + last)]
    return within


if __name__ == "__main__":
    main()
