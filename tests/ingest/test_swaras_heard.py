"""Swaras read from a melody that is written down, not measured."""

from __future__ import annotations

import numpy as np
import pytest

from ingest.melody import Melody
from ingest.swaras_heard import draft_transcription, held_swaras, swara_histogram
from theory.notation import parse

HOP_S = 0.02


def _melody(*notes: tuple[float, float, float]) -> Melody:
    """From (seconds, cents, voicing)."""
    counts = [round(seconds / HOP_S) for seconds, _, _ in notes]
    cents = np.repeat([note[1] for note in notes], counts).astype(np.float32)
    return Melody(HOP_S, cents, np.repeat([note[2] for note in notes], counts).astype(np.float32))


HEARD = _melody((1.0, 5.0, 0.9), (0.5, 210.0, 0.9), (0.5, 0.0, 0.0), (1.0, 1190.0, 0.9), (1.0, -210.0, 0.9))


def test_the_share_of_time_counts_voiced_frames_of_all_octaves_together() -> None:
    shares = swara_histogram(HEARD)
    assert sum(shares.values()) == pytest.approx(1)
    assert shares["S"] == pytest.approx(2 / 3.5)
    assert shares["R"] == pytest.approx(0.5 / 3.5)
    assert not any(swara_histogram(_melody()).values())


def test_held_swaras_have_start_end_and_octave() -> None:
    found = [(held.start_s, held.end_s, held.swara) for held in held_swaras(HEARD, 0.8)]
    assert found == [(0.0, 1.0, "S"), (2.0, 3.0, "S'"), (3.0, 4.0, ".n")]
    assert held_swaras(_melody()) == []


def test_a_draft_lies_on_the_matras_and_is_notation() -> None:
    text = draft_transcription(HEARD, np.array([0.0, 1.0, 2.0, 3.0, 4.0]))
    assert text == "S R_ S' .n"
    assert parse(text).length == 4
    assert draft_transcription(HEARD, np.array([1.0])) == ""
