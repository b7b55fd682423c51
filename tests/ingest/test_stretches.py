"""Stretches with and without tabla: boundaries within two seconds, no gaps."""

from fractions import Fraction

import numpy as np
import pytest

from ingest.measure import measure_blocks
from ingest.stretches import stretches
from tests.ingest.sounds import plucks, tanpura, theka
from theory.talas import get_tala

DURATION_S, SA_HZ = 50.0, 277.2


def accompanied(tabla):
    random = np.random.default_rng(5)
    at_s = np.cumsum(random.uniform(0.2, 0.9, 100))
    at_s = at_s[at_s < DURATION_S - 1]
    melody = plucks(SA_HZ * 2 ** (random.choice([0, 2, 5, 7, 9, 12], len(at_s)) / 12), at_s, DURATION_S)
    return measure_blocks([(tabla + melody + tanpura(SA_HZ, Fraction(3, 2), DURATION_S)).astype(np.float32)])


def tabla(first_s, last_s):
    return theka(get_tala("jhaptal"), np.arange(first_s, last_s, 0.5), DURATION_S)


def test_the_tablas_entry_after_an_alap_is_found_within_two_seconds():
    alap, gat = stretches(accompanied(tabla(20.0, DURATION_S)))
    assert (alap.with_tabla, gat.with_tabla) == (False, True)
    assert alap.end_s == pytest.approx(20.0, abs=2)
    assert (alap.start_s, gat.start_s, gat.end_s) == (0, alap.end_s, pytest.approx(DURATION_S, abs=0.01))


def test_the_tablas_end_is_found_too():
    kinds = stretches(accompanied(tabla(14.0, 34.0)))
    assert [stretch.with_tabla for stretch in kinds] == [False, True, False]
    assert kinds[1].start_s == pytest.approx(14.0, abs=2)
    assert kinds[1].end_s == pytest.approx(34.0, abs=2)


def test_tabla_all_through_is_one_stretch():
    (only,) = stretches(accompanied(tabla(0.3, DURATION_S)))
    assert only.with_tabla


def test_no_tabla_at_all_is_one_stretch():
    (only,) = stretches(accompanied(np.zeros(round(DURATION_S * 22050))))
    assert not only.with_tabla


@pytest.mark.parametrize("seconds", [0.1, 2.0])
def test_silence_and_short_sounds_are_one_stretch_without_tabla(seconds):
    (only,) = stretches(measure_blocks([np.zeros(round(seconds * 22050), np.float32)]))
    assert not only.with_tabla
    assert only.end_s == pytest.approx(seconds, abs=0.01)
