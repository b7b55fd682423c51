"""Tempo names by school; ratios and cents of swaras and shrutis."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from theory.errors import TheoryError, UnknownName
from theory.intonation import all_tunings, cents_of, get_tuning, off_equal_cents, placements, shrutis
from theory.laya import layas_named, layas_of
from theory.swaras import letters
from theory.tempo import tempo_schools

SCHOOLS = {school.key: school for school in tempo_schools()}


@pytest.mark.parametrize(
    ("school", "tempo_mpm", "name"),
    [
        ("doubling", 40, "vilambit"), ("doubling", 56, "vilambit"), ("doubling", 57, "madhya"),
        ("doubling", 5, "ati-ati-vilambit"),
        ("doubling", 2000, "ati-ati-drut"), ("handbook", 60, "madhya"), ("handbook", 40, "vilambit"),
        ("research", 59.9, "vilambit"), ("research", 60, "madhya"), ("research", Fraction(150), "drut"),
    ],
)  # fmt: skip
def test_a_tempo_is_named_by_the_school_that_is_asked(school, tempo_mpm, name):
    assert SCHOOLS[school].name_of(tempo_mpm) == name


def test_schools_disagree_and_each_names_its_source():
    assert {school.name_of(100) for school in tempo_schools()} == {"madhya", "drut"}
    assert all(len(school.source) > 10 for school in tempo_schools())


@pytest.mark.parametrize("tempo_mpm", [0, -60, float("nan"), float("inf")])
def test_a_tempo_that_is_none_is_refused(tempo_mpm):
    with pytest.raises(TheoryError, match="give one above 0"):
        SCHOOLS["doubling"].name_of(tempo_mpm)


@given(st.sampled_from(tempo_schools()), st.floats(1, 1000), st.floats(1, 1000))
def test_a_faster_tempo_never_has_a_slower_name(school, one_mpm, other_mpm):
    order = [tempo.name for tempo in school.tempi]
    slow, fast = sorted((one_mpm, other_mpm))
    assert order.index(school.name_of(slow)) <= order.index(school.name_of(fast))


def test_the_names_of_a_ratio_are_found_with_their_schools():
    assert [(laya.name, laya.school) for laya in layas_of(Fraction(2))] == [("dugun", "")]
    names = [(laya.name, laya.school) for laya in layas_of(Fraction(7, 4))]
    assert names == [("biaad", ""), ("kuaad", "kuaad and biaad the other way round")]
    assert layas_of(Fraction(11, 10)) == ()
    assert [laya.ratio for laya in layas_named("biaad")] == [Fraction(7, 4), Fraction(27, 8), Fraction(5, 4)]


@pytest.mark.parametrize("tuning", all_tunings(), ids=lambda tuning: tuning.key)
def test_a_tuning_rises_from_sa_through_all_twelve_within_a_third_of_a_semitone_of_equal(tuning):
    assert "".join(tuning.ratios) == letters()
    ratios = list(tuning.ratios.values())
    assert ratios[0] == 1
    assert ratios == sorted(set(ratios))
    assert all(abs(tuning.off_equal_cents(letter)) < 33 for letter in letters())
    assert len(tuning.source) > 10


def test_just_and_equal_differ_most_at_komal_ga_and_shuddha_dha():
    assert off_equal_cents("g", Fraction(6, 5)) == pytest.approx(15.64, abs=0.005)  # cents; the last digit shown
    assert get_tuning("western-just").off_equal_cents("D") == pytest.approx(-15.64, abs=0.005)


def test_an_unknown_tuning_offers_the_known_ones():
    with pytest.raises(UnknownName, match="There are handbook, western-just"):
        get_tuning("x")


@given(st.fractions(Fraction(1, 8), 8), st.fractions(Fraction(1, 8), 8))
def test_cents_add_where_ratios_multiply(one, other):
    # 1e-6 cents is far below hearing and far above the rounding of floats
    assert cents_of(one * other) == pytest.approx(cents_of(one) + cents_of(other), abs=1e-6)
    assert cents_of(Fraction(2)) == 1200


def test_the_shrutis_rise_and_belong_to_the_swaras_in_order():
    assert [shruti.number for shruti in shrutis()] == list(range(1, 23))
    cents = [shruti.cents for shruti in shrutis()]
    assert cents == sorted(set(cents))
    assert [shruti.swara for shruti in shrutis()] == sorted((shruti.swara for shruti in shrutis()), key=letters().index)
    assert {shruti.swara for shruti in shrutis()} == set(letters())


def test_the_two_placements_share_the_shrutis_out_alike():
    # S, m, P have four, R and D three, G and N two (SV 42)
    old, modern = placements()["old"], placements()["modern"]
    assert [old[letter] - modern[letter] + 1 for letter in "SRGmPDN"] == [4, 3, 2, 4, 4, 3, 2]
