"""A table of talas or ragas as it is looked up: every row with its variants, and the user's own rows beside them.

Conventions:

* Where sources and schools differ, a row carries variants, each with its source. ``ektal/bengali`` is the variant
  "bengali" of ektal; what a variant does not say is as in its row.
* A user's own rows stand in TOML files that the variable ``LAYAKOSH_OWN`` names (several with the system's path
  separator, ``:`` or ``;``, between). They obey the same rules; their source is any text ("my teacher"). A key such
  as ``teental/my-teacher`` adds a variant to the row "teental".
"""

from __future__ import annotations

import os
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Generic, Protocol, TypeVar

from theory.errors import BadData, UnknownName
from theory.names import find, fold, table_of_names
from theory.tables import field, key_of, load

OWN = "LAYAKOSH_OWN"
KINDS = ("tala", "raga")
MOST_BYTES, MOST_SIGNS = 2**18, 4000
"""The largest file of one's own, and its longest line: the shipped tables together are a fifth of it. (Reading TOML
takes ever longer with the length of a key.)"""


class Listed(Protocol):
    """What a row of a catalogue has."""

    @property
    def key(self) -> str:
        """Its name for tables and commands."""

    @property
    def name(self) -> str:
        """Its name for people."""

    @property
    def aliases(self) -> tuple[str, ...]:
        """Other names and spellings."""


Entry = TypeVar("Entry", bound=Listed)
Read = Callable[[Mapping[str, Any], str, bool], Entry]


@dataclass(frozen=True)
class Catalogue(Generic[Entry]):
    """The rows of a table in order, and every name that leads to one of them or to a variant."""

    kind: str
    rows: Mapping[str, Mapping[str, Any]]  # as written, by key
    entries: tuple[Entry, ...]
    variants: Mapping[str, tuple[Entry, ...]]  # by the key of the row
    table: Mapping[str, Entry]
    shown: Mapping[str, str]

    def get(self, name: str, suffix: str = "") -> Entry:
        """Look a row or a variant up by any usual spelling; ``suffix`` may be added to a name or left out.

        Raises
        ------
        UnknownName
            When there is none of that name; offers the nearest.
        """
        row, slash, variant = name.partition("/")
        entry = find(self.kind, row, self.table, self.shown, suffix)
        if not slash:
            return entry
        kind, variants = f"variant of {entry.name}", self.variants.get(entry.key, ())
        if not variants:
            raise UnknownName(kind, variant.strip(), ())
        table = {fold(each.key.partition("/")[2]): each for each in variants}
        return find(kind, variant.strip(), table, {key: each.key.partition("/")[2] for key, each in table.items()})


def catalogue(kind: str, read: Read[Entry]) -> Catalogue[Entry]:
    """Return the shipped rows of a kind ("tala", "raga") and, after them, the user's own.

    Parameters
    ----------
    kind : str
        "tala" or "raga".
    read : function of (row, where, own) to entry
        Makes an entry from a row without its variants.

    Raises
    ------
    BadData
        When a row is wrong or takes a name that another has; names file, row and field.
    """
    return _catalogue(kind, read, os.environ.get(OWN, ""))


@cache
def _catalogue(kind: str, read: Read[Entry], own: str) -> Catalogue[Entry]:
    known = shipped(kind, read)
    for path in filter(None, own.split(os.pathsep)):
        known = with_own(known, read, Path(path))
    return known


@cache
def shipped(kind: str, read: Read[Entry]) -> Catalogue[Entry]:
    """Return the shipped rows of a kind alone; as :func:`catalogue` otherwise."""
    where = f"{kind}s.toml"
    rows = {row["key"]: row for row in load(f"{kind}s")[kind]}
    variants = {key: _variants(row, read, where, False) for key, row in rows.items()}
    return _made(kind, rows, [read(row, where, False) for row in rows.values()], variants)


