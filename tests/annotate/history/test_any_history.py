"""Whatever two people do, with undos and redos between: nothing is lost, and every state can be had again."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from annotate.archive import Archive
from annotate.errors import CannotTakeBack, LayakoshError, NothingToTakeBack
from annotate.history import ledger
from annotate.history.as_of import carry_out, compare, plan
from annotate.history.changes import edits
from annotate.history.points import Point
from annotate.history.taking_back import can_undo, redo, undo
from annotate.history.timeline import history
from annotate.records import Record, Recording
from annotate.revisions import Edit, add, change, withdraw
from tests.annotate.desk import SLUG, phrase, tihai

Rows = Mapping[str, Mapping[str, Record]]
PEOPLE = ("asha", "bela")

row_edits = st.tuples(st.sampled_from(["tihais", "phrases"]), st.just(1), st.sampled_from(["", *"ab"]))
"""A table, the number of a row, and its new text; few rows and texts, so that people come into each other's way."""
edits_at_once = st.lists(row_edits, min_size=1, max_size=2, unique_by=lambda each: each[:2])
steps = st.one_of(
    st.tuples(st.just("edit"), st.sampled_from(PEOPLE), edits_at_once),
    st.tuples(st.sampled_from(["undo", "redo", "undo everyone's", "redo everyone's"]), st.sampled_from(PEOPLE)),
    st.tuples(st.just("as of"), st.sampled_from(PEOPLE), st.integers(1, 30)),
)


def edit_of(present: Rows, table: str, number: int, text: str) -> Edit:
    """The row withdrawn (no text), changed or added, as it can be."""
    key = f"{table[0]}{number:02d}"
    if not text and key in present[table]:
        return withdraw(table, key)
    record = replace(tihai(key), label=text) if table == "tihais" else replace(phrase(key), role=text)
    return change(record) if key in present[table] else add(record)


def take(archive: Archive, step: tuple) -> None:  # type: ignore[type-arg] # a step is one of several shapes
    what, who = step[0], step[1]
    if what == "edit":
        archive.commit(SLUG, [edit_of(archive.state(SLUG).rows, *each) for each in step[2]], who, "")
    elif what == "as of":
        carry_out(archive, plan(archive, SLUG, Point(number=1 + step[2] % archive.state(SLUG).revision)), who)
    else:
        {"undo": undo, "redo": redo}[what.split()[0]](archive, SLUG, who, everyone="everyone" in what)


def lived(folder: str, done: list[tuple]) -> tuple[Archive, list[Rows]]:  # type: ignore[type-arg]
    """Take steps; return the archive and the rows after every revision (0: none)."""
    archive = Archive.create(Path(folder))
    archive.commit(SLUG, [add(Recording(SLUG, "Evening", raga="desh"))], "maker", "")
    states: list[Rows] = [{table: {} for table in archive.state(SLUG).rows}, archive.state(SLUG).rows]
    for step in done:
        before = archive.state(SLUG)
        try:
            take(archive, step)
        except LayakoshError:
            assert archive.state(SLUG) == before
        else:
            states += [archive.state(SLUG).rows] * (archive.state(SLUG).revision - before.revision)
        assert len(states) == archive.state(SLUG).revision + 1
    return archive, states


many = settings(max_examples=40, deadline=None)


@many
@given(done=st.lists(steps, max_size=25))
def test_undo_of_everything_gives_the_first_state_and_redo_of_everything_the_last(done: list[tuple]) -> None:  # type: ignore[type-arg]
    with tempfile.TemporaryDirectory() as folder:
        archive, states = lived(folder, done)
        undone = [archive.state(SLUG).rows]
        while can_undo(archive, SLUG, None):
            undo(archive, SLUG, "bela", everyone=True)
            undone.append(archive.state(SLUG).rows)
        assert undone[-1] == states[1]
        with pytest.raises(NothingToTakeBack):
            undo(archive, SLUG, "bela", everyone=True)
        for expected in reversed(undone[:-1]):
            redo(archive, SLUG, "asha", everyone=True)
            assert archive.state(SLUG).rows == expected
        assert archive.state(SLUG).rows == states[-1]


