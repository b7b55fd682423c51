"""A revision of a thing as a file: TOML, so that it can be read without this program.

Conventions: times are UTC; ``undoes`` is left out where it is 0. Reading checks all that making does, and that nothing
else stands in the file.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from datetime import UTC
from typing import Any

import tomli_w

from annotate.shelves.errors import BadThing, DamagedThing
from annotate.shelves.kept import Revision, Sort, Thing

_HEAD = ("number", "who", "when", "why", "withdrawn")


def to_toml(sort: Sort[Thing], revision: Revision[Thing]) -> bytes:
    """Write a revision.

    Raises
    ------
    BadThing
        It would be longer than a file of its sort may be.
    """
    told: dict[str, Any] = {
        "number": revision.number,
        "who": revision.who,
        "when": revision.when.astimezone(UTC),
        "why": revision.why,
        "withdrawn": revision.withdrawn,
        **({"undoes": revision.undoes} if revision.undoes else {}),
        sort.word: {name: value for name, value in sort.to_table(revision.content).items() if value is not None},
    }
    head = f"# A {sort.word} kept in a Layakosh archive. This file is never changed: what changes is written beside it."
    content = f"{head}\n{tomli_w.dumps(told, multiline_strings=True)}".encode()
    if len(content) > sort.largest:
        raise BadThing(f"The {sort.word} takes {len(content)} bytes to write: at most {sort.largest} are kept.")
    return content


def from_toml(sort: Sort[Thing], content: bytes) -> Revision[Thing]:
    """Read a revision.

    Raises
    ------
    DamagedThing
        The content is no revision of a thing of this sort.
    BadThing
        It is one that cannot be used here: its tala is not known on this machine, say. Both without the file's name.
    """
    try:
        if len(content) > sort.largest:
            raise DamagedThing(f"it has {len(content)} bytes, and a {sort.word} has at most {sort.largest}")
        told: Mapping[str, Any] = tomllib.loads(content.decode())
        when = told["when"]
        if set(told) - {"undoes"} != {*_HEAD, sort.word} or when.tzinfo is None:
            raise DamagedThing("other fields were expected")
        return Revision(
            whole(told["number"]),
            text(told["who"]),
            when.astimezone(UTC),
            text(told["why"]),
            sort.from_table(told[sort.word]),
            told["withdrawn"] is True,
            whole(told.get("undoes", 0)),
        )
    except (ValueError, LookupError, TypeError, AttributeError, RecursionError, OverflowError) as error:
        raise DamagedThing(f"it is damaged ({type(error).__name__})") from None


def text(value: Any) -> str:
    """Return a value that is text, or raise ``TypeError``."""
    if not isinstance(value, str):
        raise TypeError
    return value


def whole(value: Any) -> int:
    """Return a value that is a whole number, or raise ``TypeError``."""
    if not isinstance(value, int) or isinstance(value, bool):
        raise TypeError
    return value
