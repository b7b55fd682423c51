"""A whole course as one Markdown file, to be read, printed or passed on without the archive."""

from __future__ import annotations

import re

from annotate.archive import Archive
from annotate.courses.course import Chapter, Course
from annotate.courses.headings import Depths
from annotate.courses.notes import headings_in
from annotate.courses.piece import Found, find

CHAPTER_LEVEL = 2
_SIGNS = re.compile(r"([\\`*_{}\[\]<>#|~&!])")


def to_markdown(archive: Archive, course: Course) -> str:
    """Return a course as Markdown: its chapters as headings, their notes, and their pieces with their notation."""
    lines = [f"# {_plain(course.title)}", ""]
    lines += [f"For {_plain(course.for_whom)}.", ""] if course.for_whom else []
    lines += [f"Licence: {_plain(course.licence)}", ""] if course.licence else []
    for number, chapter in enumerate(course.chapters, 1):
        lines += _chapter(archive, number, chapter)
    return "\n".join(lines).rstrip() + "\n"


def _chapter(archive: Archive, number: int, chapter: Chapter) -> list[str]:
    lines = [f"{'#' * CHAPTER_LEVEL} {number}. {_plain(chapter.title)}", ""]
    if chapter.notes:
        lines += [_beneath(chapter.notes), ""]
    pieces = [_piece(find(archive, piece)) for piece in chapter.pieces]
    return [*lines, *pieces, *([""] if pieces else [])]


def _piece(found: Found) -> str:
    parts = [f"- **{_plain(found.name)}** ({_code(found.text)})"]
    parts += [f"  {_code(found.notation)}"] if found.notation else []
    parts += [f"  {_plain(found.facts)}"] if found.facts else []
    parts += [f"  Not there now: {_plain(found.missing)}"] if found.missing else []
    return "  \n".join(parts)


def _beneath(notes: str) -> str:
    """Return notes whose headings stand beneath a chapter's; all else as it was typed."""
    lines = notes.split("\n")
    depths = Depths(CHAPTER_LEVEL)
    for first, end, level, words in headings_in(notes):
        lines[first:end] = [f"{'#' * depths.level(level)} {words}", *[""] * (end - first - 1)]
    return "\n".join(lines)


def _plain(text: str) -> str:
    """Return text that Markdown shows as it is."""
    return _SIGNS.sub(r"\\\1", text)


def _code(text: str) -> str:
    """Return text as it is typed, between more backticks than stand in it."""
    fence = "`" * (max(map(len, re.findall("`+", text)), default=0) + 1)
    gap = " " if "`" in text else ""
    return f"{fence}{gap}{' '.join(text.split())}{gap}{fence}"
