"""How far what ingest found lies from the truth of a rendered concert: the measures of ``benchmarks.accuracy``.

Conventions: times in seconds from the recording's start. F-measures are those of mir_eval 0.8.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import mir_eval
import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

from benchmarks.concerts.truth import SectionTruth, Truth
from ingest.cycle import CycleFit, fit_cycle, follow_unmarked
from ingest.errors import IngestError
from ingest.evidence import Evidence
from ingest.measure import measure
from ingest.onset_times import onset_times
from ingest.readings import choose_tala
from ingest.stretches import stretches
from ingest.tabla_edges import LEAST_REST_S
from ingest.tonic import sa_from_drone
from theory.talas import get_tala

Times = NDArray[np.float64]

BEAT_WINDOW_S, ONSET_WINDOW_S, ONE_ONSET_S, NEAR_EDGE_S = 0.07, 0.025, 0.03, 2.0
RESTS_EITHER_WAY_S = (LEAST_REST_S - 2.0, LEAST_REST_S + 2.0)
CANDIDATES = ("teental", "jhaptal", "rupak", "ektal", "keherwa", "dadra")
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
    tala_chosen : str
        The best of `CANDIDATES`; '' when none was followed.
    sure : list of (float, bool)
        Of every sam found: its confidence, and whether it is one.
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
    tala_chosen: str
    sure: list[tuple[float, bool]]


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
    edges_near: int
    edges_found: int
    edges_false: int
    edges: int
    onset_f: float
    tala_right: float
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


def laya_name(found: int, true: int) -> str:
    """Matras found per true one, as the nearest simple ratio."""
    if not found or not true:
        return "none"
    distance = np.abs(np.log(np.array(LAYA_RATIOS) * true / found))
    return LAYA_NAMES[int(distance.argmin())]


def fit(
    evidence: Evidence, section: SectionTruth, marked_s: Sequence[float] = ()
) -> tuple[Times, Times, CycleFit | None]:
    """Matras and sams found between the true first and last sam (half a matra beyond), as the archive finds them."""
    span_s, tala = (section.start_s, section.end_s), get_tala(section.tala)
    try:
        unmarked = follow_unmarked(evidence, *span_s, tala)
        found = fit_cycle(evidence, *span_s, tala, marked_s, unmarked=unmarked)
    except IngestError:
        return np.zeros(0), np.zeros(0), None
    return _within(found.matra_s, section), _within(found.sam_s, section), found


def turned_matras(section: SectionTruth, found: CycleFit) -> float:
    """Mean distance in matras from sam of the matra found nearest to each true sam."""
    matras = get_tala(section.tala).matras
    nearest = np.abs(found.matra_s[None, :] - np.array(section.sam_s)[:, None]).argmin(axis=1)
    off = (found.matra[nearest] - 1) % matras
    return float(np.minimum(off, matras - off).mean())


def chosen_tala(evidence: Evidence, section: SectionTruth) -> str:
    """The tala that a section is read in best, among six candidates."""
    readings = choose_tala(evidence, section.start_s, section.end_s, [get_tala(key) for key in CANDIDATES])
    return readings[0].tala.key if readings else ""


def sam_sureness(section: SectionTruth, found: CycleFit | None) -> list[tuple[float, bool]]:
    """Of every sam found between the first true one and the last: its confidence, and whether it is right."""
    if found is None:
        return []
    within = np.isin(found.sam_s, _within(found.sam_s, section))
    right = np.abs(np.subtract.outer(found.sam_s, section.sam_s)).min(axis=1) <= BEAT_WINDOW_S
    return [(float(sure), bool(ok)) for sure, ok in zip(found.sam_confidence[within], right[within], strict=True)]


def librosa_beats(sound: NDArray[np.float32], rate_hz: int, section: SectionTruth) -> tuple[Times, Times]:
    """Beats by librosa's tracker, and every M-th of them."""
    from librosa.beat import beat_track

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
                matra_f_librosa=beat_f(section.matra_s, beats_s) if baseline else float("nan"),
                sam_f_librosa=beat_f(section.sam_s, beat_sams_s) if baseline else float("nan"),
                laya=laya,
                laya_marked=laya_name(len(matra_marked_s), len(section.matra_s)),
                turned=turned_matras(section, found) if found is not None and laya == "1" else float("nan"),
                fit_s=fit_s,
                solos=len(section.solos),
                tala_chosen=chosen_tala(evidence, section),
                sure=sam_sureness(section, found),
            )
        )
        new = (matra_s, sam_s, sam_marked_s, beats_s, beat_sams_s, np.array(section.matra_s), np.array(section.sam_s))
        for name, times in zip(all_times, new, strict=True):
            all_times[name].append(times)
    t = {name: np.concatenate(times) for name, times in all_times.items()}
    away_s, edges_found, edges_false = edge_distances(evidence, truth)
    concert = ConcertScore(
        seed=truth.seed,
        duration_s=truth.duration_s,
        matra_f=beat_f(t["true_m"], t["m"]),
        sam_f=beat_f(t["true_s"], t["s"]),
        sam_f_marked=beat_f(t["true_s"], t["s2"]),
        sa_cents=cents_modulo_octave(sa_from_drone(evidence).hz, truth.sa_hz),
        edge_s=float(np.median(away_s)),
        edges_near=int(np.sum(away_s <= NEAR_EDGE_S)),
        edges_found=edges_found,
        edges_false=edges_false,
        edges=len(away_s),
        onset_f=onset_f([*truth.stroke_s, *truth.pluck_s], onset_times(evidence)),
        tala_right=float(np.mean([row.tala_chosen == row.tala for row in rows])),
        matra_f_librosa=beat_f(t["true_m"], t["lm"]) if baseline else float("nan"),
        sam_f_librosa=beat_f(t["true_s"], t["ls"]) if baseline else float("nan"),
        measure_s=measure_s,
    )
    return concert, rows


