"""The contract of the archive: whatever the order of edits, it holds what a dict would hold."""

from __future__ import annotations

import shutil
import tempfile
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, initialize, invariant, rule

from annotate.archive import Archive
from annotate.errors import ConflictingEdit, LayakoshError
from annotate.records import PhraseRecord, Record, Recording, TihaiRecord
from annotate.revisions import Edit, add, change, withdraw
from tests.annotate.desk import phrase, tihai

SLUGS = ("morning", "evening")
Key = tuple[str, str, str]


class AnArchiveAndADict(RuleBasedStateMachine):
    """Two archive objects on one folder take turns; the model is a dict from (slug, table, key) to record."""

    parents = Bundle("parents")

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.archives = (Archive.create(self.folder), Archive.open(self.folder))
        self.model: dict[Key, Record] = {}
        self.touched: dict[str, list[set[tuple[str, str]]]] = {}

    @initialize()
    def make(self) -> None:
        for slug in SLUGS:
            self.archives[0].commit(slug, [add(Recording(slug, slug.title(), raga="desh"))], "maker", "")
            self.model[slug, "recordings", slug] = Recording(slug, slug.title(), raga="desh")
            self.touched[slug] = [{("recordings", slug)}]

    @rule(target=parents, slug=st.sampled_from(SLUGS), which=st.sampled_from([0, 1]))
    def read(self, slug: str, which: int) -> tuple[str, int]:
        return slug, self.archives[which].state(slug).revision

    @rule(
        base=parents,
        which=st.sampled_from([0, 1]),
        actions=st.lists(
            st.tuples(
                st.sampled_from(["add", "change", "withdraw"]),
                st.sampled_from(["tihais", "phrases"]),
                st.integers(1, 4),
                st.text("abc", max_size=2),
            ),
            max_size=3,
        ),
    )
    def edit(self, base: tuple[str, int], which: int, actions: list[tuple[str, str, int, str]]) -> None:
        slug, parent = base
        edits = [self._edit(*action) for action in actions]
        expected = self._expected(slug, parent, edits)
        if expected is None:
            number = self.archives[which].commit(slug, edits, "writer", "", parent)
            assert number == len(self.touched[slug]) + 1
            self._apply(slug, edits)
        else:
            with pytest.raises(expected):
                self.archives[which].commit(slug, edits, "writer", "", parent)

    @invariant()
    def both_hold_what_the_dict_holds(self) -> None:
        for archive in self.archives:
            for slug, done in self.touched.items():
                state = archive.state(slug)
                assert state.revision == len(done)
                held = {(slug, table, key): row for table, rows in state.rows.items() for key, row in rows.items()}
                assert held == {key: row for key, row in self.model.items() if key[0] == slug}

    @rule(which=st.sampled_from([0, 1]), table=st.sampled_from(["tihais", "phrases", "recordings"]))
    def the_index_holds_it_too(self, which: int, table: str) -> None:
        frame = self.archives[which].index(table)
        column = {"tihais": "tihai", "phrases": "phrase", "recordings": "recording"}[table]
        assert sorted(zip(frame["recording"], frame[column], strict=True)) == sorted(
            (slug, key) for slug, held, key in self.model if held == table
        )

    @rule()
    def a_new_reader_sees_the_same(self) -> None:
        fresh = Archive.open(self.folder)
        for slug in self.touched:
            assert fresh.state(slug).rows == self.archives[0].state(slug).rows

    def teardown(self) -> None:
        shutil.rmtree(self.folder)

    @staticmethod
    def _edit(action: str, table: str, number: int, label: str) -> Edit:
        key = f"{table[0]}{number:02d}"
        record: TihaiRecord | PhraseRecord = (
            replace(tihai(key), label=label) if table == "tihais" else replace(phrase(key), role=label)
        )
        if action == "withdraw":
            return withdraw(table, key)
        return add(record) if action == "add" else change(record)

    def _expected(self, slug: str, parent: int, edits: list[Edit]) -> type[LayakoshError] | None:
        rows = [(edit.table, edit.key) for edit in edits]
        if any(row in done for done in self.touched[slug][parent:] for row in rows):
            return ConflictingEdit
        fits = all(((slug, edit.table, edit.key) in self.model) == (edit.action != "add") for edit in edits)
        return None if edits and fits and len(set(rows)) == len(rows) else LayakoshError

    def _apply(self, slug: str, edits: list[Edit]) -> None:
        self.touched[slug].append({(edit.table, edit.key) for edit in edits})
        for edit in edits:
            if edit.record is None:
                del self.model[slug, edit.table, edit.key]
            else:
                self.model[slug, edit.table, edit.key] = edit.record


TestArchiveContract = AnArchiveAndADict.TestCase
TestArchiveContract.settings = settings(max_examples=25, stateful_step_count=25, deadline=None)
