"""Onsets of recorded tabla strokes, against their exact times and against librosa's onset detector.

Published sources: the strokes are those of the Debian package ``sonic-pi-samples`` (CC0), see
`tests.published.recorded_tabla`. The measure is F at +-25 ms as `mir_eval.onset` defines it (C. Raffel et al.,
"mir_eval: a transparent implementation of common MIR metrics", ISMIR 2014; the window is half of MIREX's). The
detector held against is `librosa.onset.onset_detect` (B. McFee et al., "librosa: Audio and music signal analysis in
Python", SciPy 2015) with its own settings: strokes that stand alone are easy, and none of the two should miss many.
(With a lead and a drone over them they differ: see ``benchmarks/README.md``.)
"""

from __future__ import annotations

from fractions import Fraction

import mir_eval
import numpy as np
import pytest

from ingest.measure import measure
from ingest.onset_times import onset_times
from tests.needs import tabla_samples
from tests.published.recorded_tabla import BAYAN, DAYAN, RATE_HZ, play_theka
from theory.bols import strokes
from theory.talas import get_tala

pytestmark = pytest.mark.samples

WINDOW_S, LEAST_F = 0.025, 0.95


@pytest.fixture(autouse=True)
def _recordings():
    tabla_samples()


def _true_s(tala, performance):
    """Time of every stroke that sounds: matras from the performance, what lies between them by its share."""
    ends_s = np.append(performance.matra_s, performance.matra_s[-1] + np.diff(performance.matra_s)[-1])
    out = []
    for number, matra in enumerate(performance.matra):
        for stroke in strokes(tala.theka):
            share = stroke.onset - Fraction(int(matra) - 1)
            if 0 <= share < 1 and (stroke.bol.name in DAYAN or stroke.bol.name in BAYAN):
                out.append(ends_s[number] + float(share) * (ends_s[number + 1] - ends_s[number]))
    return np.array(out)


@pytest.mark.parametrize(("name", "matras_per_minute"), [("teental", 60), ("ektal", 45), ("keherwa", 180)])
def test_recorded_strokes_are_found_within_25_ms_and_as_by_librosa(name, matras_per_minute, tmp_path):
    from librosa.onset import onset_detect

    tala = get_tala(name)
    played = play_theka(tala, matras_per_minute, 20, seed=matras_per_minute)
    true_s = _true_s(tala, played)
    f = mir_eval.onset.f_measure(true_s, onset_times(measure(played.write(tmp_path / "theka.wav"))), window=WINDOW_S)[0]
    reference_s = onset_detect(y=played.samples.astype(np.float32), sr=RATE_HZ, units="time")
    reference_f = mir_eval.onset.f_measure(true_s, reference_s, window=WINDOW_S)[0]
    assert f >= LEAST_F
    assert f >= reference_f - 0.03  # one stroke in thirty
