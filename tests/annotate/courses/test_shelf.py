"""Courses: kept as files that are never changed, edited by two at once, taken out and put back; damage is named."""

from __future__ import annotations

import contextlib
import threading
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from annotate.archive import Archive
from annotate.backup.contents import choose
from annotate.check.repairing import repair
from annotate.check.whole import check
from annotate.courses import editing
from annotate.courses.course import Chapter, Course, new_key
from annotate.courses.errors import BothEdited, NoSuchChapter
from annotate.courses.shelf import SORT, Courses
from annotate.errors import BadMoment
from annotate.records import EPOCH
from annotate.shelves.errors import BadThing, NoSuchThing
from annotate.shelves.kept import Revision
from annotate.shelves.written import from_toml, to_toml
from tests.annotate.courses import strategies
from tests.annotate.courses.conftest import COURSE, FIRST, SECOND, THIRD

KEY = "landing-on-sam"


def test_a_course_can_be_read_without_the_program_and_after_opening_again(courses: Courses) -> None:
    again = Courses(Archive.open(courses.archive.path)).get(KEY)
    assert (again.content, again.latest.who) == (COURSE, "asha")
    text = (courses.archive.path / "courses" / KEY / "00000001.toml").read_text(encoding="utf-8")
    assert 'title = "The dam"' in text
    assert "evening/t01" in text
    two_lines = editing.with_changed(COURSE, FIRST, notes="# Begin\n\nSing it.")
    courses.edit(KEY, two_lines, seen=1, who="asha")
    text = (courses.archive.path / "courses" / KEY / "00000002.toml").read_text(encoding="utf-8")
    assert "# Begin\n\nSing it." in text


def test_an_edit_on_an_older_revision_is_put_together_with_what_came_between(courses: Courses) -> None:
    courses.edit(KEY, replace(COURSE, licence="CC0"), seen=1, who="bina")
    written = courses.edit(KEY, editing.with_changed(COURSE, FIRST, notes="Hum it."), seen=1, who="asha")
    assert written.kept.latest.number == 3
    assert written.merged.theirs == ("licence: CC BY 4.0 → CC0",)
    now = courses.get(KEY)
    assert (now.content.licence, now.content.chapters[0].notes) == ("CC0", "Hum it.")
    assert (now.latest.why, now.latest.who) == ("notes of 'The palla' changed", "asha")


def test_what_both_changed_is_refused_with_both_versions_until_one_is_chosen(courses: Courses) -> None:
    courses.edit(KEY, replace(COURSE, title="Theirs"), seen=1, who="bina")
    mine = replace(COURSE, title="Mine")
    with pytest.raises(BothEdited, match=r"bina has changed the same.*\n.*title:\n.*Landing on sam\n.*Theirs\n.*Mine"):
        courses.edit(KEY, mine, seen=1, who="asha")
    assert courses.get(KEY).latest.number == 2
    assert not courses.edit(KEY, mine, seen=1, who="asha", keep="theirs").wrote
    assert courses.edit(KEY, mine, seen=1, who="asha", keep="mine").kept.content.title == "Mine"
    with pytest.raises(BadMoment, match="no revision 9"):
        courses.edit(KEY, mine, seen=9, who="asha")


