"""Levels of the waveform: the extremes of every cell, whatever the blocks they came in."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ingest.levels import COARSEST_CELLS, FACTOR, FINEST, LevelMaker

SOUND = np.random.default_rng(3).uniform(-1, 1, 300_000).astype(np.float32)


def levels_of(*blocks):
    maker = LevelMaker()
    for block in blocks:
        maker.add(block)
    return maker.finish()


@given(cuts=st.lists(st.integers(0, 50_000), max_size=8))
def test_the_blocks_have_no_influence(cuts):
    sound = SOUND[:50_000]
    whole, parts = levels_of(sound), levels_of(*np.split(sound, sorted(cuts)))
    assert len(whole.low) == len(parts.low)
    for one, other in zip(whole.low + whole.high, parts.low + parts.high, strict=True):
        np.testing.assert_array_equal(one, other)


def test_every_cell_of_every_level_holds_the_extremes_of_its_samples():
    levels = levels_of(SOUND)
    for number, (low, high) in enumerate(zip(levels.low, levels.high, strict=True)):
        edges = np.arange(0, len(SOUND), FINEST * FACTOR**number)
        np.testing.assert_array_equal(low, np.rint(np.minimum.reduceat(SOUND, edges) * 32767))
        np.testing.assert_array_equal(high, np.rint(np.maximum.reduceat(SOUND, edges) * 32767))
    assert len(levels.low[-1]) <= COARSEST_CELLS < len(levels.low[-2])


def test_what_is_louder_than_full_scale_is_cut_to_it():
    levels = levels_of(np.array([3.0, -7.0], np.float32))
    assert (levels.low[0].tolist(), levels.high[0].tolist()) == ([-32767], [32767])


@pytest.mark.parametrize("length", [0, 1, FINEST, FINEST + 1])
def test_a_sound_of_a_moment_has_a_level(length):
    levels = levels_of(SOUND[:length])
    assert [len(low) for low in levels.low] == [-(-length // FINEST)]
