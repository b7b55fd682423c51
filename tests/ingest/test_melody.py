"""The melody of plucks with a glide over a drone, whose pitch is known exactly."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ingest.decode import WORK_RATE_HZ
from ingest.melody import melody_of_blocks

SA_HZ = 146.83
NEAR_CENTS, LEAST_SHARE = 50, 0.9


def _tone(cents: NDArray[np.float64], partials: int) -> NDArray[np.float32]:
    phase = 2 * np.pi * np.cumsum(SA_HZ * 2 ** (cents / 1200)) / WORK_RATE_HZ
    return sum(np.sin(n * phase) / n for n in range(1, partials + 1)).astype(np.float32)


def _plucks_over_a_drone() -> tuple[NDArray[np.float32], NDArray[np.float64]]:
    """Four swaras of a second each, the third gliding into the fourth, twice; sound and true cents per sample."""
    held = [np.full(WORK_RATE_HZ, cents) for cents in (200.0, 400.0, 700.0)]
    cents = np.tile(np.concatenate([*held, np.linspace(700.0, 900.0, WORK_RATE_HZ)]), 3)
    fall = np.exp(-1.5 * (np.arange(len(cents)) % WORK_RATE_HZ) / WORK_RATE_HZ)
    drone = _tone(np.zeros(len(cents)), 10) + _tone(np.full(len(cents), -1200.0), 10)
    return (_tone(cents, 8) * fall + 0.3 * drone).astype(np.float32) * 0.2, cents


def test_plucks_and_glides_over_a_drone_are_followed_within_fifty_cents() -> None:
    sound, cents = _plucks_over_a_drone()
    found = melody_of_blocks([sound], SA_HZ)
    true = cents[np.minimum((np.arange(len(found.cents)) * found.hop_s * WORK_RATE_HZ).astype(int), len(cents) - 1)]
    assert np.mean(np.abs(found.cents - true) <= NEAR_CENTS) >= LEAST_SHARE


def test_the_melody_does_not_depend_on_the_size_of_the_blocks() -> None:
    sound, _ = _plucks_over_a_drone()
    whole = melody_of_blocks([sound], SA_HZ)
    parts = melody_of_blocks(np.array_split(sound, 7), SA_HZ)
    assert len(whole.cents) == -(-len(sound) // 441)
    assert np.array_equal(whole.cents, parts.cents)
    assert np.allclose(whole.voicing, parts.voicing)


def test_silence_and_no_sound_at_all_have_no_voice() -> None:
    assert not melody_of_blocks([np.zeros(WORK_RATE_HZ, np.float32)], SA_HZ).voicing.any()
    assert len(melody_of_blocks([], SA_HZ).cents) <= 1
