"""The table of talas and how they are found."""

from fractions import Fraction

import pytest

from theory.bols import strokes
from theory.errors import BadData, UnknownName
from theory.notation import parse
from theory.notation_print import to_text
from theory.talas import all_talas, get_tala, read_tala, tala_variants

WITH_VARIANTS = [each for tala in all_talas() for each in (tala, *tala_variants(tala))]
TALAS = pytest.mark.parametrize("tala", WITH_VARIANTS, ids=lambda tala: tala.key)
ROW = {
    "key": "x",
    "name": "X",
    "matras": 4,
    "vibhags": [2, 2],
    "marks": "X@1 0@3",
    "theka": "Dha Ge | Na Ti",
    "source": "SV",
}


@TALAS
def test_a_theka_is_as_long_as_its_vibhags_and_its_matras(tala):
    assert tala.theka.length == sum(tala.vibhags) == tala.matras


@TALAS
def test_every_mark_begins_a_vibhag_and_the_first_is_sam(tala):
    assert tala.marks[0].matra == 1
    assert {mark.matra for mark in tala.marks} <= set(tala.vibhag_starts)


@TALAS
def test_every_bol_of_a_theka_has_a_drum_action(tala):
    assert [stroke.onset for stroke in strokes(tala.theka)] == list(tala.theka.onsets)


@TALAS
def test_a_theka_is_written_back_with_its_vibhags(tala):
    assert parse(to_text(tala.theka, tala), tala) == tala.theka
    assert not tala.theka_known or to_text(tala.theka, tala) == tala.theka_text


@TALAS
def test_every_tala_names_its_source_in_full(tala):
    assert len(tala.source) > 10


@pytest.mark.parametrize(
    ("typed", "key"),
    [
        ("Teentaal", "teental"), ("tintal", "teental"), ("TRITAL", "teental"), ("तीनताल", "teental"),
        ("tritaal", "teental"), ("jhaptaal", "jhaptal"), ("jhap-taal", "jhaptal"), ("rupak taal", "rupak"),
        ("Roopak", "rupak"), ("kaharwa", "keherwa"), ("keharva", "keherwa"), ("Kehrwa", "keherwa"),
        ("ek taal", "ektal"), ("chowtaal", "chautal"), ("Ada Chautaal", "ada-chautal"), ("dipchandi", "deepchandi"),
        ("jhumra", "jhoomra"), ("surfakta", "sultal"), ("teora", "tevra"), ("punjabi theka", "sitarkhani"),
        ("matta of 18", "matta-18"), ("dadra taal", "dadra"),
    ],
)  # fmt: skip
def test_a_tala_is_found_by_every_usual_spelling(typed, key):
    assert get_tala(typed).key == key


def test_there_are_the_twenty_five_talas_of_the_handbook():
    assert len(all_talas()) == 25
    assert len({tala.key for tala in WITH_VARIANTS}) == len(WITH_VARIANTS) == 25 + 18


@pytest.mark.parametrize(
    ("typed", "key"),
    [
        ("ektal/bengali", "ektal/bengali"), ("Ek Taal / Bengali", "ektal/bengali"), ("ektal bengali", "ektal/bengali"),
        ("rudra of 16", "rudra/16"), ("tintal/older", "teental/older"), ("chowtal/four claps", "chautal/four-claps"),
    ],
)  # fmt: skip
def test_a_variant_is_found_by_its_tala_and_its_own_name(typed, key):
    assert get_tala(typed).key == key


def test_a_variant_that_does_not_exist_offers_those_that_do():
    with pytest.raises(UnknownName, match=r"No variant of Ektal is called 'x'. There are bengali"):
        get_tala("ektal/x")
    with pytest.raises(UnknownName, match="No variant of Jhaptal is called 'bengali'"):
        get_tala("jhaptal/bengali")


def test_a_variant_says_only_what_differs_and_has_a_source_of_its_own():
    tala = get_tala("chautal")
    variant = get_tala("chautal/four-claps")
    assert (variant.matras, variant.vibhags, variant.theka) == (12, (4, 4, 2, 2), tala.theka)
    assert [mark.kind for mark in variant.marks] == ["tali"] * 4
    assert variant.source != tala.source
    assert tala_variants(variant) == ()


def test_a_theka_that_is_not_transcribed_is_silent_and_says_so():
    dobahar = get_tala("dobahar")
    assert (dobahar.theka_known, dobahar.marks_known) == (False, False)
    assert (dobahar.theka.system, dobahar.theka.length, dobahar.matras) == ("empty", 13, 13)
    assert dobahar.to_json()["theka"] is None
    without = [tala.key for tala in WITH_VARIANTS if not tala.theka_known]
    assert without == ["pancham-sawari/3-4-4-4", "dobahar"]
    assert [tala.key for tala in WITH_VARIANTS if not tala.marks_known] == ["dobahar"]


def test_a_name_that_no_tala_has_offers_the_nearest():
    with pytest.raises(UnknownName, match="Did you mean Jhaptal"):
        get_tala("jhaptl")
    with pytest.raises(UnknownName, match="There are Teental"):
        get_tala("polka")


def test_the_sam_of_rupak_is_khali():
    rupak = get_tala("rupak")
    assert (rupak.marks[0].matra, rupak.marks[0].kind) == (1, "khali")
    assert rupak.vibhag_starts == (1, 4, 6)


def test_the_gats_of_teental_have_their_usual_mukhra_starts():
    # common practice, no source
    assert get_tala("teental").mukhra_starts == (
        ("masitkhani", Fraction(12)), ("razakhani", Fraction(7)), ("razakhani", Fraction(9)),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("change", "complaint"),
    [
        ({"vibhags": [2, 3]}, r"2\+3 = 5, but the tala has 4"),
        ({"theka": "Dha Ge | Na"}, "3 matras in 2 vibhags"),
        ({"theka": "Dha Ge Na Ti"}, "4 matras in 1 vibhags"),
        ({"theka": "Dha | Ge Na Ti"}, "This bar stands before matra 2"),
        ({"theka": "Dha Ge | na Ti"}, "Expected a bol"),
        ({"marks": "X@1 0@5"}, "within 4 matras"),
        ({"marks": "X@1 0@3 2@2"}, "in order"),
        ({"marks": "0@3"}, "first mark belongs on matra 1"),
        ({"marks": "X@1 0@2"}, "where a vibhag begins: on 1, 3"),
        ({"marks": "S@1"}, "labels are X for sam, 0 for khali"),
        ({"matras": "4"}, "'matras' is wrong"),
        ({"matras": 1000, "vibhags": [1000]}, "1 to 128 matras, not 1000"),
        ({"vibhags": [2, "2"]}, "list of whole numbers"),
        ({"aliases": ["y", 3]}, "list of texts"),
        ({"vibhag": [2, 2]}, "no field 'vibhag'. Did you mean 'vibhags'"),
        ({"key": "Two Words"}, "small letters, digits and hyphens"),
        ({"mukhra": [{"gat": "razakhani"}]}, "a mukhra is written"),
        ({"mukhra": [{"gat": "razakhani", "matra": "9"}]}, "outside the tala's 4 matras"),
        ({"source": "nobody"}, "no source 'nobody'"),
    ],
)
def test_a_row_that_contradicts_itself_is_refused_with_its_name(change, complaint):
    with pytest.raises(BadData, match=complaint):
        read_tala({**ROW, **change})


def test_a_sound_row_makes_a_tala():
    assert read_tala(ROW).theka.symbols == ("Dha", "Ge", "Na", "Ti")
