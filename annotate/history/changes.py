"""What is different between two states of a recording, row by row and field by field."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

from annotate.history.words import differing, field_names, field_word, row_word, row_words, words_apart
from annotate.records import WORD_FOR, Record
from annotate.revisions import Edit, add, change, withdraw
from annotate.rows import to_row
from annotate.schema import ANNOTATION_TABLES

Rows = Mapping[str, Mapping[str, Record]]


@dataclass(frozen=True)
class RowChange:
    """A row before and after; None where it is not there."""

    table: str
    key: str
    before: Record | None
    after: Record | None

    @property
    def action(self) -> Literal["added", "changed", "withdrawn"]:
        """What became of it."""
        if self.before is None:
            return "added"
        return "withdrawn" if self.after is None else "changed"

    @property
    def fields(self) -> list[str]:
        """The fields that changed; all of them where the row was added or withdrawn."""
        if self.before is not None and self.after is not None:
            return differing([self.before, self.after])
        record = self.before or self.after
        return [] if record is None else field_names(record)

    @property
    def sentence(self) -> str:
        """It in words: ``"tihai 't01' changed: dam 1 -> 1/2"``."""
        head = f"{row_word(self.table, self.key)} {self.action}"
        if self.before is None or self.after is None:
            return f"{head}: {row_words(self.before or self.after)}"
        return f"{head}: {'; '.join(self.field_sentences) or 'nothing in it'}"

    @property
    def field_sentences(self) -> list[str]:
        """Each field of a changed row that is different: ``"dam 1 -> 1/2"``."""
        told = []
        for name in self.fields:
            before, after = words_apart(name, [getattr(self.before, name), getattr(self.after, name)])
            told.append(f"{field_word(name)} {before} -> {after}")
        return told

    def edit(self) -> Edit:
        """Return the edit that makes the row what it is after, of what it is before."""
        if self.after is None:
            return withdraw(self.table, self.key)
        return add(self.after) if self.before is None else change(self.after)

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values: the columns that changed, before and after; None where the row is not there."""

        def told(record: Record | None) -> dict[str, Any] | None:
            return None if record is None else {name: plain_row(record)[name] for name in self.fields}

        return {
            "row": WORD_FOR[self.table],
            "key": self.key,
            "action": self.action,
            "before": told(self.before),
            "after": told(self.after),
        }


def plain_row(record: Record) -> dict[str, Any]:
    """Return the columns of a row (its key left out) as JSON has them: times in seconds, matras as ``n/d``."""
    row = to_row(record)
    return {name: value.isoformat() if isinstance(value := row[name], date) else value for name in field_names(record)}


def between(before: Rows, after: Rows, table: str = "", key: str = "") -> list[RowChange]:
    """Return what is different, in the order of tables and keys; of one table or row where it is named."""
    found = []
    for each in ANNOTATION_TABLES:
        if table and each != table:
            continue
        for name in sorted({*before.get(each, {}), *after.get(each, {})}):
            earlier, later = before.get(each, {}).get(name), after.get(each, {}).get(name)
            if earlier != later and (not key or name == key):
                found.append(RowChange(each, name, earlier, later))
    return found


def edits(changes: Iterable[RowChange]) -> list[Edit]:
    """Return the edits that make the changes."""
    return [each.edit() for each in changes]
