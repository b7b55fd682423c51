"""Sets of questions: the same for the same wishes, as hard as wished, none twice; difficulty is monotone."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.theory.strategies import talas
from theory.errors import BadExercise, BadTihai, UnknownName
from theory.exercises.difficulty import BEGINNINGS, DAMS, Measure, measure, unevenness
from theory.exercises.draw import Draw
from theory.exercises.making import made_up
from theory.exercises.question import ASKED
from theory.exercises.wishes import FASTEST, KINDS, LEVELS, SLOWEST, ExerciseWishes
from theory.talas import all_talas, get_tala
from theory.tihai import LandingRule

ALL = tuple(KINDS)

measures = st.builds(
    Measure,
    parts=st.integers(1, 64),
    cycles=st.integers(0, 40),
    dam=st.sampled_from(DAMS),
    beginning=st.sampled_from(BEGINNINGS),
    elsewhere=st.booleans(),
    asked=st.sampled_from(ASKED),
    rounds=st.booleans(),
    unevenness=st.integers(0, 6),
    per_minute=st.integers(SLOWEST, FASTEST),
)


@given(measures, st.integers(2, 8))
def test_a_finer_subdivision_is_never_easier(made: Measure, times: int) -> None:
    assert replace(made, parts=made.parts * times).points >= made.points
    assert replace(made, parts=made.parts * times).level >= made.level


@given(measures, st.integers(0, FASTEST))
def test_faster_is_never_easier(made: Measure, more: int) -> None:
    faster = replace(made, per_minute=min(made.per_minute + more, FASTEST))
    assert faster.points >= made.points
    assert faster.level >= made.level


@given(measures, st.integers(1, 40), st.integers(1, 6))
def test_more_avartans_and_a_more_uneven_tala_are_never_easier(made: Measure, cycles: int, uneven: int) -> None:
    assert replace(made, cycles=made.cycles + cycles).points >= made.points
    assert replace(made, unevenness=made.unevenness + uneven).points > made.points


@given(measures)
def test_a_dam_with_a_fraction_is_harder_than_a_whole_one_and_that_than_none(made: Measure) -> None:
    none, whole, fraction = (replace(made, dam=dam).points for dam in DAMS)
    assert none < whole < fraction
    sam, vibhag, matra, between = (replace(made, beginning=place).points for place in BEGINNINGS)
    assert sam < vibhag < matra < between
    assert replace(made, rounds=True).points > replace(made, rounds=False).points


def test_the_vibhags_say_how_uneven_a_tala_is() -> None:
    told = {key: unevenness(get_tala(key)) for key in ("teental", "ektal", "dadra", "jhaptal", "rupak", "dhamar")}
    assert told == {"teental": 0, "ektal": 0, "dadra": 0, "jhaptal": 1, "rupak": 2, "dhamar": 4}


@settings(max_examples=25, deadline=None)
@given(
    talas,
    st.sampled_from(LandingRule),
    st.sampled_from((None, *LEVELS)),
    st.integers(0, 10**6),
    st.sampled_from((None, 90)),
    st.booleans(),
)
def test_whatever_is_made_up_has_a_right_answer_that_lands(tala, rule, level, seed, per_minute, elsewhere) -> None:
    target = Fraction(tala.matras) if elsewhere else Fraction(1)
    wishes = ExerciseWishes(tala.key, ALL, rule, target, level, per_minute, 6, seed)
    made = made_up(wishes)
    assert len(made) == 6
    assert made == made_up(wishes)
    assert len({(each.asked, each.piece) for each in made}) == 6
    for question in made:
        assert question.is_right(question.answer)
        assert question.asked == "miss" or question.piece.paper.lands
        assert question.piece.rule == (LandingRule.WITHIN if question.kind == "chakradar" else rule)
        assert per_minute in (None, question.per_minute)
        assert question.piece.target == target
        assert question.sentence
        assert question.given


def test_asking_for_more_leaves_the_first_questions_as_they_are() -> None:
    few, many = (made_up(ExerciseWishes(level=2, number=number, kinds=ALL, seed=7)) for number in (5, 20))
    assert many[:5] == few


def test_another_seed_gives_other_questions_and_kinds_take_turns() -> None:
    one, other = (made_up(ExerciseWishes(level=3, seed=seed, number=8)) for seed in (1, 2))
    assert one != other
    assert sorted(each.kind for each in one) == sorted(each.kind for each in other)
    assert {each.kind for each in one[:4]} == {"start", "dam", "palla", "lands"}


def test_the_level_that_is_wished_is_met_in_teental() -> None:
    for level in LEVELS:
        made = made_up(ExerciseWishes(level=level, number=12, kinds=("start", "dam", "palla")))
        assert [measure(each).level for each in made].count(level) >= 11


def test_without_a_level_the_easiest_come_first() -> None:
    levels = [measure(each).level for each in made_up(ExerciseWishes(kinds=ALL, number=12))]
    assert levels == sorted(levels)


def test_a_seed_means_the_same_on_every_machine() -> None:
    # what Python promises of random(): these numbers were drawn once and written down
    draw = Draw("a sheet")
    assert [draw.below(100) for _ in range(6)] == [46, 84, 39, 94, 20, 44]
    assert sorted(draw.shuffled("abc")) == ["a", "b", "c"]


@pytest.mark.parametrize("tala", all_talas(), ids=lambda tala: tala.key)
def test_every_tala_has_questions_of_every_kind(tala) -> None:
    made = made_up(ExerciseWishes(tala.key, ALL, number=5))
    assert {each.kind for each in made} == set(KINDS)


def test_wishes_are_kept_as_plain_values_and_read_back() -> None:
    wishes = ExerciseWishes("jhaptal", ("dam", "chakradar"), LandingRule.AFTER, Fraction(17, 2), 4, 90, 12, 33)
    assert wishes.to_dict() == {
        "tala": "jhaptal", "kinds": ["dam", "chakradar"], "rule": "after", "target": "17/2", "level": 4,
        "per_minute": 90, "number": 12, "seed": 33,
    }  # fmt: skip
    assert ExerciseWishes.from_dict(wishes.to_dict()) == wishes
    assert ExerciseWishes().to_dict() == {}
    assert ExerciseWishes.from_dict({"kinds": "dam,start", "number": "3"}).kinds == ("dam", "start")


@pytest.mark.parametrize(
    ("told", "message"),
    [
        ({"kinds": ["dam", "sums"]}, "'sums'"),
        ({"kinds": []}, "none"),
        ({"level": 6}, "The difficulty is 6"),
        ({"number": 0}, "number of questions is 0"),
        ({"per_minute": 5}, "The laya in matras a minute is 5"),
        ({"seed": -1}, "whole number as seed"),
        ({"rule": "before"}, "within or after"),
        ({"target": "0"}, "counted from 1"),
        ({"target": "Dha"}, "Expected a matra"),
        ({"tala": 16}, "Expected a text as tala"),
        ({"laya": 90}, "no 'laya'"),
        ({"level": True}, "whole number as difficulty"),
        ({"kinds": 3}, "as a list"),
    ],
)
def test_wishes_that_make_no_sense_are_told(told: dict, message: str) -> None:
    with pytest.raises(BadExercise, match=message):
        ExerciseWishes.from_dict(told)


def test_a_tala_that_there_is_not_and_a_target_outside_it_are_told() -> None:
    with pytest.raises(UnknownName, match="Rupak"):
        made_up(ExerciseWishes("rupka"))
    with pytest.raises(BadTihai, match="outside"):
        made_up(ExerciseWishes("rupak", target=Fraction(9)))
