"""Swaras read from a melody that is written down, not measured."""

from __future__ import annotations

import pytest

from ingest.swaras_heard import held_swaras, middle_sa_hz, swara_histogram
from tests.ingest.heard_melody import SA_HZ, written_melody

HEARD = written_melody((1.0, 5.0, 0.9), (0.5, 210.0, 0.9), (0.5, 0.0, 0.0), (1.0, 1190.0, 0.9), (1.0, -210.0, 0.9))


def test_the_share_of_time_counts_voiced_frames_of_all_octaves_together() -> None:
    shares = swara_histogram(HEARD, SA_HZ)
    assert sum(shares.values()) == pytest.approx(1)
    assert shares["S"] == pytest.approx(2 / 3.5)
    assert shares["R"] == pytest.approx(0.5 / 3.5)
    assert not any(swara_histogram(written_melody(), SA_HZ).values())


def test_held_swaras_have_start_end_and_octave() -> None:
    found = [(held.start_s, held.end_s, held.swara) for held in held_swaras(HEARD, SA_HZ, least_s=0.8)]
    assert found == [(0.0, 1.0, "S"), (2.0, 3.0, "S'"), (3.0, 4.0, ".n")]
    assert held_swaras(written_melody(), SA_HZ) == []


def test_a_stroke_of_the_tabla_does_not_end_a_held_swara() -> None:
    broken = written_melody((0.3, 400.0, 0.9), (0.04, 900.0, 0.9), (0.3, 400.0, 0.9))
    (held,) = held_swaras(broken, SA_HZ)
    assert (held.swara, held.end_s) == ("G", pytest.approx(0.64))


@pytest.mark.parametrize(
    ("cents", "raga", "swara"),
    [(355, "SRGmPN", "G"), (345, "SRGmPN", "G"), (320, "SRGmPN", "g"), (345, "", "g"), (345, "SRgmPN", "g")],
)
def test_a_pitch_between_two_swaras_is_heard_as_the_one_that_the_raga_uses(cents: float, raga: str, swara: str) -> None:
    shares = swara_histogram(written_melody((1.0, cents, 0.9)), SA_HZ, raga)
    assert shares[swara] == 1


@pytest.mark.parametrize("octaves", [-1, 0, 1, 2])
def test_the_middle_sa_is_the_one_above_which_most_of_the_melody_lies(octaves: int) -> None:
    melody = written_melody((1.0, 0.0, 0.9), (1.0, 400.0, 0.9), (1.0, 700.0, 0.9), (5.0, 3600.0, 0.0))
    assert middle_sa_hz(melody, SA_HZ * 2**octaves) == pytest.approx(SA_HZ)
    assert middle_sa_hz(written_melody(), SA_HZ) == SA_HZ
