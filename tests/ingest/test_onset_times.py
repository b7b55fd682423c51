"""When something was struck: from onset strengths that are written down, and from small sounds."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from ingest.evidence import Evidence
from ingest.measure import measure_blocks
from ingest.onset_times import onset_times
from tests.ingest.sounds import RATE_HZ, bayan, dayan, put, tone

NEAR_S = 0.012
"""Two frames of the onset strengths (5.8 ms each)."""


def _measured(sound: np.ndarray) -> Evidence:
    """With a little noise from 0 on, as rooms have: in dead silence the end of a made-up stroke would be a click."""
    noise = np.random.default_rng(1).normal(0, 0.003, len(sound))
    return measure_blocks([(sound + noise).astype(np.float32)])


@pytest.fixture(scope="module")
def strokes() -> tuple[Evidence, np.ndarray]:
    """Twenty strokes, by turns of the dayan and of the bayan, some quick, over a still drone."""
    at_s = np.cumsum([1.0, *[0.4, 0.13, 0.37, 0.6] * 5][:20])
    sound = 0.05 * sum(tone(hz, at_s[-1] + 1) for hz in (110.0, 220.0, 330.0, 440.0))
    for number, each_s in enumerate(at_s):
        put(sound, each_s, 0.3 * (dayan(number) if number % 2 else 2 * bayan()))
    return _measured(sound), at_s


def test_every_stroke_is_found_where_it_was_struck_and_nothing_else(strokes: tuple[Evidence, np.ndarray]) -> None:
    evidence, true_s = strokes
    found_s = onset_times(evidence)
    found_s = found_s[found_s > 0.5]  # at 0 the drone begins
    assert len(found_s) == len(true_s)
    assert np.abs(found_s - true_s).max() <= NEAR_S


@pytest.mark.parametrize("gain", [0.1, 7.0])
def test_a_gain_changes_nothing(strokes: tuple[Evidence, np.ndarray], gain: float) -> None:
    evidence, _ = strokes
    louder = replace(evidence, bass=evidence.bass * np.float32(gain), treble=evidence.treble * np.float32(gain))
    # the strengths are float32: the parabola's top may move by a part in a thousand of a frame
    np.testing.assert_allclose(onset_times(louder), onset_times(evidence), rtol=0, atol=1e-5)


def test_two_drums_struck_together_are_one_onset() -> None:
    sound = np.zeros(3 * RATE_HZ)
    for at_s in (1.0, 2.0):
        put(sound, at_s, dayan())
        put(sound, at_s + 0.01, bayan())
    found_s = onset_times(_measured(sound))
    assert found_s[found_s > 0.5] == pytest.approx([1.0, 2.0], abs=NEAR_S + 0.01)


@pytest.mark.parametrize("seconds", [0.001, 0.01, 2.0])
def test_silence_has_no_onset(seconds: float) -> None:
    assert len(onset_times(measure_blocks([np.zeros(round(seconds * RATE_HZ), np.float32)]))) == 0
