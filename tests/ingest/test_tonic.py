"""Sa from the drone: within 10 cents, in any usual tuning, under a melody."""

from fractions import Fraction

import numpy as np
import pytest

from ingest.measure import measure_blocks
from ingest.tonic import sa_from_drone
from tests.ingest.sounds import RATE_HZ, plucks, tanpura

PA, MA, NI = Fraction(3, 2), Fraction(4, 3), Fraction(15, 8)


def cents_off(hz, true_hz):
    """Distance modulo octave."""
    return (1200 * np.log2(hz / true_hz) + 600) % 1200 - 600


def under_melody(sa_hz, first_string, seed):
    random = np.random.default_rng(seed)
    at_s = np.arange(0.3, 28, 0.31)
    scale = np.array([0, 2, 4, 5, 7, 9, 11, 12])
    melody = plucks(sa_hz * 2 ** (random.choice(scale, len(at_s)) / 12), at_s, 28.0)
    return tanpura(sa_hz, first_string, 28.0, seed) + melody


@pytest.mark.parametrize(
    ("sa_hz", "first_string"),
    [(138.6, PA), (146.8, MA), (277.2, PA), (233.1, MA), (116.5, PA), (121.9, MA), (165.0, NI), (311.1, PA)],
)
def test_sa_is_found_within_10_cents_under_a_melody(sa_hz, first_string):
    sound = under_melody(sa_hz, first_string, round(sa_hz))
    sa = sa_from_drone(measure_blocks([sound.astype(np.float32)]))
    assert abs(cents_off(sa.hz, sa_hz)) < 10
    assert 110 <= sa.hz < 220
    assert sa.confidence > 0.2


def test_silence_gives_a_usual_sa_at_no_confidence():
    sa = sa_from_drone(measure_blocks([np.zeros(2 * RATE_HZ, np.float32)]))
    assert sa.confidence == 0
    assert 110 <= sa.hz < 220
