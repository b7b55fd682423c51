"""Two states compared, and rows, tables, recordings and the archive brought back as they were."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from annotate.archive import Archive, editing
from annotate.errors import BadAnnotation, BadMoment, ConflictingEdit
from annotate.history.as_of import carry_out, compare, plan, plans_of_all
from annotate.history.changes import edits
from annotate.history.points import Point
from annotate.history.taking_back import undo
from annotate.records import Recording
from annotate.revisions import add, change, withdraw
from annotate.sections import change_section
from tests.annotate.desk import SLUG, fingerprint, phrase, tihai

NOW = Point()
START = datetime(2026, 1, 1, 12, 0, tzinfo=UTC)


class Days:
    """A clock that stands at noon of another day whenever it is asked."""

    def __init__(self) -> None:
        self.days = 0

    def now(self, _zone: object) -> datetime:
        self.days += 1
        return START + timedelta(days=self.days)


def noon(day: int) -> Point:
    return Point(moment=START + timedelta(days=day))


@pytest.fixture
def days(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> Archive:
    """Five more revisions, 3 to 7, on the days 1 to 5."""
    monkeypatch.setattr(editing, "datetime", Days())
    archive.commit(SLUG, [add(phrase())], "asha", "")
    archive.commit(SLUG, [change(replace(tihai(), label="x"))], "bela", "")
    archive.commit(SLUG, [change(replace(phrase(), role="tan")), add(tihai("t02", cycle=4))], "asha", "")
    archive.commit(SLUG, [withdraw("tihais", "t01")], "bela", "")
    archive.commit(SLUG, [add(phrase("p02", 30.0, 31.0))], "asha", "")
    return archive


def test_two_states_differ_by_rows_added_withdrawn_and_changed(days: Archive) -> None:
    found = compare(days, SLUG, Point(number=3), NOW)
    assert (found.first, found.second) == (3, 7)
    assert [(each.key, each.action) for each in found.changes] == [
        ("t01", "withdrawn"),
        ("t02", "added"),
        ("p01", "changed"),
        ("p02", "added"),
    ]
    assert found.changes[2].field_sentences == ["role mukhra -> tan"]


def test_compared_the_other_way_round_it_is_the_reverse(days: Archive) -> None:
    there, back = compare(days, SLUG, Point(number=3), NOW), compare(days, SLUG, NOW, Point(number=3))
    assert [(each.before, each.after) for each in there.changes] == [(each.after, each.before) for each in back.changes]


def test_days_can_be_compared_and_one_row_or_table(days: Archive) -> None:
    assert (
        compare(days, SLUG, noon(2), noon(4)).changes == compare(days, SLUG, Point(number=4), Point(number=6)).changes
    )
    assert [each.key for each in compare(days, SLUG, noon(1), NOW, table="phrases").changes] == ["p01", "p02"]
    assert [each.key for each in compare(days, SLUG, noon(1), NOW, table="tihais", key="t01").changes] == ["t01"]
    assert compare(days, SLUG, NOW, NOW).changes == ()


def test_a_recording_comes_back_exactly_as_it_was_on_a_day(days: Archive) -> None:
    once = days.ledger(SLUG).state(4)
    before = fingerprint(days)
    made = plan(days, SLUG, noon(2))
    assert fingerprint(days) == before
    assert carry_out(days, made, "asha") == 8
    assert days.state(SLUG).rows == once.rows
    last = days.history(SLUG)[-1]
    assert (last.who, last.undoes) == ("asha", 0)
    assert last.why.startswith("as of revision 4, 2026-01-03 ")


def test_as_it_was_can_be_undone_like_any_edit(days: Archive) -> None:
    rows = days.state(SLUG).rows
    carry_out(days, plan(days, SLUG, noon(2)), "asha")
    undo(days, SLUG, "asha")
    assert days.state(SLUG).rows == rows


def test_a_table_or_a_row_comes_back_and_the_rest_stays(days: Archive) -> None:
    carry_out(days, plan(days, SLUG, Point(number=3), table="tihais"), "asha")
    state = days.state(SLUG)
    assert state.tihais == (tihai(),)
    assert [each.phrase for each in state.phrases] == ["p01", "p02"]
    carry_out(days, plan(days, SLUG, Point(number=5), table="tihais", key="t02"), "asha")
    assert [each.tihai for each in days.state(SLUG).tihais] == ["t01", "t02"]


def test_what_is_so_already_writes_nothing(days: Archive) -> None:
    before = fingerprint(days)
    made = plan(days, SLUG, Point(number=7))
    assert made.changes == ()
    assert carry_out(days, made, "asha") == 7
    assert fingerprint(days) == before


def test_a_day_before_the_recording_was_there_is_told(days: Archive) -> None:
    with pytest.raises(BadMoment, match=r"not in the archive yet at 2010-.*its revision 1"):
        plan(days, SLUG, Point(moment=datetime(2010, 1, 1, tzinfo=UTC)))
    with pytest.raises(BadMoment, match="not in the archive yet at revision 0"):
        plan(days, SLUG, Point(number=0))


def test_who_edits_between_the_plan_and_the_writing_is_not_overwritten(days: Archive) -> None:
    made = plan(days, SLUG, Point(number=3))
    days.commit(SLUG, [change(replace(phrase("p02", 30.0, 31.0), role="tan"))], "bela", "")
    before = fingerprint(days)
    with pytest.raises(ConflictingEdit, match="bela changed phrase 'p02'"):
        carry_out(days, made, "asha")
    assert fingerprint(days) == before


def test_a_table_does_not_come_back_where_another_would_not_fit_it(archive: Archive) -> None:
    archive.commit(SLUG, [withdraw("sams", "s11")], "bela", "")
    change_section(archive, SLUG, "gat", end_s=85.0, who="asha")
    with pytest.raises(BadAnnotation, match=r"1 marked sam .*the whole recording"):
        plan(archive, SLUG, Point(number=2), table="sams")
    carry_out(archive, plan(archive, SLUG, Point(number=2)), "asha")
    assert archive.state(SLUG).rows == archive.ledger(SLUG).state(2).rows


def test_sections_do_not_come_back_over_others(archive: Archive) -> None:
    change_section(archive, SLUG, "alap", end_s=9.0, who="asha")
    change_section(archive, SLUG, "gat", start_s=9.0, who="asha")
    with pytest.raises(BadAnnotation, match="'alap' and 'gat' of 'evening' would overlap"):
        plan(archive, SLUG, Point(number=2), table="sections", key="alap")


def test_all_recordings_come_back_and_those_not_there_yet_stay(days: Archive) -> None:
    days.commit("noon", [add(Recording("noon", "Noon"))], "asha", "day 6")
    days.commit(SLUG, [change(replace(phrase(), role="pakad"))], "asha", "day 7")
    days.commit("noon", [add(phrase())], "asha", "day 8")
    days.commit("late", [add(Recording("late", "Late"))], "asha", "day 9")
    found, absent = plans_of_all(days, noon(6))
    assert [(made.slug, made.number, len(made.changes)) for made in found] == [(SLUG, 7, 1), ("noon", 1, 1)]
    assert absent == ["late"]
    for made in found:
        carry_out(days, made, "asha")
    assert days.state("noon").phrases == ()
    assert days.state(SLUG).rows == days.ledger(SLUG).state(7).rows
    assert plans_of_all(days, noon(30)) == ([], [])


def test_the_edits_of_a_comparison_make_the_one_state_of_the_other(days: Archive) -> None:
    found = compare(days, SLUG, NOW, Point(number=4))
    days.commit(SLUG, edits(found.changes), "asha", "by hand")
    assert days.state(SLUG).rows == days.ledger(SLUG).state(4).rows


def test_it_is_the_same_in_an_object_store(place: str) -> None:
    archive = Archive.create(place)
    archive.commit(SLUG, [add(Recording(SLUG, "Evening"))], "asha", "made")
    archive.commit(SLUG, [add(phrase())], "asha", "")
    archive.commit(SLUG, [withdraw("phrases", "p01")], "bela", "")
    (made,) = plans_of_all(archive, Point(number=2))[0]
    carry_out(Archive.open(place), made, "asha")
    assert archive.state(SLUG).phrases == (phrase(),)
