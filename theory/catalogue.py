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
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Generic, Protocol, TypeVar

from theory.errors import BadData, UnknownName
from theory.names import find, fold, table_of_names
from theory.tables import field, key_of, load

OWN = "LAYAKOSH_OWN"
KINDS = ("tala", "raga")


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
    shipped = f"{kind}s.toml"
    rows: dict[str, Mapping[str, Any]] = {row["key"]: row for row in load(f"{kind}s")[kind]}
    entries = [read(row, shipped, False) for row in rows.values()]
    variants = {
        key: tuple(read(each, shipped, False) for each in variant_rows(row, shipped)) for key, row in rows.items()
    }
    taken = {fold(name): entry.name for entry in entries for name in _names(entry)}
    for path in filter(None, own.split(os.pathsep)):
        where = Path(path).name
        for row in own_rows(Path(path), kind):
            base, slash, _ = key_of(row, where).partition("/")
            if slash:
                if base not in rows:
                    raise BadData(f"{where}, {kind} '{row['key']}': there is no {kind} with the key '{base}' to vary.")
                variants[base] = (*variants.get(base, ()), read(_filled(rows[base], row), where, True))
                continue
            entry = read(row, where, True)
            for name in _names(entry):
                if fold(name) in taken:
                    raise BadData(
                        f"{where}, {kind} '{entry.key}': '{name}' already names {taken[fold(name)]}.\n"
                        f"Choose another name, or make it a variant with a key such as '{entry.key}/my-teacher'."
                    )
            taken |= {fold(name): entry.name for name in _names(entry)}
            rows[entry.key] = row
            entries.append(entry)
            variants[entry.key] = tuple(read(each, where, True) for each in variant_rows(row, where))
    extra = [each for key in variants for each in variants[key]]
    table = table_of_names(
        kind, [(entry, _names(entry)) for entry in entries] + [(each, (each.key, *each.aliases)) for each in extra]
    )
    shown = {fold(name): entry.name for entry in entries for name in _names(entry)}
    shown |= {fold(name): each.key for each in extra for name in (each.key, *each.aliases)}
    return Catalogue(kind, tuple(entries), variants, table, shown)


def _names(entry: Listed) -> tuple[str, ...]:
    return (entry.key, entry.name, *entry.aliases)


def variant_rows(row: Mapping[str, Any], where: str) -> Iterator[Mapping[str, Any]]:
    """Yield the variants of a row as whole rows: what a variant does not say is as in the row.

    Raises
    ------
    BadData
        When the variants are no list of tables or one has no key.
    """
    for variant in field(row, "variant", list, where, []):
        if not isinstance(variant, dict):
            raise BadData(
                f"{where}, '{row['key']}': each variant is a table of its own, with key, source and what differs."
            )
        key = field(variant, "key", str, f"{where}, a variant of '{row['key']}'")
        yield _filled(row, {**variant, "key": f"{row['key']}/{key}"})


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
        When the file cannot be read, is no TOML, or holds anything but ``[[tala]]`` and ``[[raga]]`` rows.
    """
    try:
        content = tomllib.loads(path.read_text(encoding="utf-8"))
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
