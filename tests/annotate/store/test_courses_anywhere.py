"""Courses on a disk and in an object store: kept, edited by two at once, undone, checked, by the same code."""

from __future__ import annotations

from dataclasses import replace

import pytest

from annotate.archive import Archive
from annotate.backup.contents import choose
from annotate.check.whole import check
from annotate.courses import editing
from annotate.courses.course import Course
from annotate.courses.errors import BothEdited
from annotate.courses.shelf import Courses
from annotate.courses.taking_back import undo

COURSE = editing.with_chapter(Course("First year"), "Sam", "# Clap\n\nand count")


def test_two_people_edit_a_course_and_what_both_changed_is_refused(place: str) -> None:
    mine, theirs = Courses(Archive.create(place)), Courses(Archive.create(place))
    assert [mine.keep(COURSE, who="asha").key, theirs.keep(COURSE, who="bina").key] == ["first-year", "first-year-2"]
    mine.edit("first-year", editing.with_chapter(COURSE, "Khali"), seen=1, who="asha")
    theirs.edit("first-year", replace(COURSE, licence="CC0"), seen=1, who="bina")
    with pytest.raises(BothEdited, match="licence"):
        mine.edit("first-year", replace(COURSE, licence="CC BY 4.0"), seen=1, who="asha")
    undo(mine, "first-year", "asha")
    (kept,) = (each for each in theirs.all() if each.key == "first-year")
    assert [each.why for each in kept.revisions][1:] == [
        "chapter 'Khali' added", "licence changed", "undo of revision 2: chapter 'Khali' added",
    ]  # fmt: skip
    assert kept.content == replace(COURSE, licence="CC0")
    store = Archive.open(place).store
    assert sum(entry.name.startswith("courses/") for entry in choose(store, sound=True, evidence=False).entries) == 5
    assert not [each for each in check(store) if "course" in each.where]
