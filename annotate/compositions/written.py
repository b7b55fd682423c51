"""A composition as plain values, as its file holds it.

Conventions: matras are texts "n/d"; ``round_dam`` is left out where it is None.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from fractions import Fraction
from typing import Any

from annotate.compositions.composition import Composition
from annotate.shelves.errors import DamagedThing
from annotate.shelves.written import text, whole
from theory.errors import BadNumber
from theory.numbers import parse_matras, stored
from theory.tihai import LandingRule

_MATRAS = ("start", "target", "dam", "round_dam")
_TEXTS = ("name", "tala", "palla", "bol", "notes")


def to_table(composition: Composition) -> dict[str, Any]:
    """Return a composition as plain values."""
    return {each.name: _plain(getattr(composition, each.name)) for each in fields(Composition)}


def from_table(told: Mapping[str, Any]) -> Composition:
    """Return the composition of plain values.

    Raises
    ------
    annotate.shelves.errors.DamagedThing, ValueError, LookupError, TypeError, AttributeError
        They are none.
    BadThing
        They are one that cannot be played here.
    """
    known = {each.name for each in fields(Composition)}
    if unknown := set(told) - known:
        raise DamagedThing(f"it has a field {sorted(unknown)[0]!r} that no composition has")
    values: dict[str, Any] = dict(told)
    try:
        values |= {name: parse_matras(text(told[name])) for name in _MATRAS if name in told}
    except BadNumber:
        raise DamagedThing("a count of matras in it is none") from None
    values |= {name: text(told[name]) for name in _TEXTS}
    values["rule"] = LandingRule(told["rule"])
    values["per_minute"] = whole(told["per_minute"])
    values["sa_hz"] = float(told["sa_hz"])
    return Composition(**values)


def _plain(value: Any) -> Any:
    if isinstance(value, Fraction):
        return stored(value)
    return str(value) if isinstance(value, str) else value
