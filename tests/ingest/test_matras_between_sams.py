"""Matras between known sams, from the lead's strokes alone."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ingest.cycle import fit_cycle
from ingest.errors import ConflictingSams
from ingest.matras_between_sams import matras_between_sams
from ingest.measure import measure_blocks
from tests.ingest.sounds import RATE_HZ, dayan, put
from theory.talas import get_tala

MATRAS, AVARTANS = 16, 6


def swaying(matra_s, sway_s):
    """A pulse that is late in the middle of one avartan and early in that of the next; its times, and its sams."""
    position = np.arange(MATRAS * AVARTANS + 1)
    side = 1 - 2 * (position // MATRAS % 2)
    time_s = 5 + position * matra_s + sway_s * side * (1 - np.cos(2 * np.pi * position / MATRAS)) / 2
    return time_s, time_s[::MATRAS]


def spread_s(found_s, true_s):
    return float(np.sqrt(np.mean((found_s - true_s) ** 2)))


def strokes_about(time_s, seed, ornaments):
    """Two of three matras struck with a scatter of 15 ms, and ornaments anywhere."""
    random = np.random.default_rng(seed)
    struck = time_s[random.random(len(time_s)) < 0.67]
    on_pulse = struck + random.normal(0, 0.015, len(struck))
    return np.concatenate([on_pulse, random.uniform(time_s[0], time_s[-1], ornaments)])


@pytest.mark.parametrize("matra_s", [0.3, 0.7, 1.5])
def test_an_avartan_that_sways_is_followed_through_missing_strokes_and_ornaments(matra_s):
    true_s, sams_s = swaying(matra_s, 0.15 * matra_s)
    straight_s = np.interp(np.arange(len(true_s)), np.arange(AVARTANS + 1) * MATRAS, sams_s)
    found_s = matras_between_sams(sams_s, strokes_about(true_s, 3, ornaments=15), MATRAS)
    assert spread_s(found_s, true_s) < 0.45 * spread_s(straight_s, true_s)


def test_an_avartan_that_strays_by_half_a_matra_is_found_too():
    true_s, sams_s = swaying(1.2, 0.0)
    inside = np.arange(2 * MATRAS, 3 * MATRAS + 1)
    true_s[inside] -= 0.55 * np.sin(np.pi * (inside - inside[0]) / MATRAS)
    found_s = matras_between_sams(sams_s, np.concatenate([true_s, (true_s[1:] + true_s[:-1]) / 2]), MATRAS)
    assert np.abs(found_s - true_s).max() < 0.06


def test_without_strokes_an_even_pulse_stays_even():
    true_s, sams_s = swaying(0.8, 0.0)
    np.testing.assert_allclose(matras_between_sams(sams_s, [], MATRAS), true_s, rtol=0, atol=1e-6)


def test_strokes_outside_the_sams_count_for_nothing():
    true_s, sams_s = swaying(0.5, 0.04)
    strokes_s = strokes_about(true_s, 1, ornaments=0)
    strokes_s = strokes_s[(strokes_s > sams_s[0]) & (strokes_s < sams_s[-1])]
    beyond_s = np.concatenate([strokes_s, [sams_s[0] - 0.1, sams_s[-1] + 0.2, 0.0]])
    np.testing.assert_array_equal(
        matras_between_sams(sams_s, beyond_s, MATRAS), matras_between_sams(sams_s, strokes_s, MATRAS)
    )


@settings(max_examples=25, deadline=None)
@given(
    lengths_s=st.lists(st.floats(2.0, 20.0), min_size=1, max_size=5),
    shares=st.lists(st.floats(0, 1), max_size=60),
    matras=st.sampled_from([6, 7, 16]),
)
def test_whatever_is_struck_sams_stay_and_matras_go_forward(lengths_s, shares, matras):
    sams_s = np.concatenate([[1.0], 1.0 + np.cumsum(lengths_s)])
    strokes_s = [sams_s[0] + share * (sams_s[-1] - sams_s[0]) for share in shares]
    found_s = matras_between_sams(sams_s, strokes_s, matras)
    np.testing.assert_array_equal(found_s[::matras], sams_s)
    assert np.all(np.diff(found_s) > 0)


@pytest.mark.parametrize("sams_s", [[], [1.0], [2.0, 1.0]])
def test_fewer_than_two_sams_in_order_are_refused(sams_s):
    with pytest.raises(ConflictingSams, match="two sams or more"):
        matras_between_sams(sams_s, [], MATRAS)


def test_a_tala_without_theka_is_followed_by_the_strokes_between_marked_sams():
    """Twice the same bent avartan of dobahar, whose theka no source of ours gives."""
    tala = get_tala("dobahar")
    assert not tala.theka_known
    share = np.arange(2 * tala.matras + 1) / tala.matras
    true_s = 2 + 9 * share + 0.3 * np.sin(np.pi * share) ** 2
    sound = np.zeros(round(23 * RATE_HZ))
    for number, at_s in enumerate(true_s):
        put(sound, at_s, 0.4 * dayan(number))
    fit = fit_cycle(
        measure_blocks([sound.astype(np.float32)]), 1.0, 21.0, tala, [true_s[0], true_s[tala.matras], true_s[-1]]
    )
    found_s = fit.matra_s[(fit.cycle >= 1) & (fit.cycle <= 2)]
    np.testing.assert_allclose(found_s, true_s[: len(found_s)], rtol=0, atol=0.035)
    assert np.abs(np.linspace(2, 20, len(true_s)) - true_s).max() > 0.25  # straight lines would be this far off
