"""The two looks of the finder at sections written by hand."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from ingest.finding.close_look import NAMES, Looked, look_at, overlap
from ingest.finding.lattice import Lattice
from ingest.finding.mukhra import find_mukhra
from ingest.finding.scan import scan, spacings_of
from ingest.finding.sieve import FirstLook
from tests.ingest.finding.made import laid_out, over, said, theka

HALF, THIRD = Fraction(1, 2), Fraction(1, 3)
PALLA = {Fraction(0): "Ti", HALF: "Ke", Fraction(1): "Dha", Fraction(2): "Ge", 5 * HALF: "Na", Fraction(3): "Dha"}


def measured(lattice: Lattice, landing: Fraction, spacing: Fraction) -> dict[str, float]:
    """The measures of one place, whatever its rank."""
    scanned = scan(lattice)
    number = np.flatnonzero(scanned.spacings == spacing * lattice.parts)
    at = np.flatnonzero(scanned.landings == landing * lattice.parts)
    looked = look_at(FirstLook(lattice, scanned, None), number, at)
    return dict(zip(NAMES, looked.measures[0].tolist(), strict=True))


def first_seen(lattice: Lattice, most: int) -> set[tuple[Fraction, Fraction]]:
    """Landing and spacing, in matras, of the places that the first look puts first."""
    scanned = scan(lattice)
    return {
        (Fraction(int(scanned.landings[at]), lattice.parts), Fraction(int(scanned.spacings[number]), lattice.parts))
        for number, at in zip(*scanned.seeds(most), strict=True)
    }


@pytest.mark.parametrize("dam", [HALF, Fraction(1), THIRD, Fraction(5, 4)])
def test_three_pallas_over_the_theka_stand_out_at_first_sight(dam: Fraction) -> None:
    played = over(theka(6), said(3, PALLA, 3 + dam, Fraction(64)))
    assert (64, 3 + dam) in first_seen(laid_out(played), 400)  # of 58,000


def test_the_lead_alone_is_found_over_a_theka_that_goes_on() -> None:
    line = {Fraction(at): step for at, step in enumerate([0, 2, 4, 5, 7, 9, 11, 12, 9, 7, 5, 4, 2, 0, 4, 2] * 6)}
    swaras = {Fraction(0): 4, HALF: 5, Fraction(1): 7, Fraction(3, 2): 4, Fraction(2): 2, Fraction(3): 0}
    lead = over(line, said(3, swaras, Fraction(7, 2), Fraction(64)))  # type: ignore[arg-type, type-var]
    assert (64, Fraction(7, 2)) in first_seen(laid_out(theka(6), lead), 60)  # type: ignore[arg-type]


def test_three_pallas_are_alike_and_unlike_what_is_before_and_after_them() -> None:
    found = measured(laid_out(over(theka(6), said(3, PALLA, Fraction(4), Fraction(64)))), Fraction(64), Fraction(4))
    assert found["tabla: tabla least"] > 0.85
    assert found["tabla: tabla before"] < 0.6
    assert found["tabla: tabla after"] < 0.6
    assert found["on sam"] == 1


def test_a_fourth_palla_shows_before_the_first() -> None:
    found = measured(laid_out(over(theka(6), said(4, PALLA, Fraction(4), Fraction(64)))), Fraction(64), Fraction(4))
    assert found["tabla: tabla before"] > 0.9
    assert found["tabla: tabla before less least"] > -0.1


def test_five_times_read_as_three_at_double_the_spacing_shows_what_is_half_way() -> None:
    lattice = laid_out(over(theka(8), said(5, PALLA, Fraction(4), Fraction(96))))
    five = measured(lattice, Fraction(96), Fraction(8))
    assert five["tabla: tabla least"] > 0.85
    assert five["tabla at half the spacing"] > 0.9
    three = measured(laid_out(over(theka(8), said(3, PALLA, Fraction(8), Fraction(96)))), Fraction(96), Fraction(8))
    assert three["tabla at half the spacing"] < 0.6


def test_a_palla_moved_up_in_pitch_keeps_its_contour_and_its_rhythm() -> None:
    swaras = [4, 5, 7, 4, 2, 0]
    lead: dict[Fraction, int] = {Fraction(at): 0 for at in range(40)}
    for number in range(3):
        for place, step in enumerate(swaras):
            lead[Fraction(48) + number * 4 + Fraction(place, 2)] = step + 2 * number
    found = measured(laid_out(theka(6), lead), Fraction(48) + 8 + Fraction(5, 2), Fraction(4))
    assert found["contour"] > 0.8
    assert found["contour moved"] == 2
    assert found["lead: plucks least"] > 0.9
    assert found["lead: melody least"] < 0.7


def test_the_theka_is_held_against_the_same_place_of_other_cycles() -> None:
    scanned = scan(laid_out(over(theka(8), said(3, PALLA, Fraction(4), Fraction(96)))))
    cycle = np.flatnonzero(scanned.spacings == 16 * 24)[0]
    later = scanned.landings >= 96 * 24
    assert scanned.score[cycle, later].max() < scanned.score.max() / 2


def test_every_spacing_that_is_counted_in_strokes_is_looked_at() -> None:
    lattice = laid_out(theka(4))
    counted = {Fraction(int(each), lattice.parts) for each in spacings_of(lattice)}
    assert {Fraction(3, 2), Fraction(7, 3), Fraction(9, 4), Fraction(16)} <= counted
    assert min(counted) * Fraction(1, 2) >= Fraction(6, 10)


def test_a_section_too_short_for_three_pallas_gives_no_places() -> None:
    lattice = laid_out({Fraction(0): "Dha"}, matra_s=0.3)
    scanned = scan(lattice)
    looked = look_at(FirstLook(lattice, scanned, None), *scanned.seeds(10))
    assert len(looked.landing) == 0
    assert looked.measures.shape == (0, len(NAMES))


def test_the_mukhra_is_where_the_melody_comes_back_before_every_sam() -> None:
    rng = np.random.default_rng(3)
    mukhra = [9, 7, 5, 4, 2]
    lead = {
        Fraction(16 * cycle + matra): mukhra[matra - 11] if matra >= 11 else int(rng.integers(0, 12))
        for cycle in range(8)
        for matra in range(16)
    }
    found = find_mukhra(laid_out(theka(8), lead))
    assert found is not None
    assert found.matra == 12


def test_a_mukhra_whose_beginning_gives_way_to_other_things_in_many_a_cycle_begins_where_it_begins() -> None:
    rng = np.random.default_rng(5)
    mukhra = [9, 7, 5, 4, 2, 0, 4, 11]
    lead = {}
    for cycle in range(12):
        gives_way = cycle % 3 == 0  # to a tihai that ends within it
        for matra in range(16):
            said = matra >= (13 if gives_way else 8)
            lead[Fraction(16 * cycle + matra)] = mukhra[matra - 8] if said else int(rng.integers(0, 12))
    found = find_mukhra(laid_out(theka(12), lead))
    assert found is not None
    assert found.matra == 9


def test_nothing_is_taken_for_a_mukhra_where_nothing_comes_back() -> None:
    rng = np.random.default_rng(4)
    lead = {Fraction(at): int(rng.integers(0, 12)) for at in range(16 * 8)}
    assert find_mukhra(laid_out(theka(8), lead)) is None
    assert find_mukhra(laid_out(theka(2), {Fraction(at): 0 for at in range(32)})) is None


def test_overlap_is_told_as_a_part_of_the_shorter() -> None:
    assert overlap(0, 10, 5, 7) == 1
    assert overlap(0, 10, 8, 12) == 0.5
    assert overlap(0, 10, 10, 12) == 0


def test_places_that_stand_apart_do_not_overlap_and_come_in_order_of_chance() -> None:
    measures = np.zeros((4, len(NAMES)), np.float32)
    measures[:, NAMES.index("both: share")] = 0.5
    looked = Looked(np.array([100, 102, 400, 800]), np.array([20, 20, 20, 20]), measures)
    assert looked.apart(np.array([0.5, 0.6, 0.9, 0.001])) == [2, 1]
