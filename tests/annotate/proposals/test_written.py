"""Which tihai a proposal is."""

from __future__ import annotations

from annotate.proposals.written import SAME_S, Span, same, span_of, written_as
from tests.annotate.desk import tihai


def test_two_are_the_same_that_land_together_and_share_more_than_half_of_the_shorter() -> None:
    one = Span((10.0, 13.5, 17.0), 20.0)
    assert same(one, Span((14.9, 16.0, 18.0), 20.0 + SAME_S - 0.001))
    assert not same(one, Span((14.9, 16.0, 18.0), 20.0 + SAME_S + 0.001))
    assert same(one, Span((0.0,), 20.0))


def test_one_that_misses_covers_what_is_read_to_land_from_the_same_starts() -> None:
    misses = Span((10.0, 13.5, 17.0), 19.5)
    assert same(misses, Span((10.1, 13.4, 17.1), 20.0))
    assert not same(misses, Span((10.0, 13.7, 17.4), 20.0))


def test_what_ends_where_the_other_begins_is_another() -> None:
    assert not same(Span((10.0, 13.5, 17.0), 20.0), Span((19.9, 20.0, 20.05), 20.1))


def test_a_chakradar_that_is_written_down_covers_its_last_tihai() -> None:
    assert same(Span((10.0, 20.0, 30.0), 40.0), Span((35.0, 37.0, 39.0), 40.0))


def test_one_that_is_not_rejected_goes_before_one_that_is() -> None:
    rejected, written = tihai("t01", status="rejected"), tihai("t02", dev_s=0.05)
    assert written_as(span_of(rejected), [rejected, written]) == written
    assert written_as(span_of(rejected), [rejected]) == rejected
    assert written_as(span_of(rejected), [tihai("t03", cycle=5)]) is None
