"""Naming a tihai, and counting it by the other landing rule."""

from fractions import Fraction

import pytest
from hypothesis import given

from tests.theory.strategies import tihais
from theory.conversion import convert
from theory.kinds import all_kinds
from theory.notation import parse
from theory.paper import check
from theory.talas import get_tala
from theory.tihai import Chain, LandingRule, Tihai, flat, landing_offset

WITHIN, AFTER = LandingRule.WITHIN, LandingRule.AFTER
TEENTAL = get_tala("teental")
HALF, QUARTER = Fraction(1, 2), Fraction(1, 4)


def kinds(tihai, rule=WITHIN, start=1, target=1, tala=TEENTAL):
    return [kind.key for kind in check(tala, start, tihai, rule, target).kinds]


@pytest.mark.parametrize(
    ("tihai", "rule", "named"),
    [
        (Tihai(parse("Dha Ti Dha")), WITHIN, ["bedam", "damdar_half"]),  # the last dha itself lasts a matra
        (Tihai(parse("Dha Ti Dha:1/2")), WITHIN, ["bedam", "bedam_half"]),
        (Tihai(parse("Dha Ti Dha:1/4")), WITHIN, ["bedam", "ati_bedam"]),
        (Tihai(parse("Dha Ti"), HALF), AFTER, ["damdar", "bedam_half"]),
        (Tihai(parse("Dha Ti"), QUARTER), AFTER, ["damdar", "ati_bedam"]),
        (Tihai(parse("Dha Ti"), Fraction(1), filler=parse("TaKa")), WITHIN, ["damdar", "damdar_half", "filled"]),
        (Tihai(Tihai(parse("Dha Ti")), HALF), WITHIN, ["nauhakka", "damdar"]),
    ],
)
def test_each_source_draws_its_own_line_between_bedam_and_damdar(tihai, rule, named):
    assert kinds(tihai, rule) == named


def test_nine_statements_are_a_nauhakka_only_in_three_groups_of_three():
    assert "nauhakka" not in kinds(Tihai(Tihai(parse("Dha Ti"), times=4), HALF))


@pytest.mark.parametrize(
    ("target", "landing"), [(1, []), (12, ["mukhra"]), (9, ["mukhra"]), (16, ["anagat"]), (2, ["atit"]), (10, [])]
)
def test_a_landing_elsewhere_than_on_sam_is_named_when_it_lands(target, landing):
    bedam = Tihai(parse("Dha"))
    start = TEENTAL.wrap(Fraction(target - 3))
    assert kinds(bedam, start=start, target=target) == ["bedam", "damdar_half", *landing]
    assert kinds(bedam, start=TEENTAL.wrap(start), target=target) == ["bedam", "damdar_half"]


def test_every_kind_of_the_table_has_a_meaning_and_a_source():
    assert all(kind.meaning and kind.by and kind.source for kind in all_kinds().values())


def test_the_sentence_names_the_kind_and_whose_definition_it_is():
    chakradar = Tihai(Chain((parse("Ti:12"), Tihai(parse("Ti:4 Dha")))))
    sentences = [kind.sentence for kind in check(TEENTAL, 1, chakradar, WITHIN).kinds]
    assert sentences[1].startswith("Farmaishi chakradar (Sitar-Malika): in the first round the dha")


@given(tihais())
def test_both_rules_describe_the_same_sound(tihai):
    other = convert(tihai, WITHIN)
    if other.tihai is None:
        assert len(flat(tihai.palla).notes) == 1
        return
    assert other.rule == AFTER
    assert landing_offset(other.tihai, AFTER) == landing_offset(tihai, WITHIN)
    assert (*other.tihai.onsets, other.tihai.length) == tihai.onsets  # the landing stroke follows the last palla


@given(tihais())
def test_the_other_rule_lands_when_this_one_does(tihai):
    for rule in LandingRule:
        other = convert(tihai, rule)
        if other.tihai is not None:
            papers = check(TEENTAL, 1, tihai, rule), check(TEENTAL, 1, other.tihai, other.rule)
            assert papers[0].landing_matra == papers[1].landing_matra


def test_the_sum_is_told_by_the_other_rule_too():
    paper = check(TEENTAL, 1, Tihai(parse("Dha Ti Ta Ka Dha"), Fraction(1)), WITHIN)
    assert paper.other_sum == "4 + 2 + 4 + 2 + 4 = 16, then sam: 16 + 1 = 17"
    assert paper.other_rule.sentence == (
        "Counted after, the same sound: the stroke that closes each palla (1 matra) begins the dam instead, "
        "so the palla counts 4 and the dam 2."
    )


def test_from_after_the_stroke_that_fills_the_dam_becomes_the_last_of_the_palla():
    filled = Tihai(parse("Dha Ge"), Fraction(1), filler=parse("DhaTi"))
    other = convert(filled, AFTER).tihai
    assert flat(other.palla).symbols == ("Dha", "Ge", "Dha")
    assert (other.palla.length, other.dam, other.filler.symbols) == (Fraction(5, 2), HALF, ("Ti",))


def test_what_the_other_rule_cannot_count_is_said():
    assert convert(Tihai(parse("Dha Ge")), AFTER).sentence == (
        "Cannot be counted within: without a dam the next palla begins where the landing stroke would be."
    )
    paper = check(TEENTAL, 1, Tihai(parse("Dha"), Fraction(7)), WITHIN)
    assert paper.other_sum == ""
    assert paper.to_json()["other_rule"] == {
        "rule": "after",
        "sum": "",
        "sentence": "Cannot be counted after: its palla is a single stroke, and nothing would be left of it.",
    }
