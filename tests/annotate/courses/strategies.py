"""Courses and edits by chance."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st

from annotate.courses import editing
from annotate.courses.course import Chapter, Course

words = st.text(st.characters(exclude_categories=("Cc", "Cs")), max_size=30)
notes = st.lists(words, max_size=4).map("\n".join).map(editing.clean_notes)
titles = words.map(lambda text: f"n{text}"[:40].strip())
piece_names = st.sampled_from([*(f"evening/t{n:02d}" for n in range(1, 9)), "raga:desh", "composition:fives"])
piece_lists = st.lists(piece_names, unique=True, max_size=5).map(tuple)
keys = st.integers(0, 2**32 - 1).map("{:08x}".format)


@st.composite
def courses(draw: st.DrawFn) -> Course:
    """A course of up to five chapters."""
    chapters = [
        Chapter(key, draw(titles), draw(notes), draw(piece_lists))
        for key in draw(st.lists(keys, unique=True, max_size=5))
    ]
    return Course(draw(titles), draw(words), draw(words), tuple(chapters))


@st.composite
def edited(draw: st.DrawFn, course: Course) -> Course:
    """A course after one edit."""
    chosen = draw(st.sampled_from(course.chapters)) if course.chapters else None
    kinds = ["title", "licence", "add", *(["remove", "move", "notes", "pieces", "rename"] if chosen else [])]
    kind = draw(st.sampled_from(kinds))
    if kind in ("title", "licence"):
        return replace(course, **{kind: draw(titles)})
    if kind == "add" or chosen is None:
        if len(course.chapters) >= 8:
            return course
        return editing.with_chapter(course, draw(titles), draw(notes), place=draw(st.none() | st.integers(1, 6)))
    if kind == "remove":
        return editing.without_chapter(course, chosen.key)
    if kind == "move":
        return editing.moved_chapter(course, chosen.key, draw(st.integers(1, 6)))
    if kind == "pieces":
        return editing.with_changed(course, chosen.key, pieces=draw(piece_lists))
    changed = {"title": draw(titles)} if kind == "rename" else {"notes": draw(notes)}
    return editing.with_changed(course, chosen.key, **changed)


@st.composite
def edited_often(draw: st.DrawFn, course: Course, most: int = 5) -> Course:
    """A course after some edits."""
    for _ in range(draw(st.integers(0, most))):
        course = draw(edited(course))
    return course
