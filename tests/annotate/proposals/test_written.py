"""Which tihai a proposal is."""

from __future__ import annotations

from annotate.proposals.written import SAME_LANDING_S, Span, same, written_as
from tests.annotate.desk import tihai


def test_two_are_the_same_that_land_together_and_share_more_than_half_of_the_shorter() -> None:
    one = Span(10.0, 20.0)
    assert same(one, Span(14.9, 20.0 + SAME_LANDING_S - 0.001))
    assert not same(one, Span(10.0, 20.0 + SAME_LANDING_S + 0.001))
    assert same(one, Span(0.0, 20.0))


def test_a_chakradar_that_is_written_down_covers_its_last_tihai() -> None:
    assert same(Span(10.0, 40.0), Span(35.0, 40.0))


def test_one_that_is_not_rejected_goes_before_one_that_is() -> None:
    rejected, written = tihai("t01", status="rejected"), tihai("t02", dev_s=0.05)
    span = Span(rejected.palla_s[0], rejected.landing_s)
    assert written_as(span, [rejected, written]) == written
    assert written_as(span, [rejected]) == rejected
    assert written_as(span, [tihai("t03", cycle=5)]) is None
