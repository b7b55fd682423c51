"""The lexicons: what a bol does on the drums, where a swara lies, how both are written in Devanagari."""

import pytest

from theory.bhatkhande import to_bhatkhande
from theory.bols import all_bols, get_bol, split_bols, strokes
from theory.errors import NotationError, UnknownName
from theory.notation import parse
from theory.notation_print import to_text
from theory.swaras import all_swaras, letters, semitones_of, split_symbol


def test_dha_rings_on_both_drums_and_its_khali_form_only_on_the_treble():
    assert (get_bol("Dha").bass, get_bol("Dha").treble) == ("rings", "rings")
    assert (get_bol("Ta").bass, get_bol("Ta").treble) == ("none", "rings")
    assert (get_bol("Ge").bass, get_bol("Ge").treble) == ("rings", "none")
    assert (get_bol("Kat").bass, get_bol("Kat").treble) == ("dead", "none")


def test_a_bol_is_found_in_any_spelling():
    assert get_bol("DHEEN").name == "Dhin"
    with pytest.raises(UnknownName, match="bol"):
        get_bol("Xylo")


@pytest.mark.parametrize("word", ["TiRaKiTa", "Tirakita", "tirakita"])
def test_a_word_of_several_bols_is_cut_at_capitals_or_into_the_fewest_bols(word):
    assert split_bols(word) == ("Ti", "Ra", "Ki", "Ta")


def test_the_ta_that_closes_a_fast_run_is_dead_and_the_open_ta_rings():
    struck = strokes(parse("TiRaKiTa Ta Dha _ Ta"))
    assert [stroke.bol.treble for stroke in struck if stroke.bol.name == "Ta"] == ["dead", "rings", "rings"]


def test_the_ti_before_na_is_a_tin_and_rings_and_the_ti_of_quick_runs_is_dead():
    def trebles(text):
        return [stroke.bol.treble for stroke in strokes(parse(text)) if stroke.bol.name == "Ti"]

    assert trebles("Ti Na | Dhi Dhi Na") == ["rings"]  # jhaptal
    assert trebles("NaTi NaKa DhiNa") == ["rings"]  # keherwa in dugun
    assert trebles("Na Ti Ti Na") == ["rings", "rings"]  # the older teental
    assert trebles("TiRaKiTa TiTa Dha Ti Te Ti _ Na") == ["dead"] * 4


def test_a_ti_that_rings_is_spelled_long_in_devanagari():
    assert to_bhatkhande(parse("Ti Na TiRaKiTa")) == "ती ना तिरकिट"


def test_the_four_sounds_follow_from_what_rings():
    # Rohit, Bhattacharjee, Rao, TISMIR 2023: both, treble alone, bass alone, damped
    assert [get_bol(bol).category for bol in ("Dha", "Na", "Ge", "Ke")] == [
        "both ring", "treble rings", "bass rings", "damped",
    ]  # fmt: skip


def test_one_word_of_several_bols_shares_its_length():
    assert [(s.bol.name, s.onset, s.length) for s in strokes(parse("Gadi:1"))] == [("Ga", 0, 0.5), ("Di", 0.5, 0.5)]


def test_every_bol_names_its_source():
    assert all(len(bol.source) > 10 for bol in all_bols())


def test_the_twelve_swaras_lie_a_semitone_apart():
    assert letters() == "SrRgGmMPdDnN"
    assert [swara.semitones for swara in all_swaras()] == list(range(12))


@pytest.mark.parametrize(
    ("symbol", "semitones"), [("S", 0), ("S'", 12), (".n", -2), ("..P", -17), ("M", 6), ("R''", 26)]
)
def test_octave_marks_move_a_swara_by_twelve_semitones(symbol, semitones):
    assert semitones_of(symbol) == semitones


@pytest.mark.parametrize("symbol", ["", "s", "Sa", ".S'", "'S", "...n", "S'''", "S "])
def test_what_is_no_swara_is_refused(symbol):
    with pytest.raises(NotationError):
        split_symbol(symbol)


def test_bhatkhande_signs_are_written_in_both_scripts():
    passage = parse("S r M S' .n")
    # komal: line below (U+0332); tivra: upright line above (U+030D); octaves: dot above or below
    assert to_bhatkhande(passage, "latin") == "S R\u0332 M\u030d S\u0307 N\u0332\u0323"
    assert to_bhatkhande(passage) == "सा रे\u0332 म\u030d सा\u0307 नि\u0332\u0323"


def test_bols_are_written_in_devanagari_and_unknown_ones_stay_as_they_are():
    assert to_bhatkhande(parse("Dha TiRaKiTa Xyz Ta -")) == "धा तिरकिट Xyz ता -"
    assert to_bhatkhande(parse("Dha Ta"), "latin") == to_text(parse("Dha Ta"))
