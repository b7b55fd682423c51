"""The tihai as a structure: lengths, onsets, landing, kinds, and the two ways of counting."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.theory.strategies import bol_passages, not_negative, tihais
from theory.errors import BadTihai
from theory.notation import parse, silence
from theory.tihai import (
    Chain,
    LandingRule,
    Tihai,
    counted_after,
    counted_within,
    flat,
    kind_of,
    landing_offset,
)

HALF = Fraction(1, 2)
PALLA = parse("Dha Ti Dha")


def test_three_pallas_and_two_dams_make_the_length():
    tihai = Tihai(PALLA, HALF)
    assert tihai.length == 10
    assert tihai.statement_onsets == (0, Fraction(7, 2), 7)
    assert tihai.last_onset == 9


def test_within_lands_by_the_last_stroke_and_after_by_the_stroke_that_follows():
    tihai = Tihai(PALLA, HALF)
    assert landing_offset(tihai, LandingRule.WITHIN) == 9
    assert landing_offset(tihai, LandingRule.AFTER) == 10


def test_silence_after_the_last_stroke_does_not_move_the_landing_within():
    tihai = Tihai(parse("Dha Ti Dha _"))
    assert (tihai.length, landing_offset(tihai, LandingRule.WITHIN)) == (12, 10)


def test_a_round_of_a_chakradar_is_a_bol_and_a_tihai():
    chakradar = Tihai(Chain((parse("Ti Ti"), Tihai(PALLA))))
    assert chakradar.length == 33
    assert chakradar.last_onset == 32
    assert flat(chakradar).symbols == ("Ti", "Ti", *PALLA.symbols * 3) * 3


def test_a_chain_that_ends_in_silence_still_knows_its_last_stroke():
    assert Chain((PALLA, silence(Fraction(5)))).last_onset == 2


def test_a_filler_sounds_in_the_dam_and_changes_no_sum():
    filled, empty = Tihai(PALLA, HALF, filler=parse("TaKa:1/2")), Tihai(PALLA, HALF)
    assert filled.length == empty.length
    assert filled.last_onset == empty.last_onset
    assert len(filled.onsets) == len(empty.onsets) + 4


@pytest.mark.parametrize(
    ("tihai", "kind"),
    [
        (Tihai(PALLA), "bedam"),
        (Tihai(PALLA, HALF), "damdar"),
        (Tihai(Tihai(PALLA)), "nauhakka"),
        (Tihai(Chain((PALLA, Tihai(PALLA)))), "chakradar"),
        (Tihai(Tihai(Tihai(PALLA))), "chakradar"),
        (Tihai(Chain((PALLA, PALLA))), "bedam"),
    ],
)
def test_the_kind_follows_from_how_it_is_built(tihai, kind):
    assert kind_of(tihai) == kind


@pytest.mark.parametrize(
    ("make", "why"),
    [
        (lambda: Tihai(PALLA, Fraction(-1, 2)), "The dam is -1/2 matra: it cannot be negative"),
        (lambda: Tihai(PALLA, times=1), "The palla comes 1 times"),
        (lambda: Tihai(parse("_ _")), "holds no stroke"),
        (lambda: Tihai(Chain((silence(Fraction(1)),))), "holds no stroke"),
        (lambda: Chain(()), "at least one part"),
        (lambda: Tihai(PALLA, Fraction(1), filler=parse("Ta Ta")), "The filler lasts 2 matras, the dam 1 matra"),
        (lambda: flat(Chain((parse("S R"), PALLA))), "do not mix"),
        (lambda: counted_after(Tihai(parse("Dha"))), "holds no stroke"),
        (lambda: counted_within(Tihai(PALLA), parse("Dha")), "leaves no room"),
    ],
)
def test_what_cannot_be_played_is_refused_with_its_reason(make, why):
    with pytest.raises(BadTihai, match=why):
        make()


@given(tihais())
def test_a_tihai_written_out_has_the_same_length_strokes_and_last_stroke(tihai):
    written = flat(tihai)
    assert (written.length, written.last_onset, written.onsets) == (tihai.length, tihai.last_onset, tihai.onsets)


@given(tihais())
def test_everything_in_a_tihai_lies_on_its_subdivision(tihai):
    counts = (tihai.length, tihai.last_onset, tihai.dam, *tihai.statement_onsets, *tihai.onsets)
    assert all((count * tihai.subdivision).denominator == 1 for count in counts)


@given(tihais().filter(lambda tihai: len(flat(tihai.palla).notes) > 1))
def test_both_rules_describe_the_same_sound(tihai):
    after = counted_after(tihai)
    assert landing_offset(after, LandingRule.AFTER) == landing_offset(tihai, LandingRule.WITHIN)
    assert (*after.onsets, after.length) == tihai.onsets


@given(bol_passages(), not_negative, st.sampled_from((2, 3, 4)))
def test_counting_within_again_gives_back_the_tihai(palla, dam, times):
    stroke = parse("Dha")
    within = Tihai(Chain((palla, stroke)), dam, times)
    after = counted_after(within)
    # handbook of the two conventions: palla within = palla after + stroke, dam within = dam after - stroke
    assert (within.palla.length, within.dam) == (after.palla.length + 1, after.dam - 1)
    again = counted_within(after, stroke)
    assert flat(again) == flat(within)
    assert (again.dam, again.filler) == (dam, None)
