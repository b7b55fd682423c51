"""The present state of a recording: what remains when its revisions are replayed in order.

A state is a value: it never changes, and :func:`replay` makes the next one. Keys are never used twice, so that a key in
an old revision always means the same thing.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TypeVar, cast

from annotate.errors import BadAnnotation, NoSuchRow, NoSuchTihai
from annotate.records import WORD_FOR, MarkedSam, PhraseRecord, Record, Recording, Section, TihaiRecord
from annotate.revisions import Edit, Revision
from annotate.schema import ANNOTATION_TABLES

_T = TypeVar("_T", bound=Record)
_PREFIX = {"sams": "s", "tihais": "t", "phrases": "p"}


@dataclass(frozen=True)
class State:
    """Everything people say of a recording, as of a revision. The tuples are in order of time."""

    slug: str
    revision: int
    rows: Mapping[str, Mapping[str, Record]] = field(repr=False)
    spent: Mapping[str, int] = field(repr=False)
    """Highest number used so far in the keys of each table, withdrawn rows included."""

    @property
    def withdrawn(self) -> bool:
        """Whether the recording itself has been withdrawn; its other rows stay as they were, for the day it is back."""
        return not self.rows["recordings"] and "recordings" in self.spent

    @cached_property
    def recording(self) -> Recording:
        """The performance itself."""
        return cast(Recording, self.rows["recordings"][self.slug])

    @cached_property
    def sections(self) -> tuple[Section, ...]:
        """Sections by start."""
        return tuple(sorted(self._of("sections", Section), key=lambda each: (each.start_s, each.section)))

    @cached_property
    def marked_sams(self) -> tuple[MarkedSam, ...]:
        """Marked sams by time."""
        return tuple(sorted(self._of("sams", MarkedSam), key=lambda each: (each.sam_s, each.sam)))

    @cached_property
    def tihais(self) -> tuple[TihaiRecord, ...]:
        """Tihais by the start of the first palla."""
        return tuple(sorted(self._of("tihais", TihaiRecord), key=lambda each: (each.palla_s[0], each.tihai)))

    @cached_property
    def phrases(self) -> tuple[PhraseRecord, ...]:
        """Phrases by start."""
        return tuple(sorted(self._of("phrases", PhraseRecord), key=lambda each: (each.start_s, each.phrase)))

    def tihai(self, key: str) -> TihaiRecord:
        """Return one tihai, or raise :class:`~annotate.errors.NoSuchTihai`."""
        try:
            return cast(TihaiRecord, self.rows["tihais"][key])
        except KeyError:
            raise NoSuchTihai(key, self.slug, list(self.rows["tihais"])) from None

    def section_at(self, time_s: float, *, with_tala: bool = False, slack_s: float = 0.0) -> Section | None:
        """Return the section at a time (the later one where two touch), or the nearest within ``slack_s``."""
        sections = [each for each in self.sections if each.tala or not with_tala]
        distances_s = [max(each.start_s - time_s, time_s - each.end_s, 0.0) for each in sections]
        nearest_s = min(distances_s, default=float("inf"))
        if nearest_s > slack_s:
            return None
        return [each for each, distance_s in zip(sections, distances_s, strict=True) if distance_s == nearest_s][-1]

    def next_keys(self, table: str, how_many: int) -> list[str]:
        """Return keys not used so far: ``t01``, ``t02`` ... for tihais, ``s..`` for sams, ``p..`` for phrases."""
        first = self.spent.get(table, 0) + 1
        return [f"{_PREFIX[table]}{number:02d}" for number in range(first, first + how_many)]

    def _of(self, table: str, kind: type[_T]) -> list[_T]:  # noqa: ARG002 - the kind names the type for the checker
        return cast(list[_T], list(self.rows[table].values()))


def empty(slug: str) -> State:
    """Return the state before the first revision."""
    return State(slug, 0, {table: {} for table in ANNOTATION_TABLES}, {})


def replay(state: State, revisions: Iterable[Revision]) -> State:
    """Return the state after further revisions."""
    rows = {table: dict(present) for table, present in state.rows.items()}
    spent = dict(state.spent)
    number = state.revision
    for revision in revisions:
        number = revision.number
        for edit in revision.edits:
            if edit.record is None:
                rows[edit.table].pop(edit.key, None)
            else:
                rows[edit.table][edit.key] = edit.record
            spent[edit.table] = max(spent.get(edit.table, 0), _number_in(edit.key, edit.table))
    return State(state.slug, number, rows, spent)


def check_edits(state: State, edits: Collection[Edit]) -> None:
    """Refuse edits that do not fit the state.

    Raises
    ------
    BadAnnotation
        A row is added that exists, or the same row is touched twice, or there is nothing to do.
    NoSuchRow
        A row is changed or withdrawn that does not exist.
    """
    touched: set[tuple[str, str]] = set()
    for edit in edits:
        word = WORD_FOR[edit.table]
        present = state.rows[edit.table]
        if (edit.table, edit.key) in touched:
            raise BadAnnotation(f"One edit touches the {word} '{edit.key}' of '{state.slug}' twice. Give it once.")
        touched.add((edit.table, edit.key))
        if edit.action == "add" and edit.key in present:
            raise BadAnnotation(
                f"'{state.slug}' has a {word} '{edit.key}' already. Change that one, or choose another key."
            )
        if edit.action != "add" and edit.key not in present:
            if edit.table == "tihais":
                raise NoSuchTihai(edit.key, state.slug, list(present))
            raise NoSuchRow(word, edit.key, state.slug, list(present))
    if not touched:
        raise BadAnnotation(f"There is nothing to write for '{state.slug}'.")
    if len(touched) > 1 and any(edit.table == "recordings" and edit.action == "withdraw" for edit in edits):
        raise BadAnnotation(f"The recording '{state.slug}' is withdrawn by itself: layakosh withdraw {state.slug}")


def _number_in(key: str, table: str) -> int:
    prefix = _PREFIX.get(table)
    if prefix is None:
        return 0
    match = re.fullmatch(rf"{prefix}(\d{{1,9}})", key)
    return int(match[1]) if match else 0
