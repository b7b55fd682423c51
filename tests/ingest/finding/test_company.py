"""Places held against one another, and how pallas end."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from ingest.finding.close_look import NAMES, Looked, look_at
from ingest.finding.company import LEAST, NOBODY, OF_COMPANY, company
from ingest.finding.scan import scan
from ingest.finding.sieve import FirstLook
from tests.ingest.finding.made import laid_out, over, said, theka

PARTS = 24
HALF = Fraction(1, 2)
PALLA = {Fraction(0): "Ti", HALF: "Ke", Fraction(1): "Dha", Fraction(2): "Ge", 5 * HALF: "Na", Fraction(3): "Dha"}


def held(*places: tuple[float, float, float]) -> list[dict[str, float]]:
    """Company of places (landing and spacing in matras, log odds), each with half its spacing as palla."""
    landing, spacing = (np.array([round(each[k] * PARTS) for each in places]) for k in (0, 1))
    measures = np.zeros((len(places), len(NAMES)), np.float32)
    measures[:, NAMES.index("both: share")] = 0.5
    at, found = company(Looked(landing, spacing, measures), np.array([each[2] for each in places]), PARTS)
    assert at.tolist() == [number for number, each in enumerate(places) if each[2] > LEAST]
    return [dict(zip(OF_COMPANY, row, strict=True)) for row in found.tolist()]


def test_the_same_spacing_a_matra_off_is_told_as_an_earlier_or_a_later_landing() -> None:
    one, other = held((64, 5, -1.0), (66, 5, -2.0))
    assert (one["later landing"], one["earlier landing"]) == (-2.0, NOBODY)
    assert (other["later landing"], other["earlier landing"]) == (NOBODY, -1.0)


def test_a_tihai_within_each_palla_speaks_for_the_whole_and_the_whole_is_seen_from_within() -> None:
    whole, third, second, first = held((64, 12, -4.0), (64, 2, 1.0), (52, 2, 0.5), (40, 2, 0.0))
    assert whole["tihai within the third"] == 1.0
    assert whole["tihai within the second"] == 0.5
    assert whole["tihai within the first"] == 0.0
    assert whole["tihai within all three"] == 0.0
    assert third["whole that ends here"] == -4.0
    assert second["whole that a part of ends here"] == first["whole that a part of ends here"] == -4.0


def test_a_fourth_palla_is_the_same_spacing_one_spacing_on() -> None:
    earlier, later = held((64, 5, 2.0), (69, 5, 3.0))
    assert earlier["a spacing later"] == 3.0
    assert later["a spacing earlier"] == 2.0


def test_other_spacings_to_the_same_landing_are_rivals() -> None:
    short, long, middle = held((64, 4, 0.0), (64, 8, -1.0), (64, 6, 1.0))
    assert short["longer spacing"] == 1.0
    assert long["shorter spacing"] == 1.0
    assert middle["longer spacing"] == -1.0
    assert middle["told less the best that overlaps"] == 1.0


def test_places_far_away_and_places_told_too_little_are_no_company() -> None:
    alone, far = held((64, 5, 1.0), (264, 5, 3.0), (65, 5, LEAST - 1))
    assert alone["later landing"] == alone["best that overlaps"] == NOBODY
    assert alone["chances that overlap"] == far["chances that overlap"] == 0


@pytest.mark.parametrize("dam", [Fraction(2), Fraction(3)])
def test_the_endings_tell_the_landing_from_a_stroke_before_it(dam: Fraction) -> None:
    spacing = 3 + dam
    lattice = laid_out(over(theka(6), said(3, PALLA, spacing, Fraction(64))))
    first = FirstLook(lattice, scan(lattice), None)
    spacing_at = np.flatnonzero(first.scanned.spacings == spacing * lattice.parts)
    right, before = (
        dict(zip(NAMES, look_at(first, spacing_at, first_at).measures[0].tolist(), strict=True))
        for first_at in (np.flatnonzero(first.scanned.landings == at * lattice.parts) for at in (64, 63))
    )
    assert before["tabla goes on alike a matra"] > right["tabla goes on alike a matra"] + 0.2
    assert right["tabla ends alike a matra"] > 0.8
    assert right["tabla at the lesser end"] > 1
