"""The melody of plucks with a glide over a drone, whose pitch is known exactly."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
from numpy.typing import NDArray

from ingest.decode import WORK_RATE_HZ
from ingest.melody import Melody, melody_of_blocks
from ingest.melody_spectra import HOP
from ingest.swaras_heard import VOICED

SA_HZ = 146.83
NEAR_CENTS, LEAST_SHARE = 50, 0.95


def _tone(cents: NDArray[np.float64], partials: int) -> NDArray[np.float32]:
    phase = 2 * np.pi * np.cumsum(SA_HZ * 2 ** (cents / 1200)) / WORK_RATE_HZ
    return sum(np.sin(n * phase) / n for n in range(1, partials + 1)).astype(np.float32)


def _plucks_over_a_drone(octave: int = 0) -> tuple[NDArray[np.float32], NDArray[np.float64]]:
    """Four swaras of a second each, the third gliding into the fourth, three times; sound and true cents per sample."""
    held = [np.full(WORK_RATE_HZ, cents) for cents in (200.0, 400.0, 700.0)]
    cents = np.tile(np.concatenate([*held, np.linspace(700.0, 900.0, WORK_RATE_HZ)]), 3) + 1200.0 * octave
    fall = np.exp(-1.5 * (np.arange(len(cents)) % WORK_RATE_HZ) / WORK_RATE_HZ)
    drone = _tone(np.zeros(len(cents)), 10) + _tone(np.full(len(cents), -1200.0), 10)
    return (_tone(cents, 8) * fall + 0.3 * drone).astype(np.float32) * 0.2, cents


Heard = tuple[NDArray[np.float32], NDArray[np.float64], Melody]


@pytest.fixture(scope="module", params=[0, 1])
def heard(request: pytest.FixtureRequest) -> Heard:
    sound, cents = _plucks_over_a_drone(request.param)
    return sound, cents, melody_of_blocks([sound])


def test_plucks_and_glides_over_a_drone_are_followed_within_fifty_cents(heard: Heard) -> None:
    _, cents, found = heard
    true = cents[np.minimum(np.arange(len(found.voicing)) * HOP, len(cents) - 1)]
    assert np.mean(np.abs(found.cents(SA_HZ) - true) <= NEAR_CENTS) >= LEAST_SHARE
    assert np.mean(found.voicing >= VOICED) >= LEAST_SHARE


def test_held_swaras_are_read_between_the_steps_of_pitch(heard: Heard) -> None:
    _, cents, found = heard
    true = cents[np.minimum(np.arange(len(found.voicing)) * HOP, len(cents) - 1)]
    held = true % 1200 == 400.0
    # 5 cents: a quarter of a step
    assert np.median(np.abs(found.cents(SA_HZ) - true)[held]) <= 5


def test_the_melody_does_not_depend_on_how_the_sound_comes_in(heard: Heard) -> None:
    sound, _, whole = heard
    parts = melody_of_blocks(np.array_split(sound, 7))
    assert len(whole.voicing) == -(-len(sound) // HOP)
    for name in ("fundamental_hz", "voicing", "strength"):
        # float32 sums over blocks of other lengths: the last digit may differ
        np.testing.assert_allclose(getattr(whole, name), getattr(parts, name), rtol=1e-4, atol=1e-4)


def test_silence_and_no_sound_at_all_have_no_voice() -> None:
    assert not (melody_of_blocks([np.zeros(WORK_RATE_HZ, np.float32)]).voicing >= VOICED).any()
    assert len(melody_of_blocks([]).voicing) == 0


def test_a_drone_alone_and_noise_alone_have_little_voice() -> None:
    count = 12 * WORK_RATE_HZ
    drone = 0.05 * (_tone(np.zeros(count), 10) + _tone(np.full(count, -1200.0), 10))
    noise = np.random.default_rng(1).normal(0, 0.003, count).astype(np.float32)
    found = melody_of_blocks([drone + noise])
    assert np.mean(found.voicing >= VOICED) < 1 / 3
    assert np.mean(found.voicing >= 0.5) < 0.1


@pytest.mark.parametrize("seconds", [0.001, 0.02, 3.99, 4.0, 4.01])
def test_every_length_has_a_frame_each_20_ms(heard: Heard, seconds: float) -> None:
    sound = heard[0]
    samples = round(seconds * WORK_RATE_HZ)
    assert len(melody_of_blocks([sound[:samples]]).voicing) == -(-samples // HOP)


def test_importing_the_melody_compiles_and_loads_nothing_heavy() -> None:
    code = "import sys, ingest.melody; print(sorted({'numba', 'librosa', 'scipy.fft'} & set(sys.modules)))"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "[]\n"
