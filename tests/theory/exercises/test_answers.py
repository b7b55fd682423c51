"""Answers: every way of writing a right one is right, every answer that lands is right, and slips are told by name."""

from __future__ import annotations

from contextlib import suppress
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.theory.strategies import talas
from theory.composing import Piece
from theory.errors import BadExercise
from theory.exercises.marking import mark, mark_count, solution, sum_lines
from theory.exercises.question import ASKED, Question
from theory.exercises.reading import read_answer
from theory.notation import parse
from theory.paper import check
from theory.passage import Note, Passage
from theory.solve import sketch, solve
from theory.talas import get_tala
from theory.tihai import LandingRule, Tihai

TEENTAL = get_tala("teental")
WITHIN, AFTER = LandingRule.WITHIN, LandingRule.AFTER
HALF = Fraction(1, 2)


def five(asked: str = "start", rule: LandingRule = WITHIN, start: int = 1, dam: int = 1) -> Question:
    """5 + 1 + 5 + 1 + 5 = 17 in teental, which lands from sam when it is counted within."""
    palla = parse("Dha Ti Ta Ka Dha")
    return Question("", asked, Piece(TEENTAL, Fraction(start), Fraction(1), rule, palla, Fraction(dam)), 120)


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("5 1/2", "11/2"), ("11/2", "11/2"), ("5.5", "11/2"), ("5,5", "11/2"), ("5½", "11/2"), ("5 ½ matras", "11/2"),
        ("5-1/2", "11/2"), ("five and a half", "11/2"), ("22/4", "11/2"), ("५ १/२", "11/2"), ("half", "1/2"),
        ("one half", "1/2"), ("a quarter", "1/4"), ("three quarters", "3/4"), ("2 and three quarters", "11/4"),
        ("one and a half", "3/2"), ("matra 9", "9"), ("17", "17"), (" 5 ", "5"), ("12 / 3", "4"),
    ],
)  # fmt: skip
def test_a_count_is_read_however_it_is_written(text: str, count: str) -> None:
    assert read_answer(text, "start") == Fraction(count)


@pytest.mark.parametrize(("text", "asked", "count"), [("sam", "start", 1), ("none", "dam", 0), ("no dam", "dam", 0)])
def test_words_of_the_trade_are_answers(text: str, asked: str, count: int) -> None:
    assert read_answer(text, asked) == count


@pytest.mark.parametrize(
    ("text", "gap"),
    [
        ("lands", 0), ("it lands on sam", 0), ("yes", 0), ("0", 0), ("1/2 short", HALF),
        ("short by half a matra", HALF), ("half a matra early", HALF), ("1 over", -1), ("1 matra too late", -1),
        ("overshoots by 1 1/2", -3 * HALF),
        ("-1/2 short", HALF),
    ],
)  # fmt: skip
def test_how_far_it_misses_is_read_with_its_way(text: str, gap: Fraction) -> None:
    assert read_answer(text, "miss") == gap


@pytest.mark.parametrize(
    ("text", "asked", "told"),
    [
        ("", "dam", "No answer"),
        ("Dha", "dam", "Write a count of matras"),
        ("1/0", "dam", "Write a count of matras"),
        ("2", "miss", "Which way"),
        ("1 short over", "miss", "at once"),
        ("misses", "miss", "Write it as"),
        ("9" * 70, "dam", "at most"),
    ],
)
def test_what_is_no_answer_is_told_how_one_is_written(text: str, asked: str, told: str) -> None:
    with pytest.raises(BadExercise, match=told):
        read_answer(text, asked)


@given(st.text(max_size=70), st.sampled_from(ASKED))
def test_any_text_is_an_answer_or_is_told_why_not(text: str, asked: str) -> None:
    with suppress(BadExercise):
        assert isinstance(read_answer(text, asked), Fraction)


@pytest.mark.parametrize("text", ["1", "sam", "17", "33/1", "1.0", "matra 17", "-15"])
def test_a_start_is_right_in_whichever_cycle_it_is_counted(text: str) -> None:
    marked = mark(five(), text)
    assert marked.right
    assert bool(marked.hints) == (read_answer(text, "start") != 1)


@pytest.mark.parametrize("text", ["1", "9", "17", "18/2"])
def test_every_dam_that_lands_is_right(text: str) -> None:
    # two dams: half an avartan more in each is an avartan more in all
    assert mark(five("dam"), text).right


def test_every_palla_that_lands_is_right_whatever_its_length_is_in_the_solutions() -> None:
    assert mark(five("palla"), "10 1/3").right
    assert mark(five("palla"), "15 2/3").right
    assert not mark(five("palla"), "6").right
    assert solution(five("palla")) == "5 matras; as right: 10 1/3 or 15 2/3"


