"""Reading notation and writing it back."""

from fractions import Fraction

import pytest
from hypothesis import given

from tests.theory.strategies import passages
from theory.errors import BadTihai, NotationError
from theory.notation import Note, Passage, join, parse, silence
from theory.notation_print import to_text
from theory.passage import cut
from theory.talas import get_tala


def notes_of(text: str) -> list[tuple[str, Fraction, Fraction]]:
    return [(note.symbol, note.onset, note.length) for note in parse(text).notes]


def test_one_word_is_one_matra():
    assert parse("S R G m").length == 4
    assert parse("Dha Dhin Dhin Dha").onsets == (0, 1, 2, 3)


def test_several_in_a_word_share_its_matra_equally():
    third = Fraction(1, 3)
    assert notes_of("S RGm") == [("S", 0, 1), ("R", 1, third), ("G", 1 + third, third), ("m", 2 - third, third)]
    assert parse("TiRaKiTa").onsets == (0, Fraction(1, 4), Fraction(1, 2), Fraction(3, 4))


def test_a_hold_prolongs_the_note_before_also_into_the_next_word():
    assert notes_of("S-Rg - -") == [("S", 0, 0.5), ("R", 0.5, 0.25), ("g", 0.75, 2.25)]
    assert notes_of("Dha -Dhin") == [("Dha", 0, Fraction(3, 2)), ("Dhin", Fraction(3, 2), Fraction(1, 2))]


def test_a_hold_with_nothing_before_it_and_a_hold_of_silence_are_silent():
    assert notes_of("-S") == [("S", Fraction(1, 2), Fraction(1, 2))]
    assert notes_of("S _ - R") == [("S", 0, 1), ("R", 3, 1)]


def test_silence_at_the_end_counts_for_the_length_and_not_for_the_last_stroke():
    passage = parse("Dha Ti Dha _")
    assert (passage.length, passage.last_onset) == (4, 2)


def test_octaves_are_part_of_the_symbol():
    assert parse("S' .n ..P R''").symbols == ("S'", ".n", "..P", "R''")
    assert parse("SS'.nR").symbols == ("S", "S'", ".n", "R")


def test_a_word_may_have_its_own_length():
    assert notes_of("Dha Dha:1/2") == [("Dha", 0, 1), ("Dha", 1, Fraction(1, 2))]
    assert notes_of("DhaTiDha:3/4")[-1] == ("Dha", Fraction(1, 2), Fraction(1, 4))
    assert parse("S:2") == parse("S -")


def test_the_system_is_seen_from_the_words():
    assert [parse(text).system for text in ("S R", "Dha Ge", "_ -", "", "D N", "Dhin Na")] == [
        "sargam", "bols", "empty", "empty", "sargam", "bols",
    ]  # fmt: skip


def test_signs_that_keyboards_replace_are_understood():
    assert parse("S’ – R") == parse("S' - R")
    assert parse("Dha Ge । Na") == parse("Dha Ge | Na")


def test_a_comma_is_a_breath_without_length():
    assert parse("P, m P, D m") == parse("P m P D m")


@pytest.mark.parametrize(
    ("text", "column", "why"),
    [
        ("S R X G", 4, "Expected a swara"),
        ("S R.G'", 3, "Expected a swara"),
        ("Dha ge", 4, "Expected a bol"),
        ("DhaG Na", 3, "Expected a bol"),
        ("Dha S", 4, "'S' is in swaras"),
        ("S Dha", 3, "'Dha' is in bols"),
        ("Sa Re Ga", 0, "Write swaras as letters"),
        ("S R:0 G", 4, "the word's length after the colon"),
        ("S R:1/0", 4, "the word's length after the colon"),
        ("S R: G", 4, "the word's length after the colon"),
        ("S :1/2", 2, "before the colon"),
        ("8", 0, "Expected"),
    ],
)
def test_a_text_that_does_not_parse_shows_the_place(text, column, why):
    with pytest.raises(NotationError, match=why) as caught:
        parse(text)
    assert caught.value.column == column
    assert str(caught.value).endswith(f"\n  {text}\n  {' ' * column}^")


def test_the_caret_stands_below_its_own_line_of_a_longer_text():
    with pytest.raises(NotationError) as caught:
        parse("S R\n\tG X P")
    assert str(caught.value).splitlines()[1:] == ["   G X P", "     ^"]


def test_bars_are_checked_against_the_tala():
    jhaptal = get_tala("jhaptal")
    assert parse("Dhi Na | Dhi Dhi Na |", jhaptal).length == 5
    assert parse("S R | G", jhaptal, start=9).length == 3
    with pytest.raises(NotationError, match="before matra 4, but vibhags begin on 1, 3, 6, 8"):
        parse("Dhi Na Dhi | Dhi Na", jhaptal)
    with pytest.raises(NotationError, match="before matra 2 1/2"):
        parse("S | R", jhaptal, start=Fraction(3, 2))


def test_bars_are_written_where_vibhags_begin():
    jhaptal = get_tala("jhaptal")
    assert to_text(parse("S R G m P D n S' S R G m"), jhaptal) == "S R | G m P | D n | S' S R | G m"
    assert to_text(parse("S R G m"), jhaptal, start=10) == "S | R G | m"


@pytest.mark.parametrize(
    "text",
    ["S R G m", "S -R _ G_", "TiRaKiTa Dha:1/2", "S-Rg - -", "_S", "Dha - _", "", "_ _", "S:1/17 R:16/17", "S - -:1/2"],
)
def test_plain_notation_is_written_back_as_typed(text):
    assert to_text(parse(text)) == text


@given(passages())
def test_every_passage_comes_back_exactly_from_its_notation(passage):
    assert parse(to_text(passage)) == passage


@given(passages(least_notes=1))
def test_all_of_a_passage_lies_on_its_subdivision(passage):
    parts = passage.subdivision
    assert all((onset * parts).denominator == 1 for onset in (*passage.onsets, passage.length))


@given(passages(), passages())
def test_joining_adds_lengths_and_keeps_order(first, second):
    if {first.system, second.system} == {"sargam", "bols"}:
        with pytest.raises(BadTihai, match="do not mix"):
            join([first, second])
        return
    joined = join([first, second])
    assert joined.length == first.length + second.length
    assert joined.symbols == first.symbols + second.symbols


@given(passages(least_notes=1))
def test_a_passage_cut_before_its_last_note_joins_again(passage):
    assert join(cut(passage, passage.last_onset)) == passage


def test_a_passage_that_cannot_be_is_refused():
    one = Note("S", Fraction(0), Fraction(1))
    with pytest.raises(BadTihai, match="overlaps"):
        Passage("sargam", (one, one), Fraction(2))
    with pytest.raises(BadTihai, match="longer than the passage"):
        Passage("sargam", (one,), Fraction(1, 2))
    with pytest.raises(BadTihai, match="only silence"):
        _ = silence(Fraction(1)).last_onset
