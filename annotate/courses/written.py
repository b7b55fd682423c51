"""A course as plain values, as its file holds it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from annotate.courses.course import Chapter, Course
from annotate.shelves.errors import DamagedThing
from annotate.shelves.written import text

_TEXTS = ("title", "for_whom", "licence")


def to_table(course: Course) -> dict[str, Any]:
    """Return a course as plain values."""
    chapters = [
        {"key": each.key, "title": each.title, "pieces": list(each.pieces), "notes": each.notes}
        for each in course.chapters
    ]
    return {**{name: getattr(course, name) for name in _TEXTS}, "chapters": chapters}


def from_table(told: Mapping[str, Any]) -> Course:
    """Return the course of plain values.

    Raises
    ------
    annotate.shelves.errors.DamagedThing, ValueError, LookupError, TypeError, AttributeError
        They are none.
    annotate.shelves.errors.BadThing
        They are one that cannot be kept here.
    """
    _require_fields(told, {*_TEXTS, "chapters"}, "course")
    title, for_whom, licence = (text(told[name]) for name in _TEXTS)
    return Course(title, for_whom, licence, tuple(map(_chapter, told["chapters"])))


def _chapter(told: Mapping[str, Any]) -> Chapter:
    _require_fields(told, {"key", "title", "pieces", "notes"}, "chapter")
    return Chapter(text(told["key"]), text(told["title"]), text(told["notes"]), tuple(map(text, told["pieces"])))


def _require_fields(told: Mapping[str, Any], names: set[str], what: str) -> None:
    if unknown := sorted(set(told) - names):
        raise DamagedThing(f"it has a field {unknown[0]!r} that no {what} has")
