"""Finding what lands: against brute force, without duplicates, simplest first."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.theory.strategies import bol_passages, matra_of
from theory.errors import BadTihai
from theory.notation import parse
from theory.solve import solve, starts_and_dams
from theory.talas import Tala, all_talas, get_tala
from theory.tihai import LandingRule, Tihai, landing_offset

WITHIN, AFTER = LandingRule.WITHIN, LandingRule.AFTER
SUBDIVISIONS = (1, 2, 3, 4, 6)
TALAS = [tala for tala in all_talas() if tala.matras <= 18]
TEENTAL = get_tala("teental")
ONE = Fraction(1)


def sounds_that_land(tala: Tala, start: Fraction, target: Fraction, subdivision: int, palla: int, dam: int) -> set:
    """Try every sound within: the time from palla to palla, and that of the last stroke in the palla.

    The last stroke counts a matra, or as much as is left of the time to the next palla.
    """
    found = set()
    for period in range(1, (palla + dam) * subdivision + 1):
        for last in range(period):
            landing = 2 * period + last  # in parts of a matra
            if (start - 1 + Fraction(landing, subdivision) - (target - 1)) % tala.matras == 0:
                length = last + min(subdivision, period - last)
                if length <= palla * subdivision and period - length <= dam * subdivision:
                    found.add((Fraction(length, subdivision), Fraction(period - length, subdivision)))
    return found


def lengths_that_land(tala: Tala, start: Fraction, target: Fraction, subdivision: int, palla: int, dam: int) -> set:
    """Try every palla and dam after."""
    return {
        (Fraction(length, subdivision), Fraction(gap, subdivision))
        for length in range(1, palla * subdivision + 1)
        for gap in range(dam * subdivision + 1)
        if (start + Fraction(3 * length + 2 * gap, subdivision) - target) % tala.matras == 0
    }


@pytest.mark.parametrize("subdivision", SUBDIVISIONS)
@pytest.mark.parametrize("tala", TALAS, ids=lambda tala: tala.key)
def test_from_sam_to_sam_in_every_tala_it_finds_what_brute_force_finds(tala, subdivision):
    for rule, brute_force in ((WITHIN, sounds_that_land), (AFTER, lengths_that_land)):
        found = solve(tala, 1, 1, subdivision, rule, palla_most=6, dam_most=4)
        assert {(each.palla, each.dam) for each in found} == brute_force(tala, ONE, ONE, subdivision, 6, 4)


@given(st.data(), st.sampled_from(TALAS), st.sampled_from(SUBDIVISIONS), st.integers(1, 9), st.integers(0, 5))
def test_from_any_start_to_any_target_it_finds_what_brute_force_finds(data, tala, subdivision, palla, dam):
    start, target = data.draw(matra_of(tala)), data.draw(matra_of(tala))
    for rule, brute_force in ((WITHIN, sounds_that_land), (AFTER, lengths_that_land)):
        found = solve(tala, start, target, subdivision, rule, palla_most=palla, dam_most=dam)
        pairs = [(each.palla, each.dam) for each in found]
        assert set(pairs) == brute_force(tala, start, target, subdivision, palla, dam)
        assert len(pairs) == len(set(pairs))


@given(st.data(), st.sampled_from(TALAS), st.sampled_from(SUBDIVISIONS), st.sampled_from(LandingRule))
def test_everything_found_lands_on_paper_with_the_cycles_it_says(data, tala, subdivision, rule):
    start, target = data.draw(matra_of(tala)), data.draw(matra_of(tala))
    times = data.draw(st.sampled_from((2, 3, 4, 5, 9)))
    for each in solve(tala, start, target, subdivision, rule, times=times)[:20]:
        assert each.paper.lands
        assert (each.paper.cycles, each.paper.total) == (each.cycles, each.total)


@given(st.sampled_from(TALAS), bol_passages(), st.sampled_from((1, 2, 3)), st.sampled_from(LandingRule))
def test_for_a_given_palla_every_dam_has_its_one_start_that_lands(tala, palla, subdivision, rule):
    found = starts_and_dams(tala, palla, 1, subdivision, rule, dam_most=4)
    assert sorted(each.dam for each in found) == [Fraction(n, subdivision) for n in range(4 * subdivision + 1)]
    for each in found:
        position = each.start - 1 + landing_offset(Tihai(palla, each.dam), rule)
        assert (position % tala.matras, position // tala.matras) == (0, each.cycles)


# Whole matras from sam to sam in one avartan, counted within: 3 x palla + 2 x dam = matras + 1. Own table, no source.
SAM_TO_SAM = {
    6: [(1, 2)], 7: [(2, 1)], 8: [(1, 3), (3, 0)], 9: [(2, 2)], 10: [(1, 4), (3, 1)], 11: [(2, 3), (4, 0)],
    12: [(1, 5), (3, 2)], 14: [(1, 6), (3, 3), (5, 0)], 15: [(2, 5), (4, 2)], 16: [(1, 7), (3, 4), (5, 1)],
    17: [(2, 6), (4, 3), (6, 0)], 18: [(1, 8), (3, 5), (5, 2)],
}  # fmt: skip


@pytest.mark.parametrize("tala", [tala for tala in TALAS if tala.matras in SAM_TO_SAM], ids=lambda tala: tala.key)
def test_whole_matras_from_sam_to_sam_in_one_avartan(tala):
    found = solve(tala, 1, cycles_most=1)
    assert sorted((each.palla, each.dam) for each in found) == SAM_TO_SAM[tala.matras]


def test_the_simplest_comes_first():
    found = solve(TEENTAL, 1, subdivision=2)
    assert (found[0].palla, found[0].dam) == (5, 1)
    assert found[0].sentence == ("A palla of 5 matras with a dam of 1 matra, from sam: 5 + 1 + 5 + 1 + 5 = 17 = 16 + 1")
    assert [each.cycles for each in found[:4]] == [1, 1, 1, 2]


def test_a_bedam_tihai_in_halves_has_a_last_stroke_of_half_a_matra():
    bedam = next(each for each in solve(TEENTAL, 1, subdivision=2, cycles_most=1) if each.palla == Fraction(11, 2))
    assert (bedam.dam, bedam.last_stroke) == (0, Fraction(1, 2))


def test_a_last_stroke_of_another_length_can_be_asked_for():
    # the nauhakka of digitabla.com has rounds of 5 1/4 with a last stroke and a dam of 1/4
    quarter = Fraction(1, 4)
    found = solve(TEENTAL, 1, subdivision=4, last_stroke=quarter, cycles_most=1)
    assert (Fraction(21, 4), quarter) in {(each.palla, each.dam) for each in found}


def test_a_given_palla_begins_on_sam_or_where_a_vibhag_begins_if_it_can():
    found = starts_and_dams(TEENTAL, parse("Dha Ti Ta Ka Dha"), subdivision=2)
    assert [(each.start, each.dam) for each in found[:3]] == [(1, 1), (1, 9), (13, 3)]
    assert {each.start for each in starts_and_dams(TEENTAL, parse("Dha Ti Ta Ka Dha"), start=1)} == {1}


@pytest.mark.parametrize(
    ("ask", "why"),
    [
        (lambda: solve(TEENTAL, 17), "The start is matra 17, outside Teental"),
        (lambda: solve(TEENTAL, 1, 0), "The target is matra 0"),
        (lambda: solve(TEENTAL, 1, subdivision=0), "at least 1"),
        (lambda: solve(TEENTAL, 1, dam_most=-1), "a dam of at least 0"),
        (lambda: starts_and_dams(TEENTAL, parse("_ _")), "holds no stroke"),
    ],
)
def test_a_question_that_makes_no_sense_is_refused(ask, why):
    with pytest.raises(BadTihai, match=why):
        ask()
