"""Reading the data files: talas, bols, swaras, ragas and laya are TOML tables, each row with the key of its source.

``sources.toml`` gives every key its full title. A row that lacks a field or carries a wrong one is refused with its
file, its name and the field.
"""

from __future__ import annotations

import difflib
import re
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


def only_fields(row: Mapping[str, Any], known: Sequence[str], where: str) -> None:
    """Refuse a row with a field that the table does not have: it is mostly a slip of the pen.

    Raises
    ------
    BadData
        When there is one; offers the nearest.
    """
    for name in row:
        if name not in known:
            near = difflib.get_close_matches(name, known, n=1)
            raise BadData(f"{where}: there is no field '{name}'." + (f" Did you mean '{near[0]}'?" if near else ""))


_KEY = re.compile(r"[a-z0-9][a-z0-9-]*(/[a-z0-9][a-z0-9-]*)?")


def key_of(row: Mapping[str, Any], where: str) -> str:
    """Take the key of a row: small letters, digits and hyphens; ``row/variant`` for a variant.

    Raises
    ------
    BadData
        When it is missing or has another shape.
    """
    key: str = field(row, "key", str, where)
    if not _KEY.fullmatch(key):
        raise BadData(
            f"{where}: the key '{key}' should be of small letters, digits and hyphens, such as 'ada-chautal'."
        )
    return key


def words(row: Mapping[str, Any], name: str, where: str) -> tuple[str, ...]:
    """Take a field that is a list of texts; left out, it is empty.

    Raises
    ------
    BadData
        When it is anything else.
    """
    return tuple(_each(row, name, str, "texts", where))


def counts(row: Mapping[str, Any], name: str, where: str) -> tuple[int, ...]:
    """Take a field that is a list of whole numbers; left out, it is empty.

    Raises
    ------
    BadData
        When it is anything else.
    """
    return tuple(_each(row, name, int, "whole numbers", where))


def _each(row: Mapping[str, Any], name: str, kind: type, called: str, where: str) -> list[Any]:
    values: list[Any] = field(row, name, list, where, [])
    if not all(isinstance(value, kind) and not isinstance(value, bool) for value in values):
        raise BadData(f"{where}: the field '{name}' should be a list of {called}, but {values!r} came.")
    return values


def source_of(row: Mapping[str, Any], where: str, own: bool = False) -> str:
    """Write out the source of a row in full; in a user's own row it is any text.

    Raises
    ------
    BadData
        When it is missing, or a shipped row names a key that ``sources.toml`` does not have.
    """
    keys: str = field(row, "source", str, where)
    if own and not keys.strip():
        raise BadData(f"{where}: the field 'source' is empty: say who teaches it so.")
    return keys if own else source_title(keys)


def notes_of(row: Mapping[str, Any], where: str) -> str:
    """Take the notes of a row, with the titles of the sources that they name by key.

    Raises
    ------
    BadData
        When they are no text.
    """
    notes: str = field(row, "notes", str, where, "")
    return _keys_in_notes().sub(lambda found: load("sources")["sources"][found[0]].partition(" (")[0], notes)


@cache
def _keys_in_notes() -> re.Pattern[str]:
    """Return what finds a key of a source in running text; keys are written in capitals ("SGU", "BD-Teo")."""
    keys = sorted((key for key in load("sources")["sources"] if key[0].isupper()), key=len, reverse=True)
    return re.compile(rf"(?<![\w-])(?:{'|'.join(map(re.escape, keys))})(?![\w-])")


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
