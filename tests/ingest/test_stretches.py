"""Stretches with and without tabla: to the first and last stroke, without gaps."""

import numpy as np
import pytest

from benchmarks.concerts.melody import Scale, alap
from ingest.measure import measure_blocks
from ingest.stretches import stretches
from tests.ingest.small_concert import SA_HZ, measured, plucks_at, sound_of, theka_at
from theory.ragas import get_raga

DURATION_S = 56.0
NEAR_S = 2.0


def accompanied(*thekas):
    random = np.random.default_rng(5)
    at_s = 1 + np.cumsum(random.uniform(0.2, 0.9, 120))
    struck = [stroke for theka in thekas for stroke in theka]
    return measured(sound_of(plucks_at(at_s[at_s < DURATION_S - 2]), struck, DURATION_S))


def test_the_tablas_entry_after_an_alap_is_found_within_two_seconds():
    alap, gat, *_ = stretches(accompanied(theka_at("jhaptal", 24.0, 55.5, 0.5)))
    assert (alap.with_tabla, gat.with_tabla) == (False, True)
    assert alap.end_s == gat.start_s == pytest.approx(24.0, abs=NEAR_S)
    assert gat.end_s == pytest.approx(55.5, abs=NEAR_S)


def test_the_tablas_end_is_found_too_and_stretches_leave_no_gap():
    kinds = stretches(accompanied(theka_at("teental", 18.0, 40.0, 0.45)))
    assert [stretch.with_tabla for stretch in kinds] == [False, True, False]
    assert [stretch.end_s for stretch in kinds] == pytest.approx([18.0, 40.0, DURATION_S], abs=NEAR_S)
    assert [stretch.start_s for stretch in kinds] == [0.0, kinds[0].end_s, kinds[1].end_s]


def test_tabla_all_through_is_one_stretch():
    with_tabla = [each for each in stretches(accompanied(theka_at("rupak", 0.5, 55.5, 0.6))) if each.with_tabla]
    assert [(each.start_s, each.end_s) for each in with_tabla] == [pytest.approx((0.5, 55.5), abs=NEAR_S)]


def test_a_short_rest_of_the_tabla_does_not_end_a_stretch():
    evidence = accompanied(theka_at("jhaptal", 12.0, 30.0, 0.5), theka_at("jhaptal", 36.0, 55.0, 0.5))
    assert [each.with_tabla for each in stretches(evidence) if 14 < each.end_s < 53] in ([], [False])


def test_no_tabla_at_all_is_one_stretch():
    random = np.random.default_rng(5)
    plucks = alap(DURATION_S - 4, 2.0, SA_HZ, Scale(get_raga("desh"), random), random)
    (only,) = stretches(measured(sound_of(plucks, [], DURATION_S)))
    assert not only.with_tabla


@pytest.mark.parametrize("seconds", [0.1, 2.0])
def test_silence_and_short_sounds_are_one_stretch_without_tabla(seconds):
    (only,) = stretches(measure_blocks([np.zeros(round(seconds * 22050), np.float32)]))
    assert not only.with_tabla
    assert only.end_s == pytest.approx(seconds, abs=0.01)
