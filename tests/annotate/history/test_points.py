"""Days and revisions as people write them."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from annotate.archive import Archive
from annotate.errors import BadMoment
from annotate.history.ledger import Ledger
from annotate.history.points import Point, moment_words, parse_point, revision_at
from annotate.revisions import Revision, add
from tests.annotate.desk import SLUG, phrase


@pytest.fixture
def in_kolkata(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A machine whose zone is five and a half hours ahead of UTC."""
    with monkeypatch.context() as patch:
        patch.setenv("TZ", "IST-5:30")
        time.tzset()
        yield
    time.tzset()


@pytest.mark.usefixtures("in_kolkata")
def test_a_day_means_its_end_in_this_machines_zone() -> None:
    point = parse_point("2026-01-31")
    assert point.moment is not None
    assert point.moment + timedelta(microseconds=1) == datetime(2026, 1, 31, 18, 30, tzinfo=UTC)


@pytest.mark.usefixtures("in_kolkata")
def test_a_moment_without_a_zone_is_this_machines_and_one_with_a_zone_its_own() -> None:
    assert parse_point("2026-01-31 18:00").moment == datetime(2026, 1, 31, 12, 30, tzinfo=UTC)
    assert parse_point("2026-01-31T18:00").moment == datetime(2026, 1, 31, 12, 30, tzinfo=UTC)
    assert parse_point("2026-01-31T18:00Z").moment == datetime(2026, 1, 31, 18, 0, tzinfo=UTC)
    assert parse_point("2026-01-31T18:00+01:00").moment == datetime(2026, 1, 31, 17, 0, tzinfo=UTC)


@pytest.mark.usefixtures("in_kolkata")
def test_a_moment_is_shown_with_its_zone() -> None:
    assert moment_words(datetime(2026, 1, 31, 12, 30, tzinfo=UTC)) == "2026-01-31 18:00 UTC+05:30"
    assert moment_words(datetime(2026, 1, 31, 12, 30, 7, tzinfo=UTC)) == "2026-01-31 18:00:07 UTC+05:30"


def test_a_number_is_a_revision_and_now_is_now() -> None:
    assert parse_point("12") == Point(number=12)
    assert parse_point(" Now ") == Point()
    assert (Point(number=12).words, Point().words) == ("revision 12", "now")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("2026-13-01", "month must be in 1..12"),
        ("2026-02-30", "day"),
        ("20260131", "neither a revision's number nor a day"),
        ("31.1.2026", "no point in a history"),
        ("yesterday", "no point in a history"),
        ("nwo", "Did you mean now"),
        ("2026-01-31 25:00", "hour must be in 0..23"),
        ("2026-01-31 18:00 IST", "no moment"),
        ("", "no point"),
        ("-3", "no point"),
        ("٣", "no point"),
    ],
)
def test_what_is_mistyped_is_told_with_how_to_write_it(text: str, says: str) -> None:
    with pytest.raises(BadMoment, match=says) as told:
        parse_point(text)
    assert "2026-01-31" in str(told.value)


def at(day: int, number: int) -> Revision:
    edits = (add(phrase(f"p{number}")),)
    return Revision(number, number - 1, "asha", datetime(2026, 1, day, tzinfo=UTC), "", edits)


def test_a_recording_stood_at_the_last_revision_that_is_not_later() -> None:
    held = Ledger(SLUG).extended([at(3, 1), at(5, 2), at(5, 3), at(9, 4)])
    found = [revision_at(held, Point(moment=datetime(2026, 1, day, tzinfo=UTC))) for day in (2, 3, 4, 5, 8, 9, 20)]
    assert found == [0, 1, 1, 3, 3, 4, 4]


def test_a_later_day_is_never_an_earlier_revision_whatever_the_clocks_of_the_writers() -> None:
    held = Ledger(SLUG).extended([at(9, 1), at(3, 2), at(20, 3), at(5, 4)])
    found = [revision_at(held, Point(moment=datetime(2026, 1, day, tzinfo=UTC))) for day in range(1, 25)]
    assert found == sorted(found)


def test_a_revision_that_is_not_there_is_told(archive: Archive) -> None:
    with pytest.raises(BadMoment, match="has no revision 9; its latest is 2"):
        revision_at(archive.ledger(SLUG), Point(number=9))
    assert revision_at(archive.ledger(SLUG), replace(Point(), number=0)) == 0
