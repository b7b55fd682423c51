"""The fields of a row in words: by the names that the commands use, with values as a musician writes them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields
from datetime import date, datetime
from enum import Enum
from fractions import Fraction
from typing import cast

from annotate.records import TABLE_OF, WORD_FOR, Record, SourceFile, key_of
from theory.clock import format_clock
from theory.numbers import spoken

Musicians = tuple[tuple[str, str], ...]
"""Pairs of what is played and by whom."""
NOTHING = "-"
"""What stands for an empty field."""

_WORDS = {
    "palla_s": "starts",
    "landing_s": "landing",
    "start_s": "from",
    "end_s": "to",
    "sam_s": "at",
    "played_by": "played-by",
    "performed_on": "on",
    "sa_hz": "sa",
    "duration_s": "length",
    "audio_sha256": "digest of the sound",
    "audio_path": "listening copy",
    "who": "written by",
    "at": "written on",
}
_CLOCKS = ("palla_s", "landing_s", "start_s", "end_s", "sam_s", "duration_s")


def field_names(record: type[Record] | Record) -> list[str]:
    """Return the fields of a record that say something, its key left out."""
    kind = record if isinstance(record, type) else type(record)
    own_key = "slug" if TABLE_OF[kind] == "recordings" else WORD_FOR[TABLE_OF[kind]]
    return [each.name for each in fields(kind) if each.name != own_key]


def field_word(name: str) -> str:
    """Return what a field is called: ``"landing"`` for ``landing_s``."""
    return _WORDS.get(name, name)


def row_word(table: str, key: str) -> str:
    """Return what a row is called: ``"tihai 't01'"``."""
    return f"{WORD_FOR[table]} '{key}'"


def value_words(name: str, value: object) -> str:
    """Return a field's value as a musician writes it: times by the clock, matras as whole numbers and fractions."""
    if value is None or value in ("", ()):
        return NOTHING
    if name == "musicians":
        return musicians_words(cast(Musicians, value))
    if isinstance(value, tuple):
        return ", ".join(_part(name, each) for each in value)
    return _part(name, value)


def musicians_words(musicians: Musicians) -> str:
    """Return who plays what, as :func:`annotate.musicians.read_musicians` reads it: a comma in a name stays in it."""
    told = [f"{plays}: {name}" for plays, name in musicians]
    if any("," in each or ";" in each for each in told):
        return "; ".join(told) + (";" if len(told) == 1 else "")
    return ", ".join(told)


def _part(name: str, value: object) -> str:
    if name in _CLOCKS and isinstance(value, float):
        return format_clock(value)
    match value:
        case Enum():
            return str(value.value)
        case Fraction():
            return spoken(value)
        case datetime():
            return f"{value:%Y-%m-%d %H:%M} UTC"
        case date():
            return value.isoformat()
        case float():
            return f"{value:g}"
        case SourceFile():
            return f"{value.name} ({value.role})"
        case _:
            return str(value)


def row_words(record: Record | None) -> str:
    """Return a row in one line, its empty fields left out: ``"from 0:20, to 0:22, swaras R m P, role mukhra"``."""
    if record is None:
        return "withdrawn"
    told = [(name, value_words(name, getattr(record, name))) for name in field_names(record)]
    kept = [f"{field_word(name)} {value}" for name, value in told if value != NOTHING and name not in ("who", "at")]
    return "; ".join(kept)


def differing(versions: Sequence[Record]) -> list[str]:
    """Return the fields in which versions of a row are not all the same."""
    names = field_names(versions[0])
    return [name for name in names if any(getattr(each, name) != getattr(versions[0], name) for each in versions[1:])]


def words_apart(name: str, values: Sequence[object]) -> list[str]:
    """Return the words for values of a field that are not all the same; to the last digit where that is needed."""
    words = [value_words(name, value) for value in values]
    if len(set(words)) > 1:
        return words
    return [", ".join(map(str, value)) if isinstance(value, tuple) else str(value) for value in values]


def beside(versions: Mapping[str, Record | None]) -> str:
    """Return versions of a row side by side, a line per field in which they differ.

    Parameters
    ----------
    versions : mapping of str to Record or None
        By what each is called; None where the row is withdrawn.
    """
    there = [record for record in versions.values() if record is not None]
    if len(there) < len(versions) or len({(type(each), key_of(each)) for each in there}) > 1:
        width = max(map(len, versions))
        return "\n".join(f"  {name + ':':<{width + 1}} {row_words(record)}" for name, record in versions.items())
    lines = [["", *versions]]
    lines += [
        [field_word(name), *words_apart(name, [getattr(each, name) for each in there])] for name in differing(there)
    ]
    widths = [max(len(line[column]) for line in lines) for column in range(len(lines[0]))]
    return "\n".join(
        "  " + "  ".join(f"{cell:<{width}}" for cell, width in zip(line, widths, strict=True)).rstrip()
        for line in lines
    )
