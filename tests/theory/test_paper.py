"""The check on paper: landing, shortfall, the sum as taught, the mends."""

import re
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.theory.strategies import matra_of, talas, tihais
from theory.errors import BadTihai
from theory.mends import Mend, apply
from theory.notation import parse
from theory.numbers import parse_matras
from theory.paper import check, palla_positions
from theory.passage import Note, Passage
from theory.talas import get_tala
from theory.tihai import Chain, LandingRule, Tihai, landing_offset

WITHIN, AFTER = LandingRule.WITHIN, LandingRule.AFTER
TEENTAL = get_tala("teental")
HALF = Fraction(1, 2)
FIVE = parse("Dha Ti Dha Ge Dha")


@st.composite
def cases(draw):
    """A tala, a start in it, a tihai, a rule and a target."""
    tala = draw(talas)
    target = draw(st.one_of(st.just(Fraction(1)), matra_of(tala)))
    return tala, draw(matra_of(tala)), draw(tihais()), draw(st.sampled_from(LandingRule)), target


def test_a_tihai_that_lands_says_so_and_needs_no_mend():
    paper = check(TEENTAL, 1, Tihai(FIVE, Fraction(1)), WITHIN)
    assert (paper.lands, paper.landing_matra, paper.shortfall, paper.total, paper.cycles) == (True, 1, 0, 17, 1)
    assert paper.sum == "5 + 1 + 5 + 1 + 5 = 17 = 16 + 1"
    assert paper.sentence == "Lands on sam, 16 matras after it begins on sam."
    assert paper.mends == ()


def test_a_tihai_that_falls_short_says_by_how_much_and_how_to_mend_it():
    paper = check(TEENTAL, 1, Tihai(FIVE, HALF), WITHIN)
    assert (paper.lands, paper.shortfall, paper.landing_matra) == (False, 1, 16)
    assert paper.sentence == "Falls 1 matra short of sam: its last stroke comes on matra 16."
    assert paper.sum == "5 + 1/2 + 5 + 1/2 + 5 = 16, 1 short of 17 = 16 + 1"
    assert [(mend.change, mend.new, mend.difference) for mend in paper.mends] == [
        ("start", 2, 1), ("dam", 1, HALF), ("palla", 16, 11),
    ]  # fmt: skip
    assert [mend.sentence for mend in paper.mends] == [
        "Begin on matra 2, 1 matra later.",
        "Make the dam 1 matra instead of 1/2.",
        "Make the palla 16 matras instead of 5, its last stroke as it is. In sixths, 5 1/3 would do.",
    ]


def test_a_tihai_that_overshoots_by_one_matra_says_so():
    paper = check(TEENTAL, 2, Tihai(FIVE, Fraction(1)), WITHIN)
    assert paper.sentence == "Overshoots sam by 1 matra: its last stroke comes on matra 2."
    assert paper.sum == "5 + 1 + 5 + 1 + 5 = 17; from matra 2: 1 + 17 = 18, 1 over 17 = 16 + 1"


def test_half_a_matra_short_is_half_a_matra_short():
    paper = check(TEENTAL, Fraction(33, 2), Tihai(FIVE, Fraction(1)), WITHIN)
    assert paper.sentence == "Falls 1/2 matra short of sam: its last stroke comes on matra 16 1/2."
    assert paper.mends[0].sentence == "Begin on sam of the next cycle, 1/2 matra later."


def test_a_mend_that_needs_a_finer_subdivision_says_so():
    dam = check(TEENTAL, 1, Tihai(parse("Dha Ti Dha Dha"), Fraction(2)), WITHIN).mends[1]
    assert dam.new == Fraction(5, 2)
    assert dam.sentence == (
        "Make the dam 2 1/2 matras instead of 2. This is in halves: in whole matras no change of it lands."
    )


def test_in_ektal_a_bedam_tihai_of_whole_matras_is_mended_in_thirds():
    # tablalegacy.com, tihai: no bedam tihai of equal whole matras runs from sam to sam in ektal
    palla = check(get_tala("ektal"), 1, Tihai(parse("Dha Ti Dha Dha")), WITHIN).mends[2]
    assert (palla.new, palla.difference) == (Fraction(13, 3), Fraction(1, 3))
    assert "in thirds" in palla.sentence


