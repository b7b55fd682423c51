"""What the first look knows of a place, and which places it lets through."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from ingest.finding.judge import judge
from ingest.finding.lattice import Lattice
from ingest.finding.mukhra import Mukhra
from ingest.finding.scan import scan
from ingest.finding.sieve import FIRST, FirstLook
from ingest.finding.trees import NO_CHILD, Trees
from tests.ingest.finding.made import laid_out, over, said, theka

HALF = Fraction(1, 2)
PALLA = {Fraction(0): "Ti", HALF: "Ke", Fraction(1): "Dha", Fraction(2): "Ge", 5 * HALF: "Na", Fraction(3): "Dha"}
SPACING, LANDING = Fraction(7, 2), Fraction(64)


@pytest.fixture(scope="module")
def lattice() -> Lattice:
    return laid_out(over(theka(6), said(3, PALLA, SPACING, LANDING)))


def stump(name: str, limit: float) -> Trees:
    """One tree that asks one thing: more than the limit is likely."""
    at = np.array([FIRST.index(name), 0, 0], np.int32)
    children = (np.array([each, NO_CHILD, NO_CHILD], np.int32) for each in (1, 2))
    limits, values = np.array([limit, 0.0, 0.0]), np.array([0.0, -1.0, 1.0])
    return Trees(at, limits, *children, values, np.zeros(1, np.int32), np.zeros(1, np.int32), np.zeros(1))


def test_what_is_learnt_lets_three_pallas_through_among_the_first_of_many_thousand(lattice: Lattice) -> None:
    first = FirstLook(lattice, scan(lattice), None)
    spacing_at, landing_at, told = first.sifted(judge().sieve, 20)
    found = set(
        zip(first.scanned.landings[landing_at].tolist(), first.scanned.spacings[spacing_at].tolist(), strict=True)
    )
    assert (int(LANDING * lattice.parts), int(SPACING * lattice.parts)) in found
    assert (np.diff(told) <= 0).all()


def test_the_likeliest_come_first_and_no_more_than_asked_for(lattice: Lattice) -> None:
    first = FirstLook(lattice, scan(lattice), None)
    _, landing_at, told = first.sifted(stump("on sam", 0.5), 50)
    assert len(told) == 50
    assert (first.scanned.landings[landing_at] % (16 * lattice.parts) == 0).all()


def test_a_place_is_measured_alike_alone_and_among_others(lattice: Lattice) -> None:
    first = FirstLook(lattice, scan(lattice), Mukhra(12, 0.9, 0.4))
    spacing_at, landing_at = first.scanned.seeds(300)
    together = first.measured(spacing_at, landing_at)
    assert together.shape == (300, len(FIRST))
    alone = [first.measured(spacing_at[[at]], landing_at[[at]]) for at in (0, 17, 299)]
    np.testing.assert_array_equal(np.concatenate(alone), together[[0, 17, 299]])


def test_it_is_measured_where_in_the_cycle_a_place_lies(lattice: Lattice) -> None:
    first = FirstLook(lattice, scan(lattice), Mukhra(12, 0.9, 0.4))
    spacing_at = np.flatnonzero(first.scanned.spacings == SPACING * lattice.parts)

    def at(matra: int) -> dict[str, float]:
        landing_at = np.flatnonzero(first.scanned.landings == matra * lattice.parts)
        return dict(zip(FIRST, first.measured(spacing_at, landing_at)[0].tolist(), strict=True))

    assert at(64)["on sam"] == 1
    assert at(63)["matras from sam"] == -1
    assert at(64 + 11)["matras from the mukhra"] == 0
    assert at(64)["spacing matras"] == 3.5
    assert at(64)["spacing counted in"] == 0.5


def test_beside_the_landing_three_pallas_stand_out_less(lattice: Lattice) -> None:
    first = FirstLook(lattice, scan(lattice), None)
    spacing_at = np.flatnonzero(first.scanned.spacings == SPACING * lattice.parts)
    landing_at = np.flatnonzero(first.scanned.landings == LANDING * lattice.parts)
    found = dict(zip(FIRST, first.measured(spacing_at, landing_at)[0].tolist(), strict=True))
    assert found["score of the spacing +1, less it"] < 0
    assert found["score of the spacing -1, less it"] < 0
    assert found["less than the best there"] == 0


def test_a_section_too_short_gives_no_places() -> None:
    lattice = laid_out({Fraction(0): "Dha"}, matra_s=0.3)
    spacing_at, landing_at, told = FirstLook(lattice, scan(lattice), None).sifted(stump("on sam", 0.5), 50)
    assert len(spacing_at) == len(landing_at) == len(told) == 0