def test_many_who_edit_at_once_lose_nothing(courses: Courses) -> None:
    def add(name: str) -> None:
        own = Courses(courses.archive)
        for number in range(4):
            seen = own.get(KEY)
            mine = editing.with_chapter(seen.content, f"{name} {number}")
            own.edit(KEY, mine, seen=seen.latest.number, who=name)

    threads = [threading.Thread(target=add, args=(f"n{number}",)) for number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    now = courses.get(KEY)
    assert {each.title for each in now.content.chapters[3:]} == {f"n{a} {b}" for a in range(4) for b in range(4)}
    assert [each.number for each in now.revisions] == list(range(1, 18))


def test_taken_out_it_is_gone_from_the_list_cannot_be_edited_and_can_be_put_back(courses: Courses) -> None:
    courses.withdraw(KEY, seen=1, who="asha")
    assert courses.all() == []
    with pytest.raises(BadThing, match="--put-back"):
        courses.edit(KEY, replace(COURSE, title="x"), seen=1, who="asha")
    courses.put_back(KEY, who="asha")
    assert [each.content for each in courses.all()] == [COURSE]


@pytest.mark.parametrize(
    ("made", "said"),
    [
        (lambda: replace(COURSE, title=" "), "The course has no name"),
        (lambda: replace(COURSE, licence="a\nb"), r"U\+000A"),
        (lambda: Chapter(FIRST, ""), "The chapter has no name"),
        (lambda: Chapter(FIRST, "x", "n" * 20_001), "at most 20000"),
        (lambda: Chapter(FIRST, "x", "a\x00"), r"U\+0000"),
        (lambda: Chapter(FIRST, "x", "", ("evening",)), "no piece. Write RECORDING/ROW"),
        (lambda: Chapter(FIRST, "x", "", ("../a/t01",)), "no piece"),
        (lambda: Chapter(FIRST, "x", "", ("raga:Desh",)), "is written raga:desh"),
        (lambda: Chapter(FIRST, "x", "", ("evening/t01",) * 2), "twice"),
        (lambda: Chapter("1", "x"), "no key"),
        (lambda: Course("x", chapters=(Chapter(FIRST, "a"), Chapter(FIRST, "b"))), "same key"),
        (lambda: Course("x", chapters=tuple(Chapter(new_key(), "a") for _ in range(101))), "at most 100"),
    ],
)
def test_what_cannot_be_kept_is_refused_in_words(made: object, said: str) -> None:
    with pytest.raises(BadThing, match=said):
        made()  # type: ignore[operator]


def test_a_course_that_takes_too_much_room_is_refused_and_nothing_written(courses: Courses) -> None:
    long = tuple(Chapter(new_key(), "long", "n" * 20_000) for _ in range(60))
    with pytest.raises(BadThing, match="at most 1048576"):
        courses.edit(KEY, replace(COURSE, chapters=long), seen=1, who="asha")
    assert courses.get(KEY).latest.number == 1


def test_chapters_are_named_by_their_number_and_told_where_there_is_none() -> None:
    assert editing.chapter_at(COURSE, 2).key == SECOND
    with pytest.raises(NoSuchChapter, match=r"no chapter 4\. It has 1 The palla, 2 The dam, 3 All of it"):
        editing.chapter_at(COURSE, 4)
    with pytest.raises(NoSuchChapter, match="no such chapter"):
        editing.without_chapter(COURSE, "ffffffff")
    assert [each.key for each in editing.moved_chapter(COURSE, FIRST, 99).chapters] == [SECOND, THIRD, FIRST]


@given(course=strategies.courses(), withdrawn=st.booleans(), undoes=st.integers(0, 9))
@settings(max_examples=40, deadline=None)
def test_every_course_reads_back_as_it_was_written(course: Course, withdrawn: bool, undoes: int) -> None:
    revision = Revision(3, 'a "b" \\c', EPOCH, "why", course, withdrawn, undoes)
    assert from_toml(SORT, to_toml(SORT, revision)) == revision


@given(place=st.integers(0, 900), byte=st.integers(0, 255))
@settings(max_examples=60, deadline=None)
def test_a_changed_byte_never_ends_in_anything_but_a_message(place: int, byte: int) -> None:
    content = bytearray(to_toml(SORT, Revision(1, "asha", EPOCH, "kept", COURSE)))
    content[place % len(content)] = byte
    with contextlib.suppress(BadThing):
        assert isinstance(from_toml(SORT, bytes(content)), Revision)


def test_a_damaged_revision_is_named_by_check_the_one_before_counts_and_repair_sets_it_aside(courses: Courses) -> None:
    courses.edit(KEY, replace(COURSE, licence="CC0"), seen=1, who="asha")
    path = courses.archive.path / "courses" / KEY / "00000002.toml"
    path.write_bytes(b"\xff not text")
    assert Courses(courses.archive).get(KEY).content == COURSE
    found = [each for each in check(courses.archive.store) if "course" in each.kind]
    assert [(each.kind, each.where) for each in found] == [("course damaged", f"courses/{KEY}/00000002.toml")]
    assert "moved to set-aside" in repair(courses.archive.store, found)[0]
    assert not [each for each in check(courses.archive.store) if "course" in each.kind]
    assert (
        Courses(courses.archive).edit(KEY, replace(COURSE, licence="CC0"), seen=1, who="").kept.content.licence == "CC0"
    )


def test_a_backup_holds_courses_and_check_calls_only_strangers_foreign(courses: Courses) -> None:
    (courses.archive.path / "courses" / "mine.txt").write_text("hello", encoding="utf-8")
    names = [entry.name for entry in choose(courses.archive.store, sound=True, evidence=False).entries]
    assert f"courses/{KEY}/00000001.toml" in names
    foreign = [each.where for each in check(courses.archive.store) if each.kind == "foreign file"]
    assert foreign == ["courses/mine.txt"]


def test_an_unknown_key_is_told_with_the_nearest(courses: Courses) -> None:
    with pytest.raises(NoSuchThing, match=f"No course is kept as 'landing-on-som'. Did you mean {KEY}"):
        courses.get("landing-on-som")
