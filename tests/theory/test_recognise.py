"""Recognising a tihai from the notation alone."""

from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.theory.strategies import passages, tihais
from theory.notation import parse
from theory.notation_print import to_text
from theory.passage import Note, Passage, join
from theory.recognise import recognise
from theory.talas import all_talas, get_tala
from theory.tihai import Chain, Tihai, flat, kind_of

HALF = Fraction(1, 2)
OTHERS = ("Kat", "Tun", "Ghe", "Ne", "Tet", "Ri")


@pytest.mark.parametrize(
    ("text", "before", "palla", "dam", "times", "after"),
    [
        ("Dha Ti Dha - Dha Ti Dha - Dha Ti Dha", "", "Dha Ti Dha", 1, 3, ""),
        ("Dha Ti Dha _ Dha Ti Dha _ Dha Ti Dha _", "", "Dha Ti Dha", 1, 3, "_"),
        ("R m P N S' _ R m P N S' _ R m P N S' - -", "", "R m P N S'", 1, 3, "_ _"),
        ("S R G m P, G m P, G m P", "S R", "G m P", 0, 3, ""),
        ("Na Na Dha Ti Dha Dha Ti Dha Dha Ti Dha Kat", "Na Na", "Dha Ti Dha", 0, 3, "Kat"),
        ("Ge Na Dha - Dha - Dha", "Ge Na", "Dha", 1, 3, ""),
        ("DhaTi Dha DhaTi Dha DhaTi Dha DhaTi Dha DhaTi Dha", "", "DhaTi Dha", 0, 5, ""),
        ("Dha Ge Dha Ge Dha Ge Dha", "", "Dha Ge", 0, 3, "Dha"),  # counted after: the dha of sam follows
        ("Kat DhaGe Dha DhaGe Dha DhaGe Dha", "Kat", "DhaGe Dha", 0, 3, ""),
    ],
)
def test_palla_dam_and_repetitions_are_found(text, before, palla, dam, times, after):
    found = recognise(parse(text))
    assert found.tihai == Tihai(parse(palla), Fraction(dam), times)
    assert (to_text(found.before), to_text(found.after)) == (before, after)
    assert found.passage == parse(text)


def test_a_filled_dam_is_found_with_its_strokes():
    found = recognise(parse("Dha Ti Ta TiTe Dha Ti Ta TiTe Dha Ti Ta"))
    assert found.tihai == Tihai(parse("Dha Ti Ta"), Fraction(1), filler=parse("TiTe"))


def test_nine_statements_in_three_groups_are_a_nauhakka_with_and_without_a_gap_between_the_groups():
    statement, gap = "DhaTi Dha", "_:1/2"
    parted = recognise(parse(f" {gap} ".join([" ".join([statement] * 3)] * 3))).tihai
    assert parted == Tihai(Tihai(parse(statement)), HALF)
    assert recognise(parse(" ".join([statement] * 9))).tihai == Tihai(Tihai(parse(statement)))
    assert kind_of(parted) == "nauhakka"


@pytest.mark.parametrize(
    ("bol", "mukhra", "dhas", "dam", "times"), [(12, 4, 1, 0, 3), (10, 6, 3, 1, 3), (3, 2, 5, 3, 5)]
)
def test_a_chakradar_comes_back_as_a_bol_and_a_tihai(bol, mukhra, dhas, dam, times):
    phrase = parse(" ".join(["Ti"] * mukhra + ["Dha"] * dhas))
    chakradar = Tihai(Chain((parse(" ".join(["Ka"] * bol)), Tihai(phrase, times=times))), Fraction(dam), times)
    assert recognise(join([parse("Dhin Na"), flat(chakradar)])).tihai == chakradar


@pytest.mark.parametrize(
    "text", ["", "_ _", "Dha", "S R G m P D N S'", "Dha Ti Dha Ti", "S - - -", " ".join(["Dha"] * 12)]
)
def test_what_does_not_come_three_times_is_no_tihai(text):
    assert recognise(parse(text)) is None


@pytest.mark.parametrize("key", ["teental", "jhaptal", "ektal", "rupak", "keherwa", "dadra"])
def test_a_theka_is_no_tihai(key):
    assert recognise(get_tala(key).theka) is None


@pytest.mark.parametrize("tala", all_talas(), ids=lambda tala: tala.key)
def test_a_tihai_is_found_after_a_cycle_of_any_theka(tala):
    palla = parse("Tun Kat Ghe Tun")
    found = recognise(join([tala.theka, flat(Tihai(palla, HALF))]))
    assert found.tihai == Tihai(palla, HALF)
    assert found.before.symbols == tala.theka.symbols


@st.composite
def plain_pallas(draw, least=2):
    """A palla whose strokes all differ, so that it can be read in one way only."""
    count = draw(st.integers(least, len(OTHERS)))
    lengths = [Fraction(draw(st.integers(1, 8)), 4) for _ in range(count)]
    notes = [Note(OTHERS[i], sum(lengths[:i], Fraction(0)), lengths[i]) for i in range(count)]
    return Passage("bols", tuple(notes), sum(lengths, Fraction(0)))


@given(plain_pallas(), st.integers(0, 12), st.sampled_from((3, 3, 4, 5)))
def test_a_plain_tihai_is_found_as_it_was_made(palla, quarters, times):
    tihai = Tihai(palla, Fraction(quarters, 4), times)
    found = recognise(join([parse("Dha Dhin DhaGe Na"), flat(tihai)]))
    assert found.tihai == tihai
    assert found.before == parse("Dha Dhin DhaGe Na")
    assert (found.after.length, found.held) == (0, ())


@given(plain_pallas(), st.integers(0, 6), st.integers(0, 6), st.integers(1, 5))
def test_a_chakradar_is_found_as_it_was_made(palla, dam, between, bol):
    inner = Tihai(palla, Fraction(dam, 4))
    chakradar = Tihai(Chain((parse(" ".join(["Dha", "Dhin", "Ta", "Na", "Ti"][:bol])), inner)), Fraction(between, 4))
    assert recognise(flat(chakradar)).tihai == chakradar


@given(tihais(), st.booleans())
def test_whatever_is_found_flattens_to_the_same_passage(tihai, lead):
    passage = join([parse("Dha Dhin"), flat(tihai)]) if lead else flat(tihai)
    found = recognise(passage)
    if found is not None:
        assert found.passage == passage
        assert flat(found.tihai).symbols == passage.symbols[len(found.before.notes) :][: len(flat(found.tihai).notes)]


@given(passages())
def test_any_passage_is_read_or_not_and_never_changed(passage):
    found = recognise(passage)
    assert found is None or found.passage == passage


@given(tihais(depth=0))
def test_a_tihai_of_several_strokes_is_never_missed(tihai):
    assume(len(tihai.palla.notes) > 1 and tihai.times == 3 and len(set(tihai.palla.symbols)) > 1)
    written = flat(tihai)
    found = recognise(written)
    assert found is not None
    assert flat(found.tihai).onsets[-1] - flat(found.tihai).onsets[0] >= written.onsets[-1] - written.onsets[0]
