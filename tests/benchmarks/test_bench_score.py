"""What the bench concerts play, and whether their truth is true. No sound is made here."""

from __future__ import annotations

import numpy as np
import pytest

from benchmarks.concerts.plan import FASTEST_MPM, SLOWEST_MPM, plan_concert
from benchmarks.concerts.score import MOST_JITTER_S, Concert, play_concert
from theory.talas import get_tala

SIX_TALAS = {"teental", "jhaptal", "rupak", "ektal", "keherwa", "dadra"}


@pytest.fixture(scope="module", params=(2, 4, 5))
def concert(request: pytest.FixtureRequest) -> Concert:
    return play_concert(plan_concert(request.param))


@pytest.mark.parametrize("first", [1, 101])
def test_six_seeds_in_a_row_bring_six_talas_from_ati_vilambit_to_ati_drut(first: int) -> None:
    sections = [section for seed in range(first, first + 6) for section in plan_concert(seed).sections if section.tala]
    assert {section.tala for section in sections} == SIX_TALAS
    layas = [mpm for section in sections for mpm in section.mpm]
    assert SLOWEST_MPM <= min(layas) < 16
    assert 200 < max(layas) <= FASTEST_MPM


def test_the_same_seed_is_the_same_concert_and_another_seed_is_another() -> None:
    one, again, other = (play_concert(plan_concert(seed)) for seed in (8, 8, 14))
    assert one.truth == again.truth
    assert one.part == again.part
    assert one.truth.stroke_s != other.truth.stroke_s


def test_matras_run_on_without_gaps_from_a_sam_to_a_sam(concert: Concert) -> None:
    for section in concert.truth.with_tala:
        matras = get_tala(section.tala).matras
        assert section.matra[0] == section.matra[-1] == 1
        assert np.all((np.diff(section.matra) - 1) % matras == 0)
        lengths_s = np.diff(section.matra_s)
        assert lengths_s.min() > 0
        assert np.abs(np.diff(np.log(lengths_s))).max() < 0.1  # drift, no jumps
        # the laya that was planned: in vilambit the mukhra before the first sam has used up a little of its drift
        assert 60 / lengths_s[0] == pytest.approx(section.mpm[0], rel=0.1)
        assert 60 / lengths_s[-1] == pytest.approx(section.mpm[1], rel=0.1)


def test_tihais_have_even_pallas_and_land_on_a_sam(concert: Concert) -> None:
    tihais = [(section, tihai) for section in concert.truth.with_tala for tihai in section.tihais]
    assert tihais
    for section, (first, second, third, landing) in tihais:
        assert min(abs(landing - sam) for sam in section.sam_s) < 1e-4  # truth is rounded to 10 microseconds
        # the pulse drifts by less than a tenth over a tihai
        assert second - first == pytest.approx(third - second, rel=0.1)
        assert third <= landing  # a palla of one stroke lands with its third


def test_strokes_scatter_about_the_pulse_by_no_more_than_players_do(concert: Concert) -> None:
    strokes = np.array(concert.truth.stroke_s)
    for section in concert.truth.with_tala:
        sams = np.array(section.sam_s)
        off_s = np.abs(strokes[None, :] - sams[:, None]).min(axis=1)
        allowed_s = MOST_JITTER_S + 2e-5  # truth is rounded to 10 microseconds
        assert np.median(off_s) <= allowed_s
        assert np.mean(off_s <= allowed_s) > 0.5  # here and there the stroke on sam is left out


def test_a_slow_matra_is_filled_with_strokes() -> None:
    concert = play_concert(plan_concert(4))
    slow = concert.truth.with_tala[0]
    strokes = np.array([at for at in concert.truth.stroke_s if slow.matra_s[0] <= at <= slow.matra_s[-1]])
    assert np.diff(slow.matra_s).max() > 3.0
    assert np.diff(strokes).max() < 2.5


def test_solos_leave_the_theka_for_whole_avartans(concert: Concert) -> None:
    for section in concert.truth.with_tala:
        for start_s, end_s in section.solos:
            for edge_s in (start_s, end_s):
                assert min(abs(edge_s - sam_s) for sam_s in section.sam_s) < 1e-4


def test_alap_and_jor_are_without_tabla(concert: Concert) -> None:
    for section in concert.truth.sections:
        struck = [at for at in concert.truth.stroke_s if section.start_s <= at <= section.end_s]
        assert bool(struck) == bool(section.tala)
        plucked = [at for at in concert.truth.pluck_s if section.start_s <= at <= section.end_s]
        assert len(plucked) > 5
