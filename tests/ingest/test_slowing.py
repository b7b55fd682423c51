"""Slowed sound keeps its pitch, and its strokes stay single and where they were; measured, with the tolerances said."""

import numpy as np
import pytest

from ingest.slowing import ONSET_S, slowed

RATE_HZ = 48000
SPEEDS = (0.9, 0.75, 0.6, 0.5, 0.4, 0.25)
TONE_HZ = 440.0
STRUCK_S = np.arange(1.0, 7.1, 0.5)
LENGTH_S = 8.0


def tone():
    return (0.3 * np.sin(2 * np.pi * TONE_HZ * np.arange(round(LENGTH_S * RATE_HZ)) / RATE_HZ)).astype(np.float32)


def clicks():
    sound = np.zeros(round(LENGTH_S * RATE_HZ), np.float32)
    time_s = np.arange(1200) / RATE_HZ
    for struck_s in STRUCK_S:
        at = round(struck_s * RATE_HZ)
        sound[at : at + 1200] += (0.6 * np.exp(-time_s / 0.006) * np.sin(2 * np.pi * 1100 * time_s)).astype(np.float32)
    return sound


def pitch_hz(sound):
    middle = sound[len(sound) // 4 : 3 * len(sound) // 4]
    middle = middle * np.hanning(len(middle))
    spectrum = np.abs(np.fft.rfft(middle, 8 * len(middle)))
    return np.fft.rfftfreq(8 * len(middle), 1 / RATE_HZ)[spectrum.argmax()]


@pytest.mark.parametrize("speed", SPEEDS)
def test_a_tone_keeps_its_pitch_within_a_cent(speed):
    heard = slowed(tone()[:, None], RATE_HZ, speed)[:, 0]
    assert 1200 * np.log2(pitch_hz(heard) / TONE_HZ) == pytest.approx(0, abs=1)


@pytest.mark.parametrize("speed", SPEEDS)
def test_a_stroke_begins_where_it_was_struck_and_is_heard_once(speed):
    heard = np.abs(slowed(clicks()[:, None], RATE_HZ, speed)[:, 0])
    for struck_s in STRUCK_S:
        place, around = round(struck_s / speed * RATE_HZ), round(0.2 / speed * RATE_HZ)
        near = heard[place - around : place + around]
        begins_s = (np.flatnonzero(near > 0.2 * near.max())[0] - around) / RATE_HZ
        assert begins_s == pytest.approx(0, abs=ONSET_S)
        beside = near.copy()
        beside[around - round(0.04 * RATE_HZ) : around + round(0.06 * RATE_HZ)] = 0
        assert beside.max() < 0.1 * near.max(), "a second stroke beside the first, louder than 20 dB below it"


@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize("length", [0, 100, 48000])
def test_any_length_and_number_of_channels_comes_out_as_much_longer(length, channels):
    assert slowed(np.zeros((length, channels), np.float32), RATE_HZ, 0.4).shape == (round(length / 0.4), channels)


def test_the_same_sound_comes_out_the_same_each_time():
    sound = clicks()[: 2 * RATE_HZ, None]
    assert np.array_equal(slowed(sound, RATE_HZ, 0.3), slowed(sound, RATE_HZ, 0.3))


def test_at_full_speed_nothing_is_changed():
    assert np.array_equal(slowed(clicks()[:, None], RATE_HZ, 1.0)[:, 0], clicks())


@pytest.mark.parametrize("speed", [0.2, 1.1, 0.0])
def test_speeds_that_are_not_offered_are_refused(speed):
    with pytest.raises(ValueError, match=r"0\.25 to 1"):
        slowed(np.zeros((10, 1), np.float32), RATE_HZ, speed)
