"""Who is at hand: the person for whom a request is being answered.

Conventions: set by :mod:`dashboard.access.gate` for each request, read by pages and by the archive that refuses a
reader's edits. Where nobody logs in (the dashboard on one's own machine) it is :data:`LOCAL`, who may edit and has no
name. Work that goes on after a request, in a thread of its own, says whose it is with :func:`acting_as`.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from enum import StrEnum


class Role(StrEnum):
    """What a person may do."""

    READER = "reader"
    """Look and listen."""
    ANNOTATOR = "annotator"
    """Also edit and add recordings."""


ROLE_WORDS = {Role.READER: "may look and listen", Role.ANNOTATOR: "may also edit and add recordings"}


@dataclass(frozen=True)
class Person:
    """Somebody who uses the pages."""

    name: str
    role: Role

    @property
    def may_edit(self) -> bool:
        """Whether edits of this person are written."""
        return self.role is Role.ANNOTATOR


LOCAL = Person("", Role.ANNOTATOR)
"""Whoever sits at this machine, where nobody has to log in."""
NOBODY = Person("", Role.READER)
"""Somebody who has not logged in where one has to."""

_at_hand: ContextVar[Person] = ContextVar("person at hand", default=LOCAL)


def at_hand() -> Person:
    """Return who is at hand. Pages show who may not edit no way to (and the archive refuses the edits)."""
    return _at_hand.get()


@contextmanager
def acting_as(person: Person) -> Iterator[None]:
    """Let what is done within be done by a person."""
    before = _at_hand.set(person)
    try:
        yield
    finally:
        _at_hand.reset(before)
