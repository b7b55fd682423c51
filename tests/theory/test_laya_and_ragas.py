"""Layakari ratios and the table of ragas."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.theory.strategies import passages, positive, talas
from theory.errors import BadData, TheoryError, UnknownName
from theory.laya import all_layas, in_laya, layas_named, start_to_end_on_sam
from theory.notation import parse
from theory.ragas import all_ragas, get_raga, raga_variants, read_raga, thaats
from theory.talas import get_tala

WITH_VARIANTS = [each for raga in all_ragas() for each in (raga, *raga_variants(raga))]
RAGAS = pytest.mark.parametrize("raga", WITH_VARIANTS, ids=lambda raga: raga.key)
ROW = {
    "key": "x", "name": "X", "thaat": "Kalyan", "aroha": "S R G P D S'", "avaroha": "S' D P G R S",
    "vadi": "G", "samvadi": "D", "source": "SV 147",
}  # fmt: skip


def test_a_name_that_schools_use_for_several_ratios_gives_all_of_them_the_general_one_first():
    assert [laya.ratio for laya in layas_named("kuaad")] == [Fraction(5, 4), Fraction(9, 4), Fraction(7, 4)]
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
    assert raga.vadi != raga.samvadi or raga.key == "charukeshi"  # no agreed pair
    assert {raga.vadi, raga.samvadi, *raga.ascent_only, *raga.descent_only} - {""} <= raga.swara_set
    assert len(raga.source) > 10


@RAGAS
def test_a_raga_has_at_least_five_swaras_and_one_way_ones_keep_their_direction(raga):
    assert len(raga.swara_set) >= 5
    assert not set(raga.ascent_only) & set(raga.descent_only)
    assert not set(raga.descent_only) & {symbol.strip(".'") for symbol in parse(raga.aroha).symbols}
    assert not set(raga.ascent_only) & {symbol.strip(".'") for symbol in parse(raga.avaroha).symbols}


def test_there_are_the_forty_three_ragas_of_the_handbook():
    assert len(all_ragas()) == 43
    assert len({raga.key for raga in WITH_VARIANTS}) == len(WITH_VARIANTS)
    assert all(raga.phrases and raga.time and raga.jati for raga in WITH_VARIANTS)


def test_the_jati_counts_the_degrees_of_aroha_and_avaroha():
    def jati(raga):
        return f"{7 - len(raga.omitted_up)}-{7 - len(raga.omitted_down)}"

    counted_otherwise = [raga.key for raga in all_ragas() if jati(raga) != raga.jati]
    # d is skipped in the descent of darbari; the R of pilu stands in its phrases; the others count a weak swara
    assert counted_otherwise == ["darbari-kanada", "pilu", "shuddh-sarang", "miyan-ki-malhar", "sohni"]


def test_a_raga_leaves_out_the_degrees_it_has_no_swara_of():
    assert get_raga("bhupali").omitted == ("m", "N")
    assert get_raga("desh").omitted == ()
    assert get_raga("desh").omitted_up == ("G", "D")


def test_the_ten_thaats_have_seven_swaras_one_of_each_degree():
    assert len(thaats()) == 10
    assert all("".join(scale).upper() == "SRGMPDN" for scale in thaats().values())


def test_a_variant_of_a_raga_is_found_by_its_own_name_and_differs_where_it_says_so():
    raga, variant = get_raga("kafi"), get_raga("Kaafi / pa-sa")
    assert (variant.key, variant.vadi, variant.samvadi) == ("kafi/pa-sa", "P", "S")
    assert (variant.aroha, variant.thaat) == (raga.aroha, raga.thaat)
    with pytest.raises(UnknownName, match=r"No variant of Kafi is called 'x'\. There are pa-sa"):
        get_raga("kafi/x")


def test_all_of_a_raga_is_given_as_plain_values():
    row = get_raga("hamir").to_json()
    assert row["only_within"] == {"M": ["P M P", "M P D P"]}
    assert (row["raga"], row["never"], row["omitted"]) == ("hamir", ["m G R"], [])


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
        ({"thaat": "Marva"}, "'Marva' should be one of Bilaval"),
        ({"thaat": 3}, "'thaat' is wrong"),
        ({"vadi": "G R"}, "vadi 'G R' should be the letter of one swara"),
        ({"aroha": "- _"}, "aroha and avaroha need swaras"),
        ({"ascent_only": "G", "descent_only": "G D"}, "G cannot be both"),
        ({"only_within": {"G": ["S R"]}}, "only_within G should list turns of phrase that have G"),
        ({"only_within": {"N": ["D N"]}}, "has N"),
        ({"never": ["P m G"]}, "'P m G' has m"),
        ({"avroha": "S' D P"}, "no field 'avroha'. Did you mean 'avaroha'"),
    ],
)
def test_a_row_that_contradicts_itself_is_refused_with_its_name(change, complaint):
    with pytest.raises(BadData, match="(?s)raga 'x'.*" + complaint):
        read_raga({**ROW, **change})


def test_a_sound_row_makes_a_raga():
    assert read_raga(ROW).swaras == ("S", "R", "G", "P", "D")
