"""A thing that is kept, with its revisions, and what there is to know of a sort of things.

Conventions: revisions count from 1; times are UTC, to the second.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Generic, TypeVar

from annotate.layout import Kind, named
from annotate.shelves.errors import BadThing

Thing = TypeVar("Thing")


@dataclass(frozen=True)
class Sort(Generic[Thing]):
    """A sort of things that are kept.

    Attributes
    ----------
    word : Kind
        What one is called: "composition". It is also the kind of its files (:mod:`annotate.layout`) and the name of
        the table in them.
    folder : str
        Where they lie in the archive.
    lists : str
        The command that lists them.
    mend : str
        What to do about one that cannot be used here, in words.
    largest : int
        Bytes of a file; what is longer was not written here.
    name_of : callable
        The name of one, of which its key is made.
    to_table : callable
        One as plain values that TOML can hold; what is None is left out.
    from_table : callable
        The reverse. Raises :class:`BadThing` for what cannot be kept here, and ``ValueError``, ``LookupError``,
        ``TypeError`` or ``AttributeError`` for what is none.
    """

    word: Kind
    folder: str
    lists: str
    mend: str
    largest: int
    name_of: Callable[[Thing], str]
    to_table: Callable[[Thing], Mapping[str, Any]]
    from_table: Callable[[Mapping[str, Any]], Thing]


@dataclass(frozen=True)
class Revision(Generic[Thing]):
    """A thing as somebody left it.

    ``withdrawn`` says that it was taken out with this revision; ``undoes`` is the number of the revision that it takes
    back, 0 where it takes none back.
    """

    number: int
    who: str
    when: datetime
    why: str
    content: Thing
    withdrawn: bool = False
    undoes: int = 0


@dataclass(frozen=True)
class Kept(Generic[Thing]):
    """A thing with its key and how it came to be as it is; ``unread``: files that cannot be read, and why."""

    key: str
    revisions: tuple[Revision[Thing], ...]
    unread: tuple[tuple[str, BadThing], ...] = ()

    @property
    def latest(self) -> Revision[Thing]:
        """As it is now."""
        return self.revisions[-1]

    @property
    def content(self) -> Thing:
        """What it is now."""
        return self.latest.content

    @property
    def last_number(self) -> int:
        """The highest number that is taken, also by a file that cannot be read."""
        return max(self.latest.number, *(named(name).number for name, _ in self.unread), 0)