def test_the_after_rule_adds_sam_behind_the_sum():
    paper = check(get_tala("jhaptal"), 1, Tihai(parse("Dhi Na Dhi Dhi Na Ti"), Fraction(1)), AFTER)
    assert paper.sum == "6 + 1 + 6 + 1 + 6 = 20 = 2 x 10, then sam: 20 + 1 = 21"
    assert paper.lines[-2] == "Landing: the stroke after palla 3, on sam of cycle 3"


def test_a_start_other_than_sam_enters_as_the_matras_before_it():
    paper = check(get_tala("chautal"), 5, Tihai(parse("Dha Dha Dha")), WITHIN)
    assert paper.sum == "3 + 3 + 3 = 9; from matra 5: 4 + 9 = 13 = 12 + 1"


def test_another_target_enters_as_its_matra():
    paper = check(TEENTAL, 1, Tihai(parse("Dha Ti Dha Ge"), Fraction(0)), WITHIN, Fraction(12))
    assert (paper.lands, paper.sum) == (True, "4 + 4 + 4 = 12")
    assert paper.sentence == "Lands on matra 12, 11 matras after it begins on sam."
    after = check(TEENTAL, 6, Tihai(parse("Dha Dha Ti Dha Dha Dha Dha"), HALF), AFTER, Fraction(12))
    assert after.sum == "7 + 1/2 + 7 + 1/2 + 7 = 22; from matra 6: 5 + 22 = 27, then matra 12: 27 + 1 = 28 = 16 + 12"


def test_the_arithmetic_is_written_line_by_line():
    paper = check(TEENTAL, 9, Tihai(parse("Dha Dha"), Fraction(1)), AFTER)
    assert paper.lines == (
        "Palla 1: from matra 9 of cycle 1, 2 matras",
        "Dam 1: from matra 11 of cycle 1, 1 matra",
        "Palla 2: from matra 12 of cycle 1, 2 matras",
        "Dam 2: from matra 14 of cycle 1, 1 matra",
        "Palla 3: from matra 15 of cycle 1, 2 matras",
        "Landing: the stroke after palla 3, on sam of cycle 2",
        "2 + 1 + 2 + 1 + 2 = 8; from matra 9: 8 + 8 = 16, then sam: 16 + 1 = 17",
    )


def test_the_rounds_of_a_chakradar_are_broken_down():
    chakradar = Tihai(Chain((parse("Ti Ti"), Tihai(parse("Ti Dha"), Fraction(1)))))
    assert check(TEENTAL, 1, chakradar, WITHIN).lines[0] == "Each round: 2 + (2 + 1 + 2 + 1 + 2) = 10 matras"


def test_many_pallas_are_multiplied_instead_of_added():
    assert check(TEENTAL, 1, Tihai(FIVE, HALF, times=9), WITHIN).sum.startswith("9 x 5 + 8 x 1/2 = 49")


def test_positions_count_on_through_the_cycles():
    pallas, landing = palla_positions(check(TEENTAL, 9, Tihai(FIVE, Fraction(1)), WITHIN))
    assert pallas == (9, 15, 21)
    assert landing == 25


def test_the_result_for_json_keeps_every_count_as_a_fraction_in_text():
    row = check(TEENTAL, 1, Tihai(FIVE, HALF), WITHIN).to_json()
    assert {name: row[name] for name in ("lands", "landing_matra", "shortfall", "total", "cycles")} == {
        "lands": False, "landing_matra": "16/1", "shortfall": "1/1", "total": "16/1", "cycles": 0,
    }  # fmt: skip
    assert (row["tala"], row["start"], row["rule"], row["target"]) == ("teental", "1/1", "within", "1/1")
    assert row["mends"][1] == {
        "change": "dam", "new": "1/1", "difference": "1/2", "sentence": "Make the dam 1 matra instead of 1/2.",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("start", "target", "why"),
    [
        (0, 1, "The start is matra 0"),
        (17, 1, "The start is matra 17"),
        (HALF, 1, "start"),
        (1, 17, "The target is matra 17"),
    ],
)
def test_a_start_or_target_outside_the_tala_is_refused(start, target, why):
    with pytest.raises(BadTihai, match=f"{why}.*"):
        check(TEENTAL, start, Tihai(FIVE), WITHIN, target)


