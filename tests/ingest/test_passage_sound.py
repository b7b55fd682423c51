"""A passage begins and ends where it was asked to, at any speed."""

import io

import numpy as np
import pytest
import soundfile

from ingest.passage_sound import LEVEL, passage_flac

RATE_HZ = 44100
STRUCK_S = (2.0, 3.0, 4.5)
ONSET_S = 0.003


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    """Six seconds with three strokes, left only."""
    samples = np.zeros((6 * RATE_HZ, 2), np.float32)
    time_s = np.arange(1200) / RATE_HZ
    stroke = 0.6 * np.exp(-time_s / 0.006) * np.sin(2 * np.pi * 1100 * time_s)
    for struck_s in STRUCK_S:
        samples[round(struck_s * RATE_HZ) : round(struck_s * RATE_HZ) + 1200, 0] = stroke
    path = tmp_path_factory.mktemp("passage") / "sound.flac"
    soundfile.write(path, samples, RATE_HZ)
    return path


def heard(made):
    samples, rate_hz = soundfile.read(io.BytesIO(made))
    assert rate_hz == RATE_HZ
    return samples


def test_at_full_speed_a_passage_is_the_sound_itself(sound):
    whole, _ = soundfile.read(sound)
    made = heard(passage_flac(sound, 1.5, 3.25, 1.0))
    # half as loud; 16 bits
    np.testing.assert_allclose(made / LEVEL, whole[round(1.5 * RATE_HZ) : round(3.25 * RATE_HZ)], rtol=0, atol=2**-14)


@pytest.mark.parametrize("speed", [0.75, 0.5, 0.25])
@pytest.mark.parametrize("start_s", [0.0, 1.9, 1.0])
def test_slowly_it_is_as_much_longer_and_strokes_are_where_they_belong(sound, start_s, speed):
    made = heard(passage_flac(sound, start_s, 4.0, speed))
    assert len(made) == pytest.approx((4.0 - start_s) / speed * RATE_HZ, abs=1)
    loud = np.flatnonzero(np.abs(made[:, 0]) > 0.04)
    begins_s = loud[np.append(True, np.diff(loud) > 0.2 * RATE_HZ)] / RATE_HZ
    expected = [(struck_s - start_s) / speed for struck_s in STRUCK_S if start_s <= struck_s < 4.0]
    assert list(begins_s) == pytest.approx(expected, abs=ONSET_S)
    assert np.abs(made[:, 1]).max() < 0.01  # the other channel stays silent


def test_a_passage_over_the_end_is_cut_there_and_one_after_it_is_none(sound):
    assert len(heard(passage_flac(sound, 5.0, 8.0, 0.5))) == 2 * RATE_HZ
    assert passage_flac(sound, 6.5, 8.0, 0.5) is None
    assert passage_flac(sound, 6.5, 8.0, 1.0) is None
