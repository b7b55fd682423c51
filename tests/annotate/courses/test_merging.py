"""Two versions of a course put together: nothing that only one of the two did is lost, and what both did is shown."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from annotate.courses import editing
from annotate.courses.changes import in_short, sentences
from annotate.courses.merging import REMOVED, merge
from annotate.courses.ordering import put_together
from tests.annotate.courses.conftest import COURSE, FIRST, SECOND, THIRD
from tests.annotate.courses.strategies import courses, edited_often


def test_what_two_people_changed_of_different_things_is_all_there() -> None:
    theirs = editing.with_changed(replace(COURSE, licence="CC0"), FIRST, notes="Hum it first.")
    mine = editing.moved_chapter(editing.with_changed(COURSE, FIRST, pieces=("raga:desh",)), THIRD, 1)
    merged = merge(COURSE, theirs, mine)
    assert merged.clashing == ()
    assert merged.course.licence == "CC0"
    assert [each.key for each in merged.course.chapters] == [THIRD, FIRST, SECOND]
    first = merged.course.chapter(FIRST)
    assert first is not None
    assert (first.notes, first.pieces) == ("Hum it first.", ("raga:desh",))
    assert merged.theirs == ("licence: CC BY 4.0 → CC0", "notes of 'The palla' changed")


def test_chapters_and_pieces_that_both_add_at_the_same_place_are_both_there() -> None:
    theirs = editing.with_chapter(COURSE, "Theirs", place=2)
    mine = editing.with_chapter(COURSE, "Mine", place=2)
    titles = [each.title for each in merge(COURSE, theirs, mine).course.chapters]
    assert sorted(titles[1:3]) == ["Mine", "Theirs"]
    assert [titles[0], *titles[3:]] == ["The palla", "The dam", "All of it"]
    theirs = editing.with_changed(COURSE, SECOND, pieces=("raga:desh", "evening/t07"))
    mine = editing.with_changed(COURSE, SECOND, pieces=("evening/t08", "raga:desh"))
    merged = merge(COURSE, theirs, mine).course.chapter(SECOND)
    assert merged is not None
    assert merged.pieces == ("evening/t08", "raga:desh", "evening/t07")


def test_the_same_notes_changed_by_both_are_shown_and_the_one_asked_for_is_kept() -> None:
    theirs = editing.with_changed(replace(COURSE, title="Theirs"), FIRST, notes="theirs")
    mine = editing.with_changed(replace(COURSE, for_whom="mine"), FIRST, notes="mine")
    merged = merge(COURSE, theirs, mine)
    (clash,) = merged.clashing
    assert (clash.word, clash.was, clash.theirs, clash.mine) == (
        "notes of 'The palla'", "Sing it first.", "theirs", "mine",
    )  # fmt: skip
    for keep in ("mine", "theirs"):
        kept = merge(COURSE, theirs, mine, keep).course
        first = kept.chapter(FIRST)
        assert first is not None
        assert (first.notes, kept.title, kept.for_whom) == (keep, "Theirs", "mine")


def test_a_chapter_that_one_removed_and_the_other_changed_is_asked_about_and_comes_back_at_its_place() -> None:
    removed = editing.without_chapter(COURSE, SECOND)
    changed = editing.with_changed(COURSE, SECOND, notes="Count aloud.")
    (clash,) = merge(COURSE, removed, changed).clashing
    assert clash.word == "chapter 'The dam'"
    assert clash.theirs == REMOVED
    assert "Count aloud." in clash.mine
    assert merge(COURSE, removed, changed, "mine").course == changed
    assert merge(COURSE, removed, changed, "theirs").course == removed
    assert merge(COURSE, changed, removed, "mine").course == removed
    assert merge(COURSE, changed, removed, "theirs").course == changed


def test_orders_are_put_together_unless_both_moved_what_both_have() -> None:
    assert put_together(("a", "b", "c"), ("c", "a", "b"), ("a", "b", "c", "d")) == (("c", "d", "a", "b"), False)
    assert put_together(("a", "b", "c"), ("c", "b", "a"), ("b", "a", "c")) == (("c", "b", "a"), True)
    assert put_together(("a", "b", "c"), ("c", "b", "a"), ("b", "a", "c", "d"), "mine") == (("b", "a", "c", "d"), True)
    assert put_together(("a", "b", "c"), ("b", "a"), ("a", "c", "b")) == (("b", "a"), False)


@given(st.data())
@settings(max_examples=80, deadline=None)
def test_one_who_changed_nothing_gets_the_other_version_and_all_of_it(data: st.DataObject) -> None:
    base = data.draw(courses())
    version = data.draw(edited_often(base))
    for merged in (merge(base, version, base), merge(base, base, version), merge(base, version, version)):
        assert merged.course == version
        assert merged.clashing == ()


@given(st.data())
@settings(max_examples=100, deadline=None)
def test_nothing_that_only_one_of_two_writers_did_is_lost(data: st.DataObject) -> None:
    base = data.draw(courses())
    theirs, mine = data.draw(edited_often(base)), data.draw(edited_often(base))
    for keep in ("theirs", "mine"):
        course = merge(base, theirs, mine, keep).course
        both = {each.key for each in theirs.chapters} & {each.key for each in mine.chapters}
        there = {each.key for each in course.chapters}
        new = {each.key for version in (theirs, mine) for each in version.chapters} - {e.key for e in base.chapters}
        assert both | new <= there
        for name in ("title", "licence", "for_whom"):
            was, them, me = (getattr(each, name) for each in (base, theirs, mine))
            expected = me if them == was else them if me == was else {"mine": me, "theirs": them}[keep]
            assert getattr(course, name) == expected
        for key in both & {each.key for each in base.chapters}:
            was, them, me, now = (each.chapter(key) for each in (base, theirs, mine, course))
            assert was is not None
            assert them is not None
            assert me is not None
            assert now is not None
            put_in = (set(them.pieces) | set(me.pieces)) - set(was.pieces)
            assert set(now.pieces) == (set(was.pieces) & set(them.pieces) & set(me.pieces)) | put_in
        # the same, whoever of the two is asked
        other = merge(base, mine, theirs, "mine" if keep == "theirs" else "theirs").course
        assert {each.key for each in other.chapters} == there
        assert other.title == course.title


def test_changes_are_told_in_words_and_in_short() -> None:
    after = editing.with_chapter(replace(COURSE, title="Sam"), "More")
    after = editing.with_changed(editing.without_chapter(after, THIRD), FIRST, pieces=("evening/p01", "raga:bageshri"))
    assert sentences(COURSE, after) == (
        "title: Landing on sam → Sam",
        "chapter 'More' added",
        "chapter 'All of it' removed",
        "put into 'The palla': raga:bageshri",
        "taken out of 'The palla': evening/t01",
    )
    assert in_short(COURSE, after) == "title changed, chapter 'More' added, chapter 'All of it' removed and 2 more"
    assert sentences(COURSE, COURSE) == ()
