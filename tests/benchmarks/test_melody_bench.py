"""What the melody benchmark measures with, and what its weights are learnt with, on cases whose answer is plain."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from benchmarks.learn_melody import gradients, piece, read_frames, targets
from benchmarks.melody import melody_scores, true_hz_at
from benchmarks.melody_tones import tones
from ingest.melody_scores import CONTEXT, PITCHES, PLACES, Network, at_place, read_network, readable, write_network
from ingest.melody_spectra import CELLS, HOP_S, LOWEST_HZ, STEP_CENTS, pitch_maps

TIMES_S = np.arange(200) * 0.02


def _truth() -> Any:
    """Two seconds of 200 Hz, one of silence, one of 300 Hz, every 10 ms."""
    return SimpleNamespace(melody_hz=[*[200.0] * 200, *[0.0] * 100, *[300.0] * 101])


def test_the_truth_itself_scores_full_marks() -> None:
    hz = true_hz_at(_truth(), TIMES_S)
    assert melody_scores(TIMES_S, np.maximum(hz, 100.0), hz > 0, _truth()) == pytest.approx((1, 1, 1, 0, 1))


def test_an_octave_off_is_right_in_chroma_only_and_voicing_is_judged_apart() -> None:
    hz = np.maximum(true_hz_at(_truth(), TIMES_S), 100.0)
    pitch, chroma, recall, false_alarm, _ = melody_scores(TIMES_S, 2 * hz, np.ones(200, bool), _truth())
    assert (pitch, chroma, recall, false_alarm) == (0, 1, 1, 1)
    pitch, _, recall, false_alarm, _ = melody_scores(TIMES_S, hz, np.zeros(200, bool), _truth())
    assert (pitch, recall, false_alarm) == (1, 0, 0)


def test_the_slopes_by_which_weights_are_learnt_are_those_of_the_loss() -> None:
    rng = np.random.default_rng(1)
    layers = [rng.normal(0, 0.5, shape) for shape in ((5, len(PLACES)), (5,), (3, 5), (3,), (1, 3), (1,))]
    read = rng.normal(0, 1, (len(PLACES), 2, PITCHES))
    wanted = targets(np.array([220.0, 0.0]))
    _, slopes = gradients(layers, read, wanted)
    for layer, slope in zip(layers, slopes, strict=True):
        at = tuple(int(rng.integers(size)) for size in layer.shape)
        step = 1e-5
        losses = []
        for sign in (1, -1):
            layer[at] += sign * step
            losses.append(gradients(layers, read, wanted)[0])
            layer[at] -= sign * step
        # the loss adds 1e-9 within its logarithm, and a kink of a hidden unit may lie within the step
        assert slope[at] == pytest.approx((losses[0] - losses[1]) / (2 * step), rel=1e-3, abs=1e-6)


def test_a_target_is_shared_between_the_two_steps_beside_the_pitch_and_silence_is_one_of_them() -> None:
    between_hz = LOWEST_HZ * 2 ** (10.25 * STEP_CENTS / 1200)
    sung, silent, too_high = targets(np.array([between_hz, 0.0, 4000.0]))
    assert sung[[10, 11]] == pytest.approx([0.75, 0.25])
    assert sung.sum() == pytest.approx(1)
    assert silent[-1] == too_high[-1] == 1


def test_what_is_read_to_learn_is_what_ingest_reads() -> None:
    sound, hz = tones(3, seconds=10.0)
    learnt_on = piece([sound], hz, HOP_S)
    blocks = list(readable(pitch_maps([sound])))
    frames = np.arange(50, 60)
    read = read_frames(learnt_on, frames, np.ones(CELLS))
    padded = blocks[0][0]
    for number, place in enumerate(PLACES):
        wanted = at_place(padded, place, slice(CONTEXT + 50, CONTEXT + 60))
        # kept as float16 to learn on: three digits
        np.testing.assert_allclose(read[number], np.broadcast_to(wanted, read[number].shape), rtol=2e-3, atol=2e-3)


def test_weights_come_back_as_they_were_written_to_four_digits(tmp_path: Path) -> None:
    rng = np.random.default_rng(2)
    network = Network(
        (rng.normal(0, 1, (3, 4)).astype(np.float32), rng.normal(0, 1, (1, 3)).astype(np.float32)),
        (rng.normal(0, 1, 3).astype(np.float32), rng.normal(0, 1, 1).astype(np.float32)),
    )
    write_network(tmp_path / "weights.json", network, "of a test")
    back = read_network(tmp_path / "weights.json")
    read = rng.normal(0, 1, (4, 7)).astype(np.float32)
    np.testing.assert_allclose(back.scores(read), network.scores(read), rtol=0, atol=1e-2)


def test_tones_sound_at_the_pitch_that_is_said_of_them() -> None:
    sound, hz = tones(5, seconds=8.0)
    assert 0.1 < np.mean(hz > 0) <= 1
    maps = list(pitch_maps([sound]))
    long = np.concatenate([part.long for part in maps])
    voiced = np.flatnonzero(hz > 0)
    cell = np.rint(1200 * np.log2(hz[voiced] / LOWEST_HZ) / STEP_CENTS).astype(int)
    here = long[voiced, cell]
    assert np.median(here) > 2 * np.median(long[voiced])