def test_a_start_after_the_last_matra_and_before_sam_is_allowed():
    assert check(TEENTAL, Fraction(67, 4), Tihai(FIVE), WITHIN).start == Fraction(67, 4)


@given(cases())
def test_it_lands_iff_the_shortfall_is_nothing_and_starting_later_by_it_lands(case):
    tala, start, tihai, rule, target = case
    paper = check(*case)
    assert -tala.matras < 2 * paper.shortfall <= tala.matras
    assert paper.lands == (paper.shortfall == 0) == (paper.landing_matra == target)
    assert check(tala, tala.wrap(start - 1 + paper.shortfall), tihai, rule, target).lands


@given(cases(), st.integers(1, 3))
def test_a_dam_longer_by_whole_cycles_changes_nothing_but_their_number(case, more):
    tala, start, tihai, rule, target = case
    paper = check(*case)
    longer = check(tala, start, Tihai(tihai.palla, tihai.dam + more * tala.matras, tihai.times), rule, target)
    assert (longer.landing_matra, longer.shortfall) == (paper.landing_matra, paper.shortfall)
    assert longer.cycles == paper.cycles + more * (tihai.times - 1)


@given(cases(), st.integers(1, 3))
def test_whole_cycles_played_before_every_palla_change_nothing_but_their_number(case, more):
    tala, start, tihai, rule, target = case
    paper = check(*case)
    ahead = Passage("bols", (Note("Ti", Fraction(0), Fraction(more * tala.matras)),), Fraction(more * tala.matras))
    longer = check(tala, start, Tihai(Chain((ahead, tihai.palla)), tihai.dam, tihai.times), rule, target)
    assert (longer.landing_matra, longer.shortfall) == (paper.landing_matra, paper.shortfall)
    assert longer.cycles == paper.cycles + more * tihai.times


@given(cases())
def test_three_mends_are_offered_and_each_lands_when_it_is_applied(case):
    tala, start, tihai, rule, target = case
    paper = check(*case)
    assert [mend.change for mend in paper.mends] == ([] if paper.lands else ["start", "dam", "palla"])
    for mend in paper.mends:
        begin, mended = apply(mend, start, tihai)
        assert check(tala, begin, mended, rule, target).lands
        old = {"start": start, "dam": tihai.dam, "palla": tihai.palla.length}[mend.change]
        assert (mend.new - old - mend.difference) % tala.matras == 0
        new = {"start": begin, "dam": mended.dam, "palla": mended.palla.length}[mend.change]
        assert new == mend.new


@given(cases())
def test_what_would_do_on_a_finer_subdivision_lands_too(case):
    tala, start, tihai, rule, target = case
    for mend in check(*case).mends:
        finer = re.search(r"In [^:]+, ([\d /]+) would do", mend.sentence)
        if finer:
            old = tihai.dam if mend.change == "dam" else tihai.palla.length
            new = parse_matras(finer[1])
            other = Mend(mend.change, new, new - old, "")
            assert abs(other.difference) < abs(mend.difference)
            assert check(tala, *apply(other, start, tihai), rule, target).lands


@given(cases())
def test_no_smaller_change_of_the_dam_on_the_same_subdivision_lands(case):
    tala, start, tihai, rule, target = case
    paper = check(*case)
    assume(not paper.lands)
    dam = paper.mends[1]
    parts = paper.subdivision
    assume((dam.difference * parts).denominator == 1)  # found on the subdivision in use
    for steps in range(1, int(abs(dam.difference) * parts)):
        for change in (Fraction(steps, parts), Fraction(-steps, parts)):
            if tihai.dam + change >= 0:
                other = Tihai(tihai.palla, tihai.dam + change, tihai.times)
                position = start - 1 + landing_offset(other, rule)
                assert tala.wrap(position) != target


@given(cases())
def test_every_equation_in_the_sum_holds(case):
    text = check(*case).sum
    for line in re.split(r"; from matra [^:]+: |, then [^:]+: |, [^,=]+ (?:short of|over) ", text):
        values = {_value(side) for side in line.split(" = ")}
        assert len(values) == 1, text


def _value(side: str) -> Fraction:
    total = Fraction(0)
    for term in side.split(" + "):
        times, _, count = term.rpartition(" x ")
        total += parse_matras(count) * parse_matras(times or "1")
    return total
