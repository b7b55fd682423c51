"""Carrying a palla over into another tala or laya."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.theory.strategies import talas, tihais
from theory.carry import carry, faster
from theory.errors import TheoryError
from theory.notation import parse
from theory.talas import get_tala
from theory.tihai import LandingRule, Tihai, flat

TEENTAL, JHAPTAL, EKTAL = map(get_tala, ("teental", "jhaptal", "ektal"))
FIVE = Tihai(parse("Dha Ti Ta Ka Dha"), Fraction(1))


def test_the_choices_leave_the_tihai_alone_first_then_the_palla():
    carried = carry(FIVE, TEENTAL, JHAPTAL)
    assert carried.sentence == "Falls 4 matras short of sam: its last stroke comes on matra 7."
    assert [choice.changes for choice in carried.choices] == [("start",), ("dam",), ("start", "dam"), ("palla",)]
    assert [choice.sentence for choice in carried.choices] == [
        "Begin on matra 5, 4 matras later. 5 + 1 + 5 + 1 + 5 = 17; from matra 5: 4 + 17 = 21 = 2 x 10 + 1.",
        "Make the dam 3 matras instead of 1. 5 + 3 + 5 + 3 + 5 = 21 = 2 x 10 + 1.",
        "Begin on matra 3 with a dam of 2 matras. 5 + 2 + 5 + 2 + 5 = 19; from matra 3: 2 + 19 = 21 = 2 x 10 + 1.",
        "Make the palla 3 matras instead of 5, its last stroke as it is. 3 + 1 + 3 + 1 + 3 = 11 = 10 + 1.",
    ]


def test_what_lands_in_both_talas_needs_no_change():
    # 80 matras are five cycles of teental and eight of jhaptal
    eighty = Tihai(parse("Dha:26"), Fraction(1))
    carried = carry(eighty, TEENTAL, JHAPTAL, rule=LandingRule.AFTER)
    assert [choice.changes for choice in carried.choices] == [()]
    assert carried.choices[0].sentence.startswith("Nothing needs to change: 26 + 1 + 26 + 1 + 26 = 80 = 8 x 10")


def test_in_dugun_palla_and_dam_take_half_as_many_matras():
    carried = carry(FIVE, TEENTAL, TEENTAL, ratio=2)
    best = carried.choices[0]
    assert (best.start, best.dam, best.palla) == (9, Fraction(1, 2), Fraction(5, 2))


def test_a_given_start_is_kept_and_checked_in_the_first_tala():
    carried = carry(FIVE, TEENTAL, EKTAL, start=2)
    assert (carried.original.lands, carried.original.start) == (False, 2)
    assert carried.unchanged.start == 2


def test_a_ratio_that_cannot_be_played_is_refused():
    with pytest.raises(TheoryError, match="ratio"):
        carry(FIVE, TEENTAL, EKTAL, ratio=0)


@given(tihais(), talas, talas, st.sampled_from(LandingRule), st.sampled_from((1, 2, 3, Fraction(3, 2))))
def test_every_choice_lands_and_changes_only_what_it_says(tihai, here, there, rule, ratio):
    carried = carry(tihai, here, there, rule=rule, ratio=ratio)
    assert carried.original.lands
    assert carried.choices
    moved = faster(tihai, Fraction(ratio))
    for choice in carried.choices:
        assert choice.paper.lands
        assert choice.paper.tala is there
        assert ("start" in choice.changes) == (choice.start != carried.unchanged.start)
        assert ("dam" in choice.changes) == (choice.dam != moved.dam)
        if "palla" not in choice.changes:
            assert flat(choice.paper.tihai.palla) == flat(moved.palla)
