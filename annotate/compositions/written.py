"""A revision of a composition as a file: TOML, so that it can be read without this program.

Conventions: matras are texts "n/d"; ``round_dam`` is left out where it is None; times are UTC. Reading checks all that
making does, and that nothing else stands in the file.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import UTC, datetime
from fractions import Fraction
from typing import Any

from annotate.compositions.composition import Composition
from annotate.compositions.errors import DamagedComposition
from theory.errors import BadNumber
from theory.numbers import parse_matras, stored
from theory.tihai import LandingRule

_HEAD = "# A composition kept in a Layakosh archive. This file is never changed: what changes is written beside it.\n"
_MATRAS = ("start", "target", "dam", "round_dam")
_TEXTS = ("name", "tala", "palla", "bol", "notes")
LARGEST = 64 << 10
"""Bytes of a file; what is longer was not written here."""


@dataclass(frozen=True)
class Revision:
    """A composition as somebody left it.

    ``number`` counts from 1. ``withdrawn`` says that it was taken out with this revision.
    """

    number: int
    who: str
    when: datetime
    why: str
    composition: Composition
    withdrawn: bool = False


def to_toml(revision: Revision) -> bytes:
    """Write a revision."""
    lines = [
        f"number = {revision.number}",
        f"who = {_text(revision.who)}",
        f"when = {revision.when.astimezone(UTC).replace(tzinfo=None).isoformat(timespec='seconds')}Z",
        f"why = {_text(revision.why)}",
        f"withdrawn = {str(revision.withdrawn).lower()}",
        "",
        "[composition]",
        *(
            f"{each.name} = {_value(revision.composition, each.name)}"
            for each in fields(Composition)
            if _told(revision, each.name)
        ),
    ]
    return (_HEAD + "\n".join(lines) + "\n").encode()


def from_toml(content: bytes) -> Revision:
    """Read a revision.

    Raises
    ------
    DamagedComposition
        The content is no revision of a composition.
    BadComposition
        It is one that cannot be played here: its tala is not known on this machine, say. Both without the file's name.
    """
    try:
        if len(content) > LARGEST:
            raise DamagedComposition(f"it has {len(content)} bytes, and a composition has at most {LARGEST}")
        told: Mapping[str, Any] = tomllib.loads(content.decode())
        when = told["when"]
        if set(told) != {"number", "who", "when", "why", "withdrawn", "composition"} or when.tzinfo is None:
            raise DamagedComposition("other fields were expected")
        return Revision(
            _whole(told["number"]),
            _str(told["who"]),
            when.astimezone(UTC),
            _str(told["why"]),
            _composition(told["composition"]),
            told["withdrawn"] is True,
        )
    except BadNumber:
        raise DamagedComposition("a count of matras in it is none") from None
    except (ValueError, LookupError, TypeError, AttributeError, RecursionError, OverflowError) as error:
        raise DamagedComposition(f"it is damaged ({type(error).__name__})") from None


def _composition(told: Mapping[str, Any]) -> Composition:
    known = {each.name for each in fields(Composition)}
    if unknown := set(told) - known:
        raise DamagedComposition(f"it has a field {sorted(unknown)[0]!r} that no composition has")
    values: dict[str, Any] = dict(told)
    values |= {name: parse_matras(_str(told[name])) for name in _MATRAS if name in told}
    values |= {name: _str(told[name]) for name in _TEXTS}
    values["rule"] = LandingRule(told["rule"])
    values["per_minute"] = _whole(told["per_minute"])
    values["sa_hz"] = float(told["sa_hz"])
    return Composition(**values)


def _told(revision: Revision, name: str) -> bool:
    return getattr(revision.composition, name) is not None


def _value(composition: Composition, name: str) -> str:
    value = getattr(composition, name)
    if isinstance(value, Fraction):
        return _text(stored(value))
    return _text(str(value)) if isinstance(value, str) else repr(value)


def _text(text: str) -> str:
    """Write a text as TOML does; JSON escapes all that TOML wants escaped but DEL, which no text here holds."""
    return json.dumps(text, ensure_ascii=False)


def _str(value: Any) -> str:
    if not isinstance(value, str):
        raise TypeError
    return value


def _whole(value: Any) -> int:
    if not isinstance(value, int) or isinstance(value, bool):
        raise TypeError
    return value
