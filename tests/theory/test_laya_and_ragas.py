"""Layakari ratios and the table of ragas."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.theory.strategies import passages, positive, talas
from theory.errors import BadData, TheoryError, UnknownName
from theory.laya import all_layas, in_laya, layas_named, start_to_end_on_sam
from theory.notation import parse
from theory.ragas import all_ragas, get_raga, read_raga
from theory.talas import get_tala

RAGAS = pytest.mark.parametrize("raga", all_ragas(), ids=lambda raga: raga.key)
ROW = {
    "key": "x", "name": "X", "thaat": "Kalyan", "aroha": "S R G P D S'", "avaroha": "S' D P G R S",
    "vadi": "G", "samvadi": "D", "source": "SV 147",
}  # fmt: skip


def test_a_name_that_schools_use_for_several_ratios_gives_all_of_them_the_general_one_first():
    assert [laya.ratio for laya in layas_named("kuaad")] == [Fraction(5, 4), Fraction(9, 4)]
    assert [laya.ratio for laya in layas_named("Dugun")] == [2]
    assert layas_named("barabar")[0].name == "thah"


def test_an_unknown_laya_offers_the_known_ones():
    with pytest.raises(UnknownName, match="There are thah, dugun"):
        layas_named("allegro")


def test_every_laya_names_its_source():
    assert all(len(laya.source) > 10 for laya in all_layas())


@given(talas, st.sampled_from([laya.ratio for laya in all_layas()]), positive)
def test_a_passage_in_any_laya_begun_at_its_start_point_is_over_on_sam(tala, ratio, length):
    start = start_to_end_on_sam(tala, ratio, length)
    assert 1 <= start < tala.matras + 1
    assert (start - 1 + length / ratio) % tala.matras == 0


@given(passages())
def test_a_passage_in_dugun_takes_half_the_time_and_in_thah_comes_back(passage):
    assert in_laya(passage, Fraction(2)).length == passage.length / 2
    assert in_laya(in_laya(passage, Fraction(3, 2)), Fraction(2, 3)) == passage


@pytest.mark.parametrize("ratio", [Fraction(0), Fraction(-2)])
def test_a_ratio_that_cannot_be_played_is_refused(ratio):
    with pytest.raises(TheoryError, match="ratio"):
        start_to_end_on_sam(get_tala("teental"), ratio)
    with pytest.raises(TheoryError, match="ratio"):
        in_laya(parse("S R"), ratio)


@RAGAS
def test_a_raga_begins_on_sa_has_vadi_and_samvadi_and_names_its_source(raga):
    assert raga.swaras[0] == "S"
    assert raga.vadi != raga.samvadi
    assert {raga.vadi, raga.samvadi, *raga.ascent_only, *raga.descent_only} <= raga.swara_set
    assert len(raga.source) > 10


@RAGAS
def test_a_raga_has_at_least_five_swaras_and_one_way_ones_keep_their_direction(raga):
    assert len(raga.swara_set) >= 5
    assert not set(raga.ascent_only) & set(raga.descent_only)
    assert not set(raga.descent_only) & {symbol.strip(".'") for symbol in parse(raga.aroha).symbols}
    assert not set(raga.ascent_only) & {symbol.strip(".'") for symbol in parse(raga.avaroha).symbols}


@pytest.mark.parametrize(
    ("typed", "key"),
    [
        ("Yaman", "yaman"), ("Bageshree", "bageshri"), ("des", "desh"), ("Darbari", "darbari-kanada"), ("यमन", "yaman"),
        ("vrindavani sarang", "brindavani-sarang"), ("Malkosh", "malkauns"), ("bheempalasi", "bhimpalasi"),
    ],
)  # fmt: skip
def test_a_raga_is_found_by_every_usual_spelling(typed, key):
    assert get_raga(typed).key == key


def test_a_name_that_no_raga_has_offers_the_nearest():
    with pytest.raises(UnknownName, match=r"No raga is called 'Yamn'\. Did you mean Yaman"):
        get_raga("Yamn")


@pytest.mark.parametrize(
    ("change", "complaint"),
    [
        ({"vadi": "N"}, "'N' has N, which is none of its swaras"),
        ({"phrases": ["S R m"]}, "'S R m' has m"),
        ({"aroha": "S R X"}, "Expected a swara"),
        ({"thaat": None}, "'thaat' is missing"),
    ],
)
def test_a_row_that_contradicts_itself_is_refused_with_its_name(change, complaint):
    with pytest.raises(BadData, match="(?s)raga 'x'.*" + complaint):
        read_raga({**ROW, **change})


def test_a_sound_row_makes_a_raga():
    assert read_raga(ROW).swaras == ("S", "R", "G", "P", "D")
