"""The plan of a practice sound: parts add up to the whole, exactly, whatever the matras and speeds."""

from fractions import Fraction
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from annotate.practice.sounds.plan import Pace, Run, Spot, Stretch, even, laid_out, parts_of
from ingest.sound_writing import RATE_HZ

lengths = st.fractions(Fraction(1, 20), 3, max_denominator=48_000)
speeds = st.fractions(Fraction(1), Fraction(4), max_denominator=100)


@st.composite
def stretches(draw: st.DrawFn) -> Stretch:
    """Two to twenty matras, each of its own length, from a sam on."""
    knots = [(Fraction(0), Fraction(0))]
    for number, length in enumerate(draw(st.lists(lengths, min_size=2, max_size=20)), 1):
        knots.append((Fraction(number), knots[-1][1] + length))
    return Stretch("round", Pace(tuple(knots)), closes=draw(st.booleans()))


@settings(max_examples=25)
@given(
    stretches(),
    st.lists(speeds, min_size=1, max_size=4),
    st.integers(1, 4),
    st.fractions(0, 16, max_denominator=4),
    st.one_of(st.none(), st.integers(2, 16)),
)
def test_legs_lie_end_to_end_and_add_up_to_the_whole(stretch, slower, rounds, count_in, avartan):
    runs = [Run(stretch, each, "", True, stretch.closes) for each in slower]
    legs = laid_out(runs, rounds, count_in, avartan)
    assert legs[0].begin_s == 0
    assert all(left.end_s == right.begin_s for left, right in pairwise(legs))
    assert legs[-1].end_s == sum(leg.pace.lasts_s for leg in legs)
    assert sum(leg.kind == "round" for leg in legs) == rounds * len(slower)
    played_s = sum(leg.pace.lasts_s for leg in legs if leg.kind == "round")
    assert played_s == rounds * stretch.pace.lasts_s * sum(slower)
    counted = [leg for leg in legs if leg.kind == "count-in"]
    assert len(counted) == (0 if not count_in else len(slower) * (1 if stretch.closes else rounds))
    assert all(leg.pace.last - leg.pace.first == count_in for leg in counted)
    assert all(leg.pace.last == stretch.pace.first for leg in counted)


@settings(max_examples=25)
@given(stretches(), speeds, st.integers(2, 9))
def test_no_round_is_longer_than_another_by_more_than_a_sample(stretch, slower, rounds):
    legs = laid_out([Run(stretch, slower, "", False, False)], rounds, Fraction(0), None)
    bounds = [round(leg.begin_s * RATE_HZ) for leg in legs] + [round(legs[-1].end_s * RATE_HZ)]
    samples = [right - left for left, right in pairwise(bounds)]
    assert max(samples) - min(samples) <= 1
    assert sum(samples) == round(rounds * stretch.pace.lasts_s * slower * RATE_HZ)


@settings(max_examples=25)
@given(stretches(), speeds, st.fractions(0, 20, max_denominator=12))
def test_a_slowed_pace_puts_every_place_so_many_times_later(stretch, slower, position):
    assert stretch.pace.stretched(slower).seconds(position) == slower * stretch.pace.seconds(position)


@settings(max_examples=25)
@given(st.fractions(5, 700, max_denominator=10), st.fractions(0, 64, max_denominator=12))
def test_in_an_even_laya_every_place_is_its_matras_times_a_matra(laya, position):
    assert even(Fraction(0), Fraction(16), 60 / laya).seconds(position) == position * 60 / laya


def test_a_closing_sam_rings_for_a_second_or_more_in_whole_matras():
    for matra_s, matras in ((Fraction(1, 3), 3), (Fraction(2), 1), (Fraction(9, 10), 2)):
        stretch = Stretch("round", even(Fraction(0), Fraction(7), matra_s))
        closing = laid_out([Run(stretch, Fraction(1), "", True, True)], 1, Fraction(0), 7)[-1]
        assert (closing.kind, closing.pace.lasts_s) == ("closing", matras * matra_s)


def test_named_parts_are_told_once_for_each_speed_and_slowed_with_it():
    spot = Spot(Fraction(1, 2), Fraction(3, 2), "palla 1", "palla")
    stretch = Stretch("round", even(Fraction(0), Fraction(4), Fraction(1, 2)), (spot,))
    runs = [Run(stretch, Fraction(2), "at 50 %", True, True), Run(stretch, Fraction(1), "at 100 %", True, True)]
    told = [(each.begin_s, each.end_s, each.words) for each in parts_of(laid_out(runs, 2, Fraction(4), 4))]
    assert told == [
        (0.0, 4.0, "count-in"),
        (4.0, 8.0, "round 1 at 50 %"),
        (5.0, 7.0, "palla 1 at 50 %"),
        (8.0, 12.0, "round 2 at 50 %"),
        (12.0, 13.0, "closing sam"),
        (13.0, 15.0, "count-in"),
        (15.0, 17.0, "round 1 at 100 %"),
        (15.5, 16.5, "palla 1 at 100 %"),
        (17.0, 19.0, "round 2 at 100 %"),
        (19.0, 20.0, "closing sam"),
    ]
