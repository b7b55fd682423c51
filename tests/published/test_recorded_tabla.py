"""Matras and sams of a theka played with real, recorded tabla strokes are found by ear alone.

Published source of the sound: Debian package ``sonic-pi-samples`` (CC0), see `tests.published.recorded_tabla`. The
thekas are those of ``theory/data/talas.toml``, which names the source of each. The measure of agreement is F at +-70
ms as `mir_eval.beat` defines it (C. Raffel et al., "mir_eval: a transparent implementation of common MIR metrics",
ISMIR 2014).
"""

from __future__ import annotations

import mir_eval
import numpy as np
import pytest

from ingest.cycle import fit_cycle
from ingest.measure import measure
from tests.needs import tabla_samples
from tests.published.recorded_tabla import Performance, play_theka
from theory.talas import get_tala

pytestmark = pytest.mark.samples

TOLERANCE_S = 0.07
AVARTANS = 3.4


@pytest.fixture(autouse=True)
def _recordings():
    tabla_samples()


def _length_s(tala, matras_per_minute):
    return max(15.0, AVARTANS * tala.matras * 60 / matras_per_minute)


def _deviation_s(found_s, true_s):
    """Of each true time, the signed distance of the found time nearest to it."""
    nearest = np.abs(found_s[:, None] - true_s).argmin(axis=0)
    return found_s[nearest] - true_s


def _fit(performance: Performance, tala, tmp_path):
    evidence = measure(performance.write(tmp_path / "theka.wav"))
    return fit_cycle(evidence, 0.0, evidence.duration_s, tala)


def _f_measure(found_s, true_s, played):
    """F at +-70 ms from the first stroke to the last: the grid also covers the time around, where none is struck."""
    first_s, last_s = played.matra_s[[0, -1]]
    struck = (found_s > first_s - TOLERANCE_S) & (found_s < last_s + TOLERANCE_S)
    return mir_eval.beat.f_measure(true_s, found_s[struck], f_measure_threshold=TOLERANCE_S)


def _assert_found(fit, played):
    assert np.abs(_deviation_s(fit.matra_s, played.matra_s)).max() < TOLERANCE_S
    assert np.abs(_deviation_s(fit.sam_s, played.sam_s)).max() < TOLERANCE_S
    assert _f_measure(fit.matra_s, played.matra_s, played) == 1.0
    assert _f_measure(fit.sam_s, played.sam_s, played) == 1.0


@pytest.mark.parametrize("matras_per_minute", [50, 90, 160])
@pytest.mark.parametrize("name", ["teental", "jhaptal", "rupak"])
def test_matras_and_sams_of_a_recorded_theka_are_found_within_70_ms_with_no_help(name, matras_per_minute, tmp_path):
    tala = get_tala(name)
    length_s = _length_s(tala, matras_per_minute)
    played = play_theka(tala, matras_per_minute, length_s, first_matra=3, start_s=0.83, seed=matras_per_minute)
    _assert_found(_fit(played, tala, tmp_path), played)


@pytest.mark.parametrize(
    ("name", "matras_per_minute"), [("ektal", 60), ("keherwa", 140), ("dadra", 120), ("teental", 220), ("jhaptal", 40)]
)
def test_the_other_talas_and_layas_too(name, matras_per_minute, tmp_path):
    tala = get_tala(name)
    played = play_theka(tala, matras_per_minute, _length_s(tala, matras_per_minute), first_matra=2, seed=7)
    _assert_found(_fit(played, tala, tmp_path), played)


def test_a_laya_that_rises_by_a_third_is_followed(tmp_path):
    tala = get_tala("teental")
    played = play_theka(tala, 100, 60, quickening=1 / 3, jitter_s=0.012, seed=3)
    _assert_found(_fit(played, tala, tmp_path), played)


def test_found_matras_are_neither_early_nor_late_on_the_whole(tmp_path):
    tala = get_tala("teental")
    played = play_theka(tala, 90, 40, seed=11)
    fit = _fit(played, tala, tmp_path)
    # 5 ms: less than one frame of the onset strengths (5.8 ms); the recordings themselves begin up to 3 ms late.
    assert abs(_deviation_s(fit.matra_s, played.matra_s).mean()) < 0.005
