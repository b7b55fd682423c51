"""The table of talas and how they are found."""

from fractions import Fraction

import pytest

from theory.bols import strokes
from theory.errors import BadData, UnknownName
from theory.notation import parse
from theory.notation_print import to_text
from theory.talas import all_talas, get_tala, read_tala

TALAS = pytest.mark.parametrize("tala", all_talas(), ids=lambda tala: tala.key)
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
    assert to_text(tala.theka, tala) == tala.theka_text


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
        ({"matras": "4"}, "'matras' is wrong"),
        ({"source": "nobody"}, "no source 'nobody'"),
    ],
)
def test_a_row_that_contradicts_itself_is_refused_with_its_name(change, complaint):
    with pytest.raises(BadData, match=complaint):
        read_tala({**ROW, **change})


def test_a_sound_row_makes_a_tala():
    assert read_tala(ROW).theka.symbols == ("Dha", "Ge", "Na", "Ti")