def edge_distances(evidence: Evidence, truth: Truth) -> tuple[Times, int, int]:
    """Distance from each true edge of a stretch with tabla to the nearest found; how many were found; how many falsely.

    False is one farther than `NEAR_EDGE_S` from every true edge and from every one that may be found (`true_edges_s`).
    """
    true_s, allowed_s = true_edges_s(truth.stroke_s)
    found_s = [
        edge for stretch in stretches(evidence) if stretch.with_tabla for edge in (stretch.start_s, stretch.end_s)
    ]
    if not found_s:
        return np.full(len(true_s), truth.duration_s), 0, 0
    false = np.abs(np.subtract.outer(found_s, [*true_s, *allowed_s])).min(axis=1) > NEAR_EDGE_S
    return np.abs(np.subtract.outer(true_s, found_s)).min(axis=1), len(found_s), int(false.sum())


def true_edges_s(stroke_s: Sequence[float]) -> tuple[list[float], list[float]]:
    """Edges of stretches with tabla that are to be found, and those that may be: where the tabla rests about 10 s.

    A rest from `LEAST_REST_S` on (10 s) ends a stretch, in ingest as here. Whether one of 9.9 s or of 10.1 s was heard
    says nothing of how well it was heard, so one between `RESTS_EITHER_WAY_S` may be found or not.
    """
    strokes = np.sort(stroke_s)
    gaps_s = np.diff(strokes)
    least_s, most_s = RESTS_EITHER_WAY_S
    rests = np.flatnonzero(gaps_s > most_s)
    either = np.flatnonzero((gaps_s >= least_s) & (gaps_s <= most_s))
    true = [strokes[0], *(at for rest in rests for at in strokes[rest : rest + 2]), strokes[-1]]
    return [float(at) for at in true], [float(at) for rest in either for at in strokes[rest : rest + 2]]


def cents_modulo_octave(found_hz: float, true_hz: float) -> float:
    """Distance in cents, octaves left aside; -600 to 600."""
    return float((1200 * np.log2(found_hz / true_hz) + 600) % 1200 - 600)


def _within(times_s: Times, section: SectionTruth) -> Times:
    """Times from half a matra before the first true sam to half a matra after the last."""
    first, last = np.diff(section.matra_s)[[0, -1]] / 2
    within: Times = times_s[(times_s > section.matra_s[0] - first) & (times_s < section.matra_s[-1] + last)]
    return within
