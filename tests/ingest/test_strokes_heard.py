"""Likelihood ratios of what is heard against what is heard anywhere here."""

import numpy as np
import pytest

from ingest.measure import measure_blocks
from ingest.strokes_heard import BAYAN, DAYAN, REACH_S, strokes_heard
from ingest.theka_profile import BAYAN_DOES, DAYAN_DOES
from tests.ingest.sounds import theka
from theory.talas import get_tala


@pytest.fixture(scope="module")
def evidence():
    times = 0.4 + 0.5 * np.arange(64)
    return measure_blocks([theka(get_tala("teental"), times, times[-1] + 1).astype(np.float32)])


def test_ratios_average_to_one_over_time(evidence):
    heard = strokes_heard(evidence, 0.0, evidence.duration_s)
    for ratios, kinds in ((heard.bayan, BAYAN), (heard.dayan, DAYAN)):
        assert ratios.shape[1] == len(kinds)
        np.testing.assert_allclose(ratios.mean(axis=0), 1.0, atol=0.2)  # local means over 16 s, edges differ


def test_a_place_of_the_theka_is_likelier_where_it_is_struck(evidence):
    heard = strokes_heard(evidence, 0.0, evidence.duration_s)
    ratio = heard.log_ratio(BAYAN_DOES["rings"], DAYAN_DOES["rim"], 0.8)
    on_sam = np.rint((0.4 + 8.0 * np.arange(1, 4)) / heard.hop_s).astype(int)
    in_khali = on_sam + round(0.5 * 9 / heard.hop_s)
    assert (ratio[on_sam] > 0.5).all()
    assert ratio[on_sam].mean() > ratio[in_khali].mean() + 1


def test_a_stroke_counts_within_reach_of_its_place_and_not_beyond(evidence):
    heard = strokes_heard(evidence, 0.0, evidence.duration_s)
    ratio = heard.log_ratio(BAYAN_DOES["rings"], DAYAN_DOES["rim"], 0.8)
    sam = round(8.4 / heard.hop_s)
    late = round(REACH_S / 2 / heard.hop_s)
    assert ratio[sam + late] > 0
    assert ratio[sam + round(0.2 / heard.hop_s)] < 0


def test_a_place_never_costs_more_than_that_it_was_not_kept_to(evidence):
    heard = strokes_heard(evidence, 0.0, evidence.duration_s)
    assert heard.log_ratio(BAYAN_DOES["rings"], DAYAN_DOES["rim"], 0.8).min() >= np.log(0.2) - 1e-5


def test_silence_holds_no_tabla():
    silent = measure_blocks([np.zeros(22050 * 5, np.float32)])
    assert not strokes_heard(silent, 0.0, 5.0).any_tabla
    assert len(strokes_heard(silent, 2.0, 2.0)) == 0
