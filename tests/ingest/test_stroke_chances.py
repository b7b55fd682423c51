"""The chances of strokes: a stream that gives what the whole gives, and strokes told apart."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ingest.measure import measure_blocks
from ingest.stroke_chances import CELL, CHANCE_HOP_S, EVERY, STROKE_KINDS, chance_end, chance_start, chance_step
from sample_data import tabla
from sample_data.events import Stroke
from sample_data.tools import RATE_HZ

BANDS = 41


def stream(bands, sizes):
    state, out, first = chance_start(), [], 0
    for size in sizes:
        state, ready = chance_step(state, bands[first : first + size])
        out.append(ready)
        first += size
    state, ready = chance_step(state, bands[first:])
    return np.concatenate([*out, ready, chance_end(state)])


@given(st.integers(1, 40 * CELL), st.lists(st.integers(0, 9 * CELL), max_size=6))
def test_in_blocks_of_any_size_the_chances_are_those_of_the_whole(frames, sizes):
    bands = np.random.default_rng(frames).random((frames, BANDS), np.float32)
    whole = stream(bands, [])
    assert whole.shape == (-(-frames // EVERY), len(STROKE_KINDS))
    # BLAS adds up in another order for other shapes: single precision through some hundred products
    np.testing.assert_allclose(stream(bands, sizes), whole, rtol=0, atol=2e-4)


def test_nothing_heard_gives_no_frames():
    assert chance_end(chance_start()).shape == (0, len(STROKE_KINDS))


def chances_of(strokes, seconds=12.0):
    """Chances over a sound of the sample pair of tabla, resampled to the rate of ingest."""
    import soxr

    sound = 1e-4 * np.random.default_rng(3).standard_normal(int(seconds * RATE_HZ))
    for number, stroke in enumerate(strokes):
        for part in (tabla.dayan_sound(stroke, 277.0, (1, number)), tabla.bayan_sound(stroke, (2, number))):
            first = int(stroke.onset_s * RATE_HZ)
            sound[first : first + len(part)] += part[: len(sound) - first]
    blocks = [soxr.resample(sound, RATE_HZ, 22050).astype(np.float32)]
    return measure_blocks(blocks).strokes


KINDS = {
    "bass rings": Stroke(0.0, "rings", "none", "rim", 0.9),
    "bass dead": Stroke(0.0, "dead", "none", "rim", 0.9),
    "rim": Stroke(0.0, "none", "rings", "rim", 0.9),
    "sur": Stroke(0.0, "none", "rings", "sur", 0.9),
    "open": Stroke(0.0, "none", "rings", "open", 0.9),
    "dead": Stroke(0.0, "none", "dead", "rim", 0.9),
}


@pytest.fixture(scope="module")
def told():
    """Every kind struck five times in turn, half a second apart: kinds, times and chances."""
    order = list(KINDS) * 5
    times = 1.0 + 0.5 * np.arange(len(order))
    strokes = [
        Stroke(at, KINDS[k].bass, KINDS[k].treble, KINDS[k].colour, 0.9) for k, at in zip(order, times, strict=True)
    ]
    return order, times, chances_of(strokes, times[-1] + 2.0)


def test_what_rings_and_what_is_dead_is_told_on_a_pair_that_was_not_learnt_from(told):
    """The open stroke in the middle and the dead bayan of this synthetic pair are not told: known weakness."""
    order, times, chances = told
    frames = np.rint(times / CHANCE_HOP_S).astype(int)
    near = np.stack([chances[frame - 2 : frame + 3].max(axis=0) for frame in frames])[:, :6]
    group = {"bass rings": "bayan", "rim": "rings", "sur": "rings", "dead": "dead"}
    heard = [group.get(STROKE_KINDS[row.argmax()], "other") for row in near]
    right = [what == group[kind] for what, kind in zip(heard, order, strict=True) if kind in group]
    assert np.mean(right) >= 0.9


def test_between_strokes_nothing_is_heard(told):
    _, times, chances = told
    frames = np.rint((times[:-1] + 0.25) / CHANCE_HOP_S).astype(int)
    between = np.stack([chances[frame - 2 : frame + 3].max(axis=0) for frame in frames])[:, :6]
    assert (between > 0.5).any(axis=1).mean() < 0.1
