"""From a place found to a proposal: its palla, its arithmetic, its words."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ingest.finding.close_look import NAMES
from ingest.finding.find import Findings, Found
from ingest.finding.inner import inner_tihai
from ingest.finding.lattice import Lattice
from ingest.finding.mukhra import Mukhra
from ingest.finding.palla_start import NAMES as OF_LENGTH
from ingest.finding.palla_start import lengths_of, measure_lengths
from ingest.finding.pooled import part_of
from ingest.finding.proposal import Proposal, proposals
from tests.ingest.finding.made import laid_out, over, said, theka
from theory.notation import parse
from theory.talas import get_tala
from theory.tihai import LandingRule, Tihai, landing_offset

HALF = Fraction(1, 2)
PALLA = {Fraction(0): "Ti", HALF: "Ke", Fraction(1): "Dha", Fraction(2): "Ge", 5 * HALF: "Na", Fraction(3): "Dha"}


def place(lattice: Lattice, landing: Fraction, spacing: Fraction, palla: Fraction, played_by: str = "tabla") -> Found:
    parts = lattice.parts
    return Found(
        int(landing * parts), int(spacing * parts), int(palla * parts), 0.9, 0.8, played_by, None,
        np.zeros(len(NAMES), np.float32),
    )  # fmt: skip


def proposed(
    lattice: Lattice, found: Found, mukhra: Mukhra | None = None, onsets_s: tuple[float, ...] = ()
) -> Proposal:
    return proposals(lattice, Findings((found,), mukhra), onsets_s)[0]


@given(
    landing=st.integers(32, 64),
    dam=st.sampled_from([HALF, Fraction(1), Fraction(3, 2), Fraction(7, 4)]),
    last=st.sampled_from([Fraction(1), Fraction(3, 2), Fraction(5, 2)]),
)
@settings(max_examples=15, deadline=None)
def test_the_sum_of_a_proposal_is_that_of_the_arithmetic(landing: int, dam: Fraction, last: Fraction) -> None:
    palla = {Fraction(0): "Ti", HALF: "Ke", last: "Dha"}
    lattice = laid_out(over(theka(5), said(3, palla, last + dam, Fraction(landing))))
    found = proposed(lattice, place(lattice, Fraction(landing), last + dam, last))
    tihai = Tihai(parse(found.text), found.dam)
    assert tihai.palla.length == found.palla
    assert found.palla + found.dam == last + dam
    counted = 16 * (found.cycle - 1) + found.start - 1 + landing_offset(tihai, LandingRule.WITHIN)
    assert counted == landing
    assert (counted - found.off - (found.target - 1)) % get_tala("teental").matras == 0


def test_the_palla_is_written_down_as_it_was_struck_three_times() -> None:
    lattice = laid_out(over(theka(6), said(3, PALLA, Fraction(4), Fraction(64))))
    found = proposed(lattice, place(lattice, Fraction(64), Fraction(4), Fraction(3)))
    assert [note.symbol for note in parse(found.text).notes] == ["Ti", "Ke", "Dha", "Ge", "Na", "Dha"]
    assert [note.onset for note in parse(found.text).notes] == sorted(PALLA)
    assert (found.palla, found.dam, found.kind) == (4, 0, "bedam")  # a landing stroke of one matra, as far as is heard
    assert (found.aims_at, found.target, found.off) == ("sam", 1, 0)


def test_the_lead_is_written_in_sargam_and_told_how_far_it_is_moved() -> None:
    swaras = {Fraction(0): 4, HALF: 5, Fraction(1): 7, Fraction(2): 2}
    lead: dict[Fraction, int] = {Fraction(at): 11 for at in range(40)}
    for number in range(3):
        lead |= {53 + 4 * number + at + 1: step + 2 * number for at, step in swaras.items()}
    lattice = laid_out(theka(6), lead)
    found = proposed(lattice, place(lattice, Fraction(64), Fraction(4), Fraction(2), "lead"))
    assert parse(found.text).system == "sargam"
    assert found.moved == 2


def test_times_are_those_of_the_strokes_where_they_are_near_and_of_the_grid_elsewhere() -> None:
    lattice = laid_out(over(theka(6), said(3, PALLA, Fraction(4), Fraction(64))))
    found = proposed(lattice, place(lattice, Fraction(64), Fraction(4), Fraction(3)), onsets_s=(26.521, 28.4, 32.013))
    assert found.palla_s == pytest.approx((26.521, 28.5, 30.5))
    assert found.landing_s == pytest.approx(32.013)


@pytest.mark.parametrize(("landing", "misses"), [(64, False), (65, True), (63, True)])
def test_what_lands_half_a_matra_or_more_off_is_said_to_miss(landing: int, misses: bool) -> None:
    lattice = laid_out(over(theka(6), said(3, PALLA, Fraction(4), Fraction(landing))))
    found = proposed(lattice, place(lattice, Fraction(landing), Fraction(4), Fraction(3)))
    assert found.misses is misses
    assert found.off == landing - 64
    assert ("On paper" in found.reading) is misses


def test_a_dam_that_would_land_is_weighed_against_the_playing() -> None:
    lattice = laid_out(over(theka(6), said(3, PALLA, Fraction(9, 2), Fraction(65))))
    found = proposed(lattice, place(lattice, Fraction(65), Fraction(9, 2), Fraction(3)))
    assert found.reading.startswith("On paper it lands 1 matra after its target: read so it fits the playing better")
    assert "which would land" in found.reading


def test_the_mukhra_is_a_target_like_sam() -> None:
    lattice = laid_out(over(theka(6), said(3, PALLA, Fraction(4), Fraction(59))))
    found = proposed(lattice, place(lattice, Fraction(59), Fraction(4), Fraction(3)), Mukhra(12, 0.5, 0.8))
    assert (found.aims_at, found.target, found.off) == ("mukhra", 12, 0)


def nested(fills: bool) -> Mapping[Fraction, str]:
    inner = {Fraction(0): "Ti", HALF: "Na", Fraction(1): "Dha"}
    three = said(3, inner, Fraction(3, 2), Fraction(4))
    if fills:
        return three
    return {Fraction(0): "Ge", Fraction(1): "Tin", Fraction(2): "Ke"} | {at + 3: bol for at, bol in three.items()}


@pytest.mark.parametrize(("fills", "palla"), [(True, Fraction(4)), (False, Fraction(7))])
def test_a_palla_that_is_or_ends_in_a_tihai_is_told(fills: bool, palla: Fraction) -> None:
    drums = over(theka(7), said(3, nested(fills), palla + 1, Fraction(80)))
    lattice = laid_out(drums)
    inner = inner_tihai(lattice, 80 * 24, int((palla + 1) * 24), int(palla * 24), "tabla")
    assert inner is not None
    assert inner.fills is fills
    assert Fraction(inner.spacing, 24) == Fraction(3, 2)


def test_a_plain_palla_has_no_tihai_inside() -> None:
    palla = {Fraction(0): "Ge", HALF: "Ti", Fraction(3, 2): "Ke", Fraction(2): "Na", Fraction(3): "Dhin"}
    lattice = laid_out(over(theka(7), said(3, palla, Fraction(4), Fraction(80))))
    assert inner_tihai(lattice, 80 * 24, 4 * 24, 3 * 24, "tabla") is None


def test_lengths_of_a_palla_are_all_that_can_be_counted_in_strokes() -> None:
    lattice = laid_out(theka(4))
    lengths = lengths_of(lattice, 4 * lattice.parts)
    assert {lattice.parts, lattice.parts * 5 // 3, lattice.parts * 9 // 4} <= set(lengths.tolist())
    assert lengths.max() < 4 * lattice.parts


def test_evidence_for_a_palla_is_greatest_at_its_first_stroke() -> None:
    lattice = laid_out(over(theka(6), said(3, PALLA, Fraction(4), Fraction(64))))
    lengths = lengths_of(lattice, 96)
    measured = measure_lengths(lattice, 64 * 24, 96, lengths, np.array([1.0, 0, 0]), np.zeros(3))
    assert measured.shape == (len(lengths), len(OF_LENGTH))
    below = measured[:, OF_LENGTH.index("tabla: below the top")]
    # the ticks next to a stroke are part of it; in the silent dam beyond, nothing speaks for or against
    assert below[lengths == 72][0] > below.min() / 4
    assert below[lengths == 60][0] < below[lengths == 72][0]


def test_the_last_stroke_is_as_long_as_palla_and_dam_are_counted_in() -> None:
    lattice = laid_out(theka(4))
    assert part_of(lattice, 72, 96) == 24
    assert part_of(lattice, 60, 96) == 12
    assert part_of(lattice, 72, 84) == 12
    assert part_of(lattice, 64, 96) == 8
