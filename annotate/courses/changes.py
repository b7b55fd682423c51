"""What became of a course from one revision to the next, in words."""

from __future__ import annotations

import re

from annotate.courses.course import Chapter, Course

FIELDS = (("title", "title"), ("for_whom", "for whom"), ("licence", "licence"))
"""Fields of a course itself, each with what it is called."""
ORDER = "order of the chapters"
MOST_WORDS = 3

_FIELD = re.compile(rf"^({'|'.join(word for _, word in FIELDS)}): .* → .*$", re.DOTALL)


def sentences(before: Course, after: Course) -> tuple[str, ...]:
    """Return what is different, a line for each thing; empty where nothing is."""
    lines = [
        f"{word}: {getattr(before, name) or '-'} → {getattr(after, name) or '-'}"
        for name, word in FIELDS
        if getattr(before, name) != getattr(after, name)
    ]
    was = {chapter.key: chapter for chapter in before.chapters}
    now = {chapter.key: chapter for chapter in after.chapters}
    lines += [f"chapter '{chapter.title}' added" for key, chapter in now.items() if key not in was]
    lines += [f"chapter '{chapter.title}' removed" for key, chapter in was.items() if key not in now]
    if [key for key in was if key in now] != [key for key in now if key in was]:
        lines.append(f"{ORDER} changed")
    for key in was:
        if key in now:
            lines += _of_chapter(was[key], now[key])
    return tuple(lines)


def in_short(before: Course, after: Course) -> str:
    """Return what is different in one line, which a revision bears as its reason."""
    lines = [_FIELD.sub(r"\1 changed", line) for line in sentences(before, after)]
    more = f" and {len(lines) - MOST_WORDS} more" if len(lines) > MOST_WORDS else ""
    return (", ".join(lines[:MOST_WORDS]) + more) or "changed"


def _of_chapter(was: Chapter, now: Chapter) -> list[str]:
    lines = []
    if was.title != now.title:
        lines.append(f"chapter '{was.title}' is now called '{now.title}'")
    if was.notes != now.notes:
        lines.append(f"notes of '{now.title}' changed")
    added = [piece for piece in now.pieces if piece not in was.pieces]
    dropped = [piece for piece in was.pieces if piece not in now.pieces]
    if added:
        lines.append(f"put into '{now.title}': {', '.join(added)}")
    if dropped:
        lines.append(f"taken out of '{now.title}': {', '.join(dropped)}")
    if [piece for piece in was.pieces if piece in now.pieces] != [piece for piece in now.pieces if piece in was.pieces]:
        lines.append(f"order of the pieces of '{now.title}' changed")
    return lines
