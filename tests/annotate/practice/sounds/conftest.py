"""The invented concert in rupak of the dashboard's tests, with a sound of which everything is known.

It is a steady tone, and a stroke on every matra (half a second each, sam at 4.0 s and every 3.5 s from there).
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import soundfile

from annotate.archive import Archive
from annotate.marking import record_tihai
from annotate.practice.pieces import Piece, piece
from tests.dashboard.conftest import DURATION_S, MATRA_S, SLUG, build_archive

TONE_HZ = 440.0
SOUND_HZ = 44100
STROKE_HZ = 2900.0


@pytest.fixture(scope="session")
def concert(tmp_path_factory: pytest.TempPathFactory) -> Archive:
    """An archive that tests only look at. t03 has a dam and ends with the concert; t04 is of bols."""
    folder = tmp_path_factory.mktemp("sounds") / "archive"
    archive = build_archive(folder)
    _write_sound(folder / archive.state(SLUG).recording.audio_path)
    for start_s, start, step_s, landing_s, palla, dam in (
        (22.0, 2, 1.25, 25.0, "R m", Fraction(1, 2)),
        (7.5, 1, 2.5, 14.5, "Dha TiTe Dha GeNa Dha", Fraction(0)),
    ):
        record_tihai(
            archive,
            SLUG,
            palla_s=[start_s + number * step_s for number in range(3)],
            landing_s=landing_s,
            palla=palla,
            dam=dam,
            start=Fraction(start),
            played_by="tabla" if palla.startswith("Dha") else "mandolin",
            status="confirmed",
        )
    return archive


@pytest.fixture(scope="session")
def tihai(concert: Archive) -> Piece:
    """5 + 5 + 5 = 15 = 2 x 7 + 1 from sam at 7.5 s, landing on sam at 14.5 s."""
    return piece(concert, f"{SLUG}/t01")


def strokes_s() -> np.ndarray:
    """When a stroke was struck in the recording."""
    return np.arange(4.0, DURATION_S - 0.1, MATRA_S)


def _write_sound(path: Path) -> None:
    time_s = np.arange(round(DURATION_S * SOUND_HZ)) / SOUND_HZ
    sound = 0.1 * np.sin(2 * np.pi * TONE_HZ * time_s)
    lasts = np.arange(2400) / SOUND_HZ
    stroke = 0.5 * np.exp(-lasts / 0.008) * np.sin(2 * np.pi * STROKE_HZ * lasts)
    for struck_s in strokes_s():
        at = round(struck_s * SOUND_HZ)
        sound[at : at + 2400] += stroke[: len(sound) - at]
    soundfile.write(path, sound.astype(np.float32), SOUND_HZ)
