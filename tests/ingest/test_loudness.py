"""Loudness by EBU R 128 against an outside meter and the published test signal; the limiter keeps below its ceiling.

Outside references: pyloudnorm (C. J. Steinmetz, J. D. Reiss, "pyloudnorm: a simple yet flexible loudness meter in
Python", AES 150th Convention, 2021); EBU Tech 3341, Loudness Metering: "EBU Mode" metering (2016), table 1, case 1
(from memory): a sine of 1 kHz in both channels at -23.0 dBFS has -23.0 LUFS within 0.1.
"""

import numpy as np
import pyloudnorm
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ingest.loudness import LOOK_AHEAD_S, limited, measured, ratio_of

RATE_HZ = 48000


def noise(seconds, seed=1):
    """Bursts of noise in stereo, as uneven as music, shape (n, 2)."""
    rng = np.random.default_rng(seed)
    sound = rng.normal(0, 0.1, (round(seconds * RATE_HZ), 2))
    return (sound * (0.1 + rng.random((len(sound) // 4800 + 1, 1))).repeat(4800, 0)[: len(sound)]).astype(np.float32)


def blocks(sound, length):
    return [sound[first : first + length] for first in range(0, len(sound), length)]


def test_the_published_tone_has_its_published_loudness():
    time_s = np.arange(20 * RATE_HZ) / RATE_HZ
    tone = (ratio_of(-23.0) * np.sin(2 * np.pi * 1000 * time_s)).astype(np.float32)
    assert measured([np.stack([tone, tone], 1)], RATE_HZ).lufs == pytest.approx(-23.0, abs=0.1)


@pytest.mark.parametrize("gain_db", [-30, 0, 9])
def test_loudness_is_that_of_an_outside_meter(gain_db):
    sound = noise(6) * np.float32(ratio_of(gain_db))
    outside = pyloudnorm.Meter(RATE_HZ).integrated_loudness(sound.astype(float))
    assert measured(blocks(sound, 7001), RATE_HZ).lufs == pytest.approx(outside, abs=0.1)


def test_silence_and_a_moment_have_no_loudness():
    assert measured([np.zeros((RATE_HZ, 2), np.float32)], RATE_HZ).lufs == -np.inf
    assert measured([noise(0.3)], RATE_HZ).lufs == -np.inf


def test_a_peak_between_the_samples_is_seen():
    # a quarter of the rate, an eighth of a turn off: no sample is higher than 0.707 of the peak
    tone = np.sin(np.pi / 2 * np.arange(RATE_HZ) + np.pi / 4).astype(np.float32)
    tone *= np.sin(np.linspace(0, np.pi, len(tone))).astype(np.float32)
    assert np.abs(tone).max() < 0.71
    assert measured([np.stack([tone, tone], 1)], RATE_HZ).peak_db == pytest.approx(0, abs=0.2)


@pytest.mark.parametrize("gain", [0.5, 2.0, 5.0])
def test_nothing_passes_the_ceiling_and_nothing_else_is_changed(gain):
    sound, ceiling = noise(3), ratio_of(-1.0)
    out = np.concatenate(list(limited(blocks(sound, 10_000), gain, ceiling, RATE_HZ)))
    assert out.shape == sound.shape
    # another filter between the samples: EBU Tech 3341 lets true-peak meters differ by 0.2 dB upwards (from memory)
    assert measured([out], RATE_HZ).peak_db <= -1.0 + 0.2
    loud = np.abs(sound).max(1) * gain > 0.6 * ceiling
    reach = 2 * round(LOOK_AHEAD_S * RATE_HZ) + 2
    untouched = np.convolve(loud, np.ones(2 * reach + 1), "same") < 0.5
    assert np.array_equal(out[untouched], (sound * np.float32(gain))[untouched])


@settings(max_examples=15)
@given(length=st.integers(1, 9000), size=st.integers(1, 5000))
def test_the_limiter_gives_the_same_whatever_blocks_it_is_given(length, size):
    sound = noise(0.2)[:length]
    whole = np.concatenate(list(limited([sound], 4.0, 0.8, RATE_HZ)))
    pieces = np.concatenate(list(limited(blocks(sound, size), 4.0, 0.8, RATE_HZ)))
    assert whole.shape == pieces.shape == sound.shape
    assert np.allclose(whole, pieces, rtol=0, atol=1e-6)
