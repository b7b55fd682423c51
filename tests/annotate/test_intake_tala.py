"""The tala of a section, chosen among candidates by what is played."""

from __future__ import annotations

import numpy as np
import pytest

from annotate.intake_work import best_tala
from ingest.measure import measure_blocks
from tests.ingest.sounds import RATE_HZ, theka
from theory.talas import get_tala

CANDIDATES = ("teental", "jhaptal", "rupak", "keherwa")
LENGTH_S = 40.0


@pytest.mark.parametrize("played", ["teental", "jhaptal", "rupak"])
def test_the_tala_whose_theka_is_played_is_chosen(played: str) -> None:
    matras_s = np.arange(0.5, LENGTH_S - 0.5, 0.42)
    sound = theka(get_tala(played), matras_s, LENGTH_S) + 1e-4 * np.random.default_rng(1).normal(
        size=round(LENGTH_S * RATE_HZ)
    )
    evidence = measure_blocks([sound.astype(np.float32)])
    talas = [get_tala(key) for key in CANDIDATES]
    assert best_tala(evidence, 0.0, LENGTH_S, talas).key == played


def test_where_nothing_is_heard_the_first_candidate_is_taken() -> None:
    silence = measure_blocks([np.zeros(20 * RATE_HZ, np.float32)])
    talas = [get_tala(key) for key in ("jhaptal", "teental")]
    assert best_tala(silence, 0.0, 20.0, talas).key == "jhaptal"
