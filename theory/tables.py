"""Reading the data files: talas, bols, swaras, ragas and laya are TOML tables, each row with the key of its source.

``sources.toml`` gives every key its full title. A row that lacks a field or carries a wrong one is refused with its
file, its name and the field.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from functools import cache
from importlib.resources import files
from typing import Any, TypeVar

from theory.errors import BadData

Word = TypeVar("Word", bound=str)


@cache
def load(name: str) -> dict[str, Any]:
    """Read ``theory/data/<name>.toml``."""
    return tomllib.loads((files("theory") / "data" / f"{name}.toml").read_text(encoding="utf-8"))


def field(row: Mapping[str, Any], name: str, kind: type | tuple[type, ...], where: str, default: Any = None) -> Any:
    """Take one field of a row, checked for its type.

    Raises
    ------
    BadData
        When it is missing and has no default, or is of another type.
    """
    value = row.get(name, default)
    if not isinstance(value, kind) or isinstance(value, bool):
        raise BadData(f"{where}: the field '{name}' is {'missing' if value is None else f'wrong: {value!r}'}.")
    return value


def source_title(keys: str) -> str:
    """Write out source keys in full.

    Parameters
    ----------
    keys : str
        One key or several, with ``"; "`` between ("RG-S; OB"). A page number may follow ("SV 146").

    Returns
    -------
    str
        The titles, with the pages, with ``"; "`` between.

    Raises
    ------
    BadData
        When a key is not in ``sources.toml``.
    """
    return "; ".join(_title(key) for key in keys.split("; "))


def _title(key: str) -> str:
    sources: dict[str, str] = load("sources")["sources"]
    if key in sources:
        return sources[key]
    short, _, page = key.rpartition(" ")
    if short in sources and page:
        return f"{sources[short]}, p. {page}"
    raise BadData(f"sources.toml has no source '{key}': add its full title there.")


def one_of(value: str, allowed: Sequence[Word], where: str) -> Word:
    """Return the value if it is one of the allowed words.

    Raises
    ------
    BadData
        When it is not; the message lists them.
    """
    for word in allowed:
        if word == value:
            return word
    raise BadData(f"{where}: '{value}' should be one of {', '.join(allowed)}.")
