"""The coarse colour of the sound, row by row."""

import numpy as np
import pytest

from ingest.measure import measure_blocks
from ingest.texture import FRAMES, TEXTURE_BANDS, TEXTURE_HOP_S, texture_end, texture_start, texture_step
from tests.ingest.sounds import RATE_HZ, tone


@pytest.mark.parametrize("sizes", [[100], [1] * 100, [33, 0, 31, 36]])
def test_rows_are_the_same_however_the_frames_arrive(sizes):
    loudness = np.random.default_rng(0).random((100, 41)).astype(np.float32)
    state, rows = texture_start(), []
    first = 0
    for size in sizes:
        state, ready = texture_step(state, loudness[first : first + size])
        rows.append(ready)
        first += size
    rows = np.concatenate([*rows, texture_end(state)])
    assert rows.shape == (4, TEXTURE_BANDS)
    np.testing.assert_allclose(rows[1, -1], loudness[FRAMES : 2 * FRAMES, -4:].mean(), rtol=1e-5)
    np.testing.assert_allclose(rows[3, -1], loudness[3 * FRAMES :, -4:].mean(), rtol=1e-5)


@pytest.mark.parametrize(("hz", "column"), [(70.0, 0), (200.0, 1), (6500.0, TEXTURE_BANDS - 1)])
def test_a_tone_is_loudest_in_its_own_band_and_only_while_it_sounds(hz, column):
    sound = np.concatenate([np.zeros(2 * RATE_HZ), 0.3 * tone(hz, 2.0)]).astype(np.float32)
    texture = measure_blocks([sound]).texture
    sounding = texture[round(2.5 / TEXTURE_HOP_S) : round(3.5 / TEXTURE_HOP_S)]
    assert (sounding.argmax(axis=1) == column).all()
    assert texture[: round(1.5 / TEXTURE_HOP_S)].max() < 0.05 * sounding.max()


def test_no_frames_give_no_rows():
    assert texture_end(texture_start()).shape == (0, TEXTURE_BANDS)