def with_own(known: Catalogue[Entry], read: Read[Entry], path: Path) -> Catalogue[Entry]:
    """Return a catalogue with the rows of a user's own file after its own.

    Raises
    ------
    BadData
        When the file cannot be read, a row is wrong or takes a name that another has; names file, row and field.
    """
    rows, entries, variants, where = dict(known.rows), list(known.entries), dict(known.variants), path.name
    taken = {fold(name): entry.name for entry in entries for name in _names(entry)}
    for row in own_rows(path, known.kind):
        key, slash, _ = key_of(row, where).partition("/")
        if slash:
            if key not in rows:
                raise BadData(f"{where}, '{row['key']}': there is no {known.kind} with the key '{key}' to vary.")
            variants[key] = (*variants[key], read(_filled(rows[key], row), where, True))
            continue
        entry = read(row, where, True)
        for name in _names(entry):
            if fold(name) in taken:
                raise BadData(
                    f"{where}, {known.kind} '{key}': '{name}' already names {taken[fold(name)]}.\n"
                    f"Choose another name, or give what differs as a variant, with a key such as '{key}/my-teacher'."
                )
        taken |= {fold(name): entry.name for name in _names(entry)}
        rows[key], variants[key] = row, _variants(row, read, where, True)
        entries.append(entry)
    return _made(known.kind, rows, entries, variants)


def _made(
    kind: str,
    rows: Mapping[str, Mapping[str, Any]],
    entries: Sequence[Entry],
    variants: Mapping[str, tuple[Entry, ...]],
) -> Catalogue[Entry]:
    extra = [each for key in variants for each in variants[key]]
    table = table_of_names(
        kind, [(entry, _names(entry)) for entry in entries] + [(each, (each.key, *each.aliases)) for each in extra]
    )
    shown = {fold(name): entry.name for entry in entries for name in _names(entry)}
    shown |= {fold(name): each.key for each in extra for name in (each.key, *each.aliases)}
    return Catalogue(kind, rows, tuple(entries), variants, table, shown)


def _names(entry: Listed) -> tuple[str, ...]:
    return (entry.key, entry.name, *entry.aliases)


def _variants(row: Mapping[str, Any], read: Read[Entry], where: str, own: bool) -> tuple[Entry, ...]:
    """Read the variants of a row: what a variant does not say is as in the row."""
    made = []
    for variant in field(row, "variant", list, where, []):
        if not isinstance(variant, dict):
            raise BadData(f"{where}, '{row['key']}': each variant is a table, with key, source and what differs.")
        key = field(variant, "key", str, f"{where}, a variant of '{row['key']}'")
        made.append(read(_filled(row, {**variant, "key": f"{row['key']}/{key}"}), where, own))
    return tuple(made)


def _filled(row: Mapping[str, Any], variant: Mapping[str, Any]) -> Mapping[str, Any]:
    """Fill a variant up from its row; names, notes and source are a variant's own."""
    own = {"key", "name", "aliases", "notes", "source", "variant"}
    name = variant.get("name") or str(variant["key"]).partition("/")[2].replace("-", " ")
    taken_over = {field: value for field, value in row.items() if field not in own}
    return {**taken_over, **variant, "name": f"{row.get('name')}, {name}"}


def own_rows(path: Path, kind: str) -> list[Mapping[str, Any]]:
    """Read the rows of a kind ("tala", "raga") from a user's own TOML file, unchecked.

    Raises
    ------
    BadData
        When the file cannot be read or is too large, is no TOML, or holds anything but ``[[tala]]`` and ``[[raga]]``
        rows.
    """
    try:
        with path.open("rb") as file:
            written = file.read(MOST_BYTES + 1)
        if len(written) > MOST_BYTES:
            raise BadData(f"{path} is larger than {MOST_BYTES >> 10} kB. Write your talas and ragas in several files.")
        text = written.decode("utf-8-sig")
        for number, line in enumerate(text.splitlines(), start=1):
            if len(line) > MOST_SIGNS:
                raise BadData(f"{path}, line {number} has {len(line)} signs; at most {MOST_SIGNS} are read. Divide it.")
        content = tomllib.loads(text)
    except OSError as error:
        raise BadData(f"{path} cannot be read: {error.strerror}. It is named by the variable {OWN}.") from None
    except UnicodeDecodeError:
        raise BadData(f"{path} is no text in UTF-8. Write your talas and ragas in a plain text file (TOML).") from None
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        raise BadData(f"{path} is no TOML: {error}.") from None
    for name, rows in content.items():
        if name not in KINDS or not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            raise BadData(f"{path}: expected rows that begin with [[tala]] or [[raga]], but '{name}' came.")
    return list(content.get(kind, []))
