"""What is heard every half second: the features by which kinds of sections are told."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from ingest.measure import measure_blocks
from ingest.section_features import STEP_S, mean_around, peaks, section_features
from ingest.section_weights import section_weights
from tests.ingest.sounds import RATE_HZ, dayan, plucks, put
from tests.ingest.struck_evidence import HOP_S, RIM, struck

SA_HZ = 150.0


def features_of(sound, strokes_s=()):
    """Features of a sound; strokes of tabla are as told."""
    evidence = measure_blocks([np.asarray(sound, dtype=np.float32)])
    told = struck(max(evidence.duration_s, HOP_S), (strokes_s, RIM, 0.9), mistaken_a_second=0.0)
    return section_features(SimpleNamespace(**{**vars(evidence), **vars(told), "duration_s": evidence.duration_s}))


def column(features, name):
    return features.values[:, features.names.index(name)]


def clicks(at_s, duration_s):
    sound = np.zeros(round(duration_s * RATE_HZ))
    for number, time_s in enumerate(at_s):
        put(sound, time_s, 0.4 * dayan(number))
    return sound


def test_there_is_a_row_every_half_second_and_its_columns_are_those_that_were_learnt_on():
    features = features_of(clicks(np.arange(0.5, 9.5, 0.5), 10.0))
    assert features.values.shape == (20, len(features.names))
    np.testing.assert_allclose(features.times_s[:2], [STEP_S / 2, 3 * STEP_S / 2])
    weights = section_weights()
    weights.check(features)
    assert len(weights.kinds.mean) == len(features.names)
    with pytest.raises(ValueError, match="learnt on other features: loud, loudness, short"):
        weights.check(replace(features, names=("loud", *features.names[1:])))
    assert np.isfinite(features.values).all()


def test_an_even_pulse_is_told_from_an_uneven_one():
    random = np.random.default_rng(4)
    even = features_of(clicks(np.arange(1, 29, 0.56), 30.0))
    uneven = features_of(clicks(np.cumsum(random.uniform(0.15, 0.97, 49)), 30.0))
    middle = slice(20, 40)
    for name, least in (("treble pulse of 0.45 to 0.7 s", 0.3), ("treble pulse", 0.3)):
        assert column(even, name)[middle].min() > column(uneven, name)[middle].max() + least
    assert column(even, "unevenness of onsets")[middle].max() < 0.1
    assert column(uneven, "unevenness of onsets")[middle].min() > 0.3
    np.testing.assert_allclose(column(even, "interval of onsets")[middle], np.log(0.56), atol=0.03)


def test_a_tune_that_comes_back_is_told_from_one_that_does_not():
    random = np.random.default_rng(5)
    steps = random.choice([0, 2, 4, 5, 7, 9, 11], 24)
    other = random.choice([0, 2, 4, 5, 7, 9, 11], 120)
    at_s = np.arange(1, 61, 0.5)
    again, never = (
        features_of(plucks(2 * SA_HZ * 2 ** (tune / 12), at_s, 62.0)) for tune in (np.resize(steps, 120), other)
    )
    middle = slice(40, 84)
    assert column(again, "tune comes back")[middle].min() > column(never, "tune comes back")[middle].max() + 0.1


def test_strokes_are_counted_over_the_span():
    features = features_of(np.zeros(20 * RATE_HZ), strokes_s=np.arange(4.1, 18, 0.25))
    rate = np.exp(column(features, f"stroke {RIM}, long")) - 0.1
    assert rate[20] == pytest.approx(4 * 0.85, rel=0.1)  # four a second, at a chance of 0.81 to 0.9
    assert rate[0] < rate[20] / 2  # from 0 to 6.25 s


def test_gain_changes_little():
    sound = clicks(np.arange(0.5, 19.5, 0.4), 20.0) + 0.02 * np.random.default_rng(1).normal(size=20 * RATE_HZ)
    loud, soft = features_of(sound), features_of(0.2 * sound)
    # the floor of the logarithms is fixed: 0.1 of a natural logarithm at most
    np.testing.assert_allclose(soft.values, loud.values, rtol=0, atol=0.1)


@pytest.mark.parametrize("seconds", [0.05, 0.3, 1.0])
def test_silent_and_short_recordings_have_features_too(seconds):
    assert np.isfinite(features_of(np.zeros(round(seconds * RATE_HZ))).values).all()


def test_means_reach_to_the_ends_and_peaks_stand_apart():
    values = np.array([0.0, 1.0, 0.0, 0.0, 3.0, 2.0, 0.0])
    np.testing.assert_allclose(mean_around(values, 1.0, np.array([0.0, 4.0, 99.0]), 2.0), [0.5, 1.25, 0.0])
    assert np.flatnonzero(peaks(values, 0.5, 1.0, 1.0)).tolist() == [1, 4]
    assert not len(peaks(np.zeros(0), 0.5, 1.0, 1.0))
