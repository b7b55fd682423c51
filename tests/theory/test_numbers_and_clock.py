"""Counts of matras and times in a recording, as typed and as written."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from theory.clock import format_clock, parse_clock
from theory.errors import BadClock, BadNumber
from theory.numbers import matras, parse_matras, spoken, stored


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("5", Fraction(5)),
        ("11/2", Fraction(11, 2)),
        ("5 1/2", Fraction(11, 2)),
        ("5.5", Fraction(11, 2)),
        ("0.1", Fraction(1, 10)),
        (".25", Fraction(1, 4)),
        ("-1/2", Fraction(-1, 2)),
        ("-5 1/2", Fraction(-11, 2)),
        ("+1", Fraction(1)),
        ("  3/4 ", Fraction(3, 4)),
    ],
)
def test_a_count_of_matras_is_read_exactly(text, count):
    assert parse_matras(text) == count


@pytest.mark.parametrize("text", ["", "five", "1/0", "5 1/0", "5,5", "1/2/3", "1 2", "1.5/2", "nan", "1e3", "½"])
def test_a_text_that_is_no_count_is_refused_with_examples(text):
    with pytest.raises(BadNumber, match="5 1/2"):
        parse_matras(text)


@given(st.fractions(max_denominator=1000, min_value=-1000, max_value=1000))
def test_a_count_comes_back_from_both_ways_of_writing_it(count):
    assert parse_matras(spoken(count)) == count
    assert parse_matras(stored(count)) == count


def test_a_stored_count_always_has_numerator_and_denominator():
    assert stored(Fraction(17)) == "17/1"
    assert stored(Fraction(11, 2)) == "11/2"
    assert stored(Fraction(-1, 2)) == "-1/2"


def test_a_count_is_spoken_with_the_right_number_of_matras():
    counts = (Fraction(1), Fraction(1, 2), Fraction(3, 2), Fraction(0), Fraction(-2))
    assert [matras(count) for count in counts] == ["1 matra", "1/2 matra", "1 1/2 matras", "0 matras", "-2 matras"]


@pytest.mark.parametrize(
    ("text", "time_s"),
    [("62.5", 62.5), ("1:02", 62.0), ("1:02.5", 62.5), ("1:02:03.5", 3723.5), ("0", 0.0), ("75:00", 4500.0)],
)
def test_a_time_is_read_as_seconds_or_with_colons(text, time_s):
    assert parse_clock(text) == time_s


@pytest.mark.parametrize("text", ["", "-1", "1:60", "1:75:00", "1:2:3:4", "a", "1:", ":30", "nan", "inf", "1e3"])
def test_a_text_that_is_no_time_is_refused(text):
    with pytest.raises(BadClock):
        parse_clock(text)


def test_a_time_is_written_with_as_many_decimals_as_it_needs():
    assert [format_clock(time_s) for time_s in (0, 5.25, 62.5, 3723.5, 59.9996)] == [
        "0:00", "0:05.25", "1:02.5", "1:02:03.5", "1:00",
    ]  # fmt: skip
    assert format_clock(62.5, decimals=3) == "1:02.500"
    assert format_clock(-0.25) == "-0:00.25"


def test_a_time_that_is_not_finite_is_refused():
    with pytest.raises(BadClock):
        format_clock(float("nan"))


@given(st.floats(min_value=0, max_value=1e6))
def test_a_time_comes_back_to_the_millisecond(time_s):
    # written to whole milliseconds: half of one, plus the rounding of a double near 1e6
    assert abs(parse_clock(format_clock(time_s)) - time_s) <= 0.0005 + 1e-9