@many
@given(done=st.lists(steps, max_size=25))
def test_the_history_replays_to_every_state(done: list[tuple]) -> None:  # type: ignore[type-arg]
    with tempfile.TemporaryDirectory() as folder:
        _, states = lived(folder, done)
        fresh = Archive.open(Path(folder))
        entries = history(fresh, SLUG)
        assert [entry.head.number for entry in entries] == list(range(1, len(states)))
        rows: dict[str, dict[str, Record]] = {table: {} for table in states[0]}
        for entry in entries:
            for each in entry.changes:
                assert rows[each.table].get(each.key) == each.before
                if each.after is None:
                    del rows[each.table][each.key]
                else:
                    rows[each.table][each.key] = each.after
            assert rows == states[entry.head.number] == fresh.ledger(SLUG).state(entry.head.number).rows
        of_rows = [
            (entry.head.number, each)
            for table, keys in rows.items()
            for key in fresh.ledger(SLUG).keys(table) | set(keys)
            for entry in history(fresh, SLUG, table=table, key=key)
            for each in entry.changes
        ]
        assert sorted(of_rows, key=repr) == sorted(
            ((entry.head.number, each) for entry in entries for each in entry.changes), key=repr
        )


@many
@given(done=st.lists(steps, max_size=20), first=st.integers(0, 99), second=st.integers(0, 99))
def test_a_comparison_applied_to_the_first_state_gives_the_second(
    done: list[tuple],  # type: ignore[type-arg]
    first: int,
    second: int,
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        archive, states = lived(folder, done)
        one, other = first % len(states), second % len(states)
        found = compare(archive, SLUG, Point(number=one), Point(number=other))
        rows = {table: dict(held) for table, held in states[one].items()}
        for each in edits(found.changes):
            assert (each.key in rows[each.table]) == (each.action != "add")
            rows[each.table].pop(each.key, None)
            if each.record is not None:
                rows[each.table][each.key] = each.record
        assert rows == states[other]


@many
@given(done=st.lists(steps, max_size=15), numbers=st.lists(st.integers(0, 99), min_size=1, max_size=4))
def test_as_of_any_revision_gives_exactly_that_state(done: list[tuple], numbers: list[int]) -> None:  # type: ignore[type-arg]
    with tempfile.TemporaryDirectory() as folder:
        archive, states = lived(folder, done)
        for each in numbers:
            number = 1 + each % (len(states) - 1)
            carry_out(archive, plan(archive, SLUG, Point(number=number)), "asha")
            assert archive.state(SLUG).rows == Archive.open(Path(folder)).state(SLUG).rows == states[number]


@many
@given(done=st.lists(steps, max_size=25), who=st.sampled_from(PEOPLE))
def test_what_a_person_takes_back_among_others_edits_they_can_bring_back(done: list[tuple], who: str) -> None:  # type: ignore[type-arg]
    with tempfile.TemporaryDirectory() as folder:
        archive, states = lived(folder, done)
        undone = [archive.state(SLUG).rows]
        while step := can_undo(archive, SLUG, who):
            assert who in (step.takes_back.who, step.edit.who)
            try:
                undo(archive, SLUG, who)
            except CannotTakeBack:  # somebody else has changed the row since
                break
            undone.append(archive.state(SLUG).rows)
        for expected in reversed(undone[:-1]):
            redo(archive, SLUG, who)
            assert archive.state(SLUG).rows == expected
        assert archive.state(SLUG).rows == states[-1]


@settings(max_examples=5, deadline=None)
@given(done=st.lists(steps, min_size=20, max_size=40))
def test_with_a_ledger_bound_now_and_again_it_is_the_same(done: list[tuple]) -> None:  # type: ignore[type-arg]
    with pytest.MonkeyPatch.context() as patch, tempfile.TemporaryDirectory() as folder:
        patch.setattr(ledger, "EVERY", 4)
        archive, states = lived(folder, done)
        for held in (archive.ledger(SLUG), Archive.open(Path(folder)).ledger(SLUG)):
            assert [held.state(number).rows for number in range(len(states))] == states
