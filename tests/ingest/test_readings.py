"""One section read in several talas and at other layas."""

import numpy as np
import pytest

from ingest.cycle import fit_cycle
from ingest.measure import measure_blocks
from ingest.readings import choose_tala, other_layas
from tests.ingest.sounds import theka
from theory.talas import get_tala

KEYS = ("teental", "jhaptal", "rupak", "keherwa")


def evidence_of(tala, matra_s, count):
    times = 0.4 + matra_s * np.arange(count)
    return measure_blocks([theka(tala, times, times[-1] + 0.5).astype(np.float32)])


@pytest.fixture(scope="module")
def jhaptal():
    return evidence_of(get_tala("jhaptal"), 0.5, 61)


def test_the_tala_that_is_played_is_read_best(jhaptal):
    readings = choose_tala(jhaptal, 0.0, 31.0, [get_tala(key) for key in KEYS])
    assert readings[0].tala.key == "jhaptal"
    assert [reading.score for reading in readings] == sorted((r.score for r in readings), reverse=True)
    assert readings[0].score > readings[1].score + 10


def test_marked_sams_are_kept_in_every_reading(jhaptal):
    for reading in choose_tala(jhaptal, 0.0, 31.0, [get_tala(key) for key in KEYS], [5.4]):
        assert 5.4 in reading.fit.sam_s


def test_nothing_is_read_into_silence():
    silent = measure_blocks([np.zeros(22050 * 6, np.float32)])
    assert choose_tala(silent, 0.0, 6.0, [get_tala("teental")]) == []


def test_a_plain_theka_has_no_other_laya_that_comes_near(jhaptal):
    tala = get_tala("jhaptal")
    assert other_layas(jhaptal, 0.0, 31.0, tala, fit_cycle(jhaptal, 0.0, 31.0, tala)) == []


def test_a_reading_at_another_laya_keeps_to_it(jhaptal):
    tala = get_tala("jhaptal")
    slow = fit_cycle(jhaptal, 0.0, 31.0, tala, (), (50, 75))
    assert np.median(np.diff(slow.matra_s)) > 0.75
    assert slow.score < fit_cycle(jhaptal, 0.0, 31.0, tala).score
