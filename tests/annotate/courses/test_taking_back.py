"""Undo and redo of a course's edits, by one person and by everyone; the history tells all of it."""

from __future__ import annotations

import tempfile
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from annotate.archive import Archive
from annotate.courses import editing
from annotate.courses.errors import EditedSince
from annotate.courses.shelf import Courses
from annotate.courses.taking_back import can_redo, can_undo, history, redo, take_back, undo
from annotate.errors import BadMoment, NothingToTakeBack
from annotate.shelves.errors import BadThing
from tests.annotate.courses.conftest import COURSE, FIRST
from tests.annotate.courses.strategies import courses as any_course
from tests.annotate.courses.strategies import edited

KEY = "landing-on-sam"


def test_undo_takes_back_ones_own_latest_edit_and_leaves_what_others_did_since(courses: Courses) -> None:
    courses.edit(KEY, replace(COURSE, title="Asha's"), seen=1, who="asha")
    courses.edit(KEY, replace(courses.get(KEY).content, licence="CC0"), seen=2, who="bina")
    done = undo(courses, KEY, "asha")
    assert (done.revision, done.kind, done.edit.number) == (4, "undo", 2)
    assert done.changes == ("title: Asha's → Landing on sam",)
    now = courses.get(KEY)
    assert (now.content.title, now.content.licence) == ("Landing on sam", "CC0")
    assert (now.latest.why, now.latest.undoes) == ("undo of revision 2: title changed", 2)
    assert redo(courses, KEY, "asha").kind == "redo"
    assert courses.get(KEY).content.title == "Asha's"


def test_an_edit_on_which_somebody_has_built_is_not_taken_back_and_both_versions_are_shown(courses: Courses) -> None:
    courses.edit(KEY, editing.with_changed(COURSE, FIRST, notes="asha"), seen=1, who="asha")
    courses.edit(KEY, editing.with_changed(COURSE, FIRST, notes="bina"), seen=2, who="bina", keep="mine")
    with pytest.raises(
        EditedSince, match=r"last by bina .*\n.*notes of 'The palla':\n.*left: *asha\n.*now: *bina\n.*would be: *Sing"
    ):
        undo(courses, KEY, "asha")
    assert courses.get(KEY).latest.number == 3


def test_nothing_is_left_to_undo_of_a_course_that_was_only_kept(courses: Courses) -> None:
    with pytest.raises(NothingToTakeBack, match="Nothing is left to undo"):
        undo(courses, KEY, "asha", everyone=True)
    with pytest.raises(NothingToTakeBack, match="is no edit"):
        take_back(courses, KEY, 1, "asha")
    with pytest.raises(BadMoment):
        take_back(courses, KEY, 7, "asha")
    courses.withdraw(KEY, seen=1, who="asha")
    with pytest.raises(BadThing, match="taken out"):
        undo(courses, KEY, "asha")
    courses.put_back(KEY, who="asha")
    assert can_undo(courses.get(KEY), "asha") is None


def test_a_revision_is_taken_back_by_its_number_once(courses: Courses) -> None:
    courses.edit(KEY, replace(COURSE, title="A"), seen=1, who="asha")
    courses.edit(KEY, replace(courses.get(KEY).content, licence="CC0"), seen=2, who="asha")
    take_back(courses, KEY, 2, "bina")
    with pytest.raises(NothingToTakeBack, match="taken back already, by revision 4"):
        take_back(courses, KEY, 2, "bina")
    assert courses.get(KEY).content == replace(COURSE, licence="CC0")
    entries = history(courses.get(KEY))
    assert [(each.head.number, each.taken_back_by) for each in entries] == [(1, 0), (2, 4), (3, 0), (4, 0)]
    assert entries[2].changes == ("licence: CC BY 4.0 → CC0",)


@given(st.data())
@settings(max_examples=15, deadline=None)
def test_any_edits_all_undone_give_back_the_first_state_and_redone_the_last(data: st.DataObject) -> None:
    with tempfile.TemporaryDirectory() as folder:
        courses = Courses(Archive.create(f"{folder}/archive"))
        first = data.draw(any_course())
        key = courses.keep(first, who="asha").key
        count = data.draw(st.integers(1, 6))
        wrote = 0
        for _ in range(count):
            now = courses.get(key)
            wrote += courses.edit(key, data.draw(edited(now.content)), seen=now.latest.number, who="asha").wrote
        last = courses.get(key).content
        for _ in range(wrote):
            undo(courses, key, "asha")
        assert courses.get(key).content == first
        assert can_undo(courses.get(key), "asha") is None
        for _ in range(wrote):
            redo(courses, key, "asha")
        assert courses.get(key).content == last
        assert can_redo(courses.get(key), None) is None
        assert len(courses.get(key).revisions) == 1 + 3 * wrote
