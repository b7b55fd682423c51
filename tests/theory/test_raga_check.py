"""A phrase held against a raga: what is unusual, where, and by which rule."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from theory.errors import NotationError
from theory.notation import parse
from theory.raga_check import check_phrase
from theory.ragas import all_ragas, get_raga, raga_variants, read_raga
from theory.swaras import letters, split_symbol

WITH_VARIANTS = [each for raga in all_ragas() for each in (raga, *raga_variants(raga))]
RAGAS = pytest.mark.parametrize("raga", WITH_VARIANTS, ids=lambda raga: raga.key)
SWARAS = [*letters(), *(f"{letter}'" for letter in letters()), *(f".{letter}" for letter in letters())]
ragas = st.sampled_from(WITH_VARIANTS)
lines = st.lists(st.sampled_from(SWARAS), min_size=1, max_size=12)


def found(raga: str, text: str) -> list[tuple[str, str, int]]:
    """Return kind, swara and note number of everything unusual."""
    return [(breach.kind, breach.symbol, breach.note) for breach in check_phrase(get_raga(raga), text)]


@RAGAS
def test_a_raga_s_own_scale_and_phrases_are_usual_in_it(raga):
    for text in (raga.aroha, raga.avaroha, f"{raga.aroha} {raga.avaroha}", *raga.phrases, *raga.allowed):
        assert check_phrase(raga, text) == (), text


def test_a_foreign_swara_is_found_at_its_place():
    (breach,) = check_phrase(get_raga("yaman"), "S R\ng:1/2 M")
    assert (breach.kind, breach.symbol, breach.note, breach.column, breach.onset) == ("foreign", "g", 3, 4, 2)
    assert breach.sentence == (
        "g (note 3, matra 3 of the phrase): unusual in Yaman, whose swaras are S R G M P D N."
    )  # fmt: skip
    assert breach.to_json()["onset"] == "2/1"


def test_a_descent_only_swara_that_is_passed_through_going_up_is_unusual():
    assert found("bhimpalasi", "S R g m P D n S'") == [("descent only", "R", 2), ("descent only", "D", 6)]
    assert found("bhimpalasi", "S' n D P m g R S") == []


def test_an_ascent_only_swara_that_is_passed_through_going_down_is_unusual():
    assert found("desh", "S' N D P") == [("ascent only", "N", 2)]
    assert found("desh", "m P N S'") == []


@pytest.mark.parametrize(
    ("raga", "text"),
    [
        ("khamaj", "G m P N D"),  # its own phrase: N at the top of the line, taken going up and left going down
        ("desh", "m P n D P"),  # n at the top, reached from P
        ("desh", "S' N S'"),  # N at the bottom, a touch below Sa
        ("bhimpalasi", "m P D P"),  # D touched from P
        ("bhimpalasi", "S R"),  # nobody knows how it goes on from the last swara
    ],
)
def test_a_swara_at_a_turn_or_at_the_end_belongs_to_both_directions(raga, text):
    assert found(raga, text) == []


def test_the_first_swara_goes_where_it_leaves_to():
    assert found("bhimpalasi", "R g m") == [("descent only", "R", 1)]
    assert found("bhimpalasi", "R S") == []


def test_a_held_or_repeated_swara_is_judged_by_what_lies_on_both_sides():
    assert found("desh", "S' N - - N N D") == [("ascent only", "N", 2)]
    assert found("desh", "S R - R G G - m") == [("descent only", "G", 4)]


def test_a_swara_kept_to_certain_turns_is_unusual_outside_them():
    assert found("alhaiya bilaval", "D n D P") == []
    assert found("alhaiya bilaval", "S' n D P") == [("only within", "n", 2)]
    assert found("hamir", "G M P m") == [("only within", "M", 2)]
    assert found("purvi", "P M m r") == [("only within", "m", 3)]


def test_part_of_such_a_turn_may_lie_outside_the_phrase():
    assert found("alhaiya bilaval", "n D P") == []
    assert found("hamir", "N D P M") == []


def test_a_way_that_the_raga_takes_round_is_unusual_when_taken_straight():
    assert found("darbari", "S' n d P") == [("not straight", "d", 3)]
    assert found("darbari", "S' d n P") == []
    assert found("hamir", "P m G R S") == [("not straight", "G", 3)]
    assert found("tilak kamod", ".P .D .N") == [("not straight", ".D", 2)]


def test_an_allowed_turn_is_usual_against_the_rule():
    assert found("jhinjhoti", "S R G m") == []
    assert found("jhinjhoti", "S G m") == [("descent only", "G", 2)]


def test_variants_are_checked_by_their_own_rules():
    assert found("bhairavi", "S R g") == [("foreign", "R", 2)]
    assert found("bhairavi/light", "S R g") == []
    assert found("bageshri", "D P m g") == []
    assert found("bageshri/without-pa", "D P m g") == [("foreign", "P", 2)]


def test_bols_are_no_phrase_of_a_raga():
    with pytest.raises(NotationError, match="checked in swaras"):
        check_phrase(get_raga("desh"), "Dha Dhin Dhin Dha")


def test_silence_is_usual_everywhere():
    assert check_phrase(get_raga("desh"), "_ - |") == ()


@given(ragas, lines)
def test_the_foreign_swaras_are_those_that_are_none_of_the_raga(raga, line):
    breaches = check_phrase(raga, " ".join(line))
    foreign = {line[breach.note - 1] for breach in breaches if breach.kind == "foreign"}
    assert foreign == {symbol for symbol in line if split_symbol(symbol)[0].letter not in raga.swara_set}


@given(ragas, lines)
def test_what_is_unusual_depends_neither_on_rhythm_nor_on_bars(raga, line):
    spread = check_phrase(raga, " - | ".join(line))
    tight = check_phrase(raga, "".join(line))
    assert [(b.kind, b.note) for b in spread] == [(b.kind, b.note) for b in tight]


@given(ragas, st.lists(st.sampled_from(letters()), min_size=1, max_size=12))
def test_what_is_unusual_does_not_depend_on_the_octave(raga, line):
    places = [
        [(b.kind, b.note) for b in check_phrase(raga, " ".join(sign.format(letter) for letter in line))]
        for sign in (".{}", "{}", "{}'")
    ]
    assert places[0] == places[1] == places[2]


@given(ragas, lines)
def test_every_finding_points_at_its_swara_and_calls_it_unusual(raga, line):
    text = ", ".join(line)
    for breach in check_phrase(raga, text):
        assert text[breach.column :].startswith(breach.symbol)
        assert parse(text).symbols[breach.note - 1] == breach.symbol
        assert f"unusual in {raga.name}" in breach.sentence
        assert "wrong" not in breach.sentence


def test_all_rules_of_a_row_of_one_s_own_are_followed_together():
    row = {
        "key": "x", "name": "X", "aroha": "S R G P D S'", "avaroha": "S' D P G R S", "source": "common practice",
        "only_within": {"G": ["R G R"]}, "never": ["D P G"], "allowed": ["S G"],
    }  # fmt: skip
    breaches = check_phrase(read_raga(row), "S G P D P G R")
    assert [(b.kind, b.note) for b in breaches] == [("not straight", 5), ("only within", 6)]