@pytest.mark.parametrize(
    ("question", "text", "hint"),
    [
        (five(), "0", "sam is matra 1, not 0"),
        (five(), "1 1/2", "Half a matra too late"),
        (five(), "16 1/2", "Half a matra too early"),
        (five(), "16", "counted by the other rule"),
        (five(rule=AFTER, start=16), "1", "counted by the other rule"),
        (five("dam"), "2", "both dams together"),
        (five("dam"), "-1", "cannot be played"),
        (five("palla"), "15", "all three pallas together"),
        (five("palla"), "1/2", "no room for its last stroke"),
        (five("palla"), "5 1/2", "Half a matra too long"),
        (five("miss", start=2), "1 short", "the way is not"),
        (five("miss", start=2), "lands", "It does not land"),
        (five("miss"), "1 over", "counted by the other rule"),
        (five("miss", start=2), "1/2 over", "Off by 1/2 matra"),
    ],
)
def test_a_slip_is_told_by_what_it_is(question: Question, text: str, hint: str) -> None:
    marked = mark(question, text)
    assert not marked.right
    assert hint in " ".join(marked.hints)


def test_a_wrong_answer_is_told_where_it_leads() -> None:
    assert mark(five(), "2").led_to.endswith("Overshoots sam by 1 matra: its last stroke comes on matra 2.")
    assert sum_lines(five())[-2:] == (
        "5 + 1 + 5 + 1 + 5 = 17 = 16 + 1",
        "Lands on sam, 16 matras after it begins on sam.",
    )


def test_a_palla_whose_length_is_asked_is_not_shown() -> None:
    told = dict(five("palla").given)
    assert "Palla" not in told
    assert told["Last stroke of the palla"] == "1 matra"


counts = st.builds(Fraction, st.integers(1, 80), st.sampled_from((1, 2, 3, 4)))


@st.composite
def questions(draw: st.DrawFn) -> Question:
    """Any tihai that lands, plain or in rounds, by either rule, with anything left out."""
    tala, rule = draw(talas), draw(st.sampled_from(LandingRule))
    palla = draw(counts)
    stroke = min(draw(counts), palla)
    dam, target = draw(counts) - Fraction(1, 4), 1 + Fraction(draw(st.integers(0, 2 * tala.matras - 1)), 2)
    rounds = draw(st.booleans())
    bol = draw(counts) if rounds else None
    lead = Passage("bols", (Note("Ti", Fraction(0), bol),), bol) if bol else None
    between = draw(counts) if rounds else None
    piece = Piece(tala, Fraction(1), target, rule, sketch(palla, stroke), dam, lead, between)
    start = tala.wrap(target - 1 - (piece.paper.landing_matra - 1))
    asked = draw(st.sampled_from([each for each in ASKED if rounds or each not in ("round_dam", "bol")]))
    if rounds and asked in ("dam", "palla"):
        asked = "start"
    landing = Piece(tala, start, target, rule, sketch(palla, stroke), dam, lead, between)
    return Question("", asked, landing, 60)


@given(questions(), st.integers(-3, 3))
def test_whatever_lands_is_right_and_nothing_else(question: Question, cycles: int) -> None:
    assert mark_count(question, question.answer).right
    assert question.is_right(question.answer_at(question.place))
    assert all(question.is_right(each) and each != question.answer for each in question.others)
    another = question.answer + cycles * question.step
    assert question.is_right(another) == question.is_possible(another) or question.asked == "miss"


@given(questions(), st.builds(Fraction, st.integers(-90, 90), st.sampled_from((1, 2, 3, 4))))
def test_an_answer_is_right_exactly_when_the_tihai_that_it_makes_lands_on_paper(
    question: Question, answer: Fraction
) -> None:
    marked = mark_count(question, answer)
    if question.asked == "miss":
        landing = question.piece.paper
        assert marked.right == ((landing.shortfall - answer) % question.tala.matras == 0)
    elif question.is_possible(answer):
        made = question.with_answer(answer)
        paper = check(made.tala, made.start, made.tihai, made.rule, made.target)
        assert marked.right == paper.lands
    else:
        assert not marked.right


@given(questions())
def test_a_place_on_the_cycle_is_as_good_an_answer_as_a_count(question: Question) -> None:
    tala = question.tala
    places = [1 + Fraction(number, 2) for number in range(2 * tala.matras)]
    right = {place for place in places if question.is_right(question.answer_at(place))}
    assert right <= {question.tala.wrap(question.place - 1 + k * _every(question)) for k in range(6)}
    assert (question.place in places) <= (question.place in right)


def _every(question: Question) -> Fraction:
    """How far one right place lies from the next: a start and a landing have one, a second palla several."""
    return Fraction(question.tala.matras) if question.asked in ("start", "miss") else question.step


@given(talas, st.sampled_from(LandingRule), st.sampled_from((1, 2)))
def test_the_solver_and_the_answers_agree_on_every_dam_and_palla(tala, rule, parts) -> None:
    found = solve(tala, 1, 1, parts, rule, palla_most=6, dam_most=tala.matras)
    for each in found[:12]:
        piece = Piece(tala, each.start, each.target, rule, sketch(each.palla, each.last_stroke), each.dam)
        dams = {other.dam for other in found if (other.palla, other.last_stroke) == (each.palla, each.last_stroke)}
        question = Question("", "dam", piece, 60)
        assert dams <= {question.answer, *question.others}


def test_the_other_answers_come_to_the_same_landing() -> None:
    for other in five("dam").others:
        assert check(TEENTAL, 1, Tihai(five().piece.palla, other), WITHIN).lands
