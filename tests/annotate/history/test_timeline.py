"""The history of a recording and of its rows: who, when, why, before and after."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from annotate.archive import Archive
from annotate.errors import BadAnnotation, NoSuchRecording, NoSuchRow
from annotate.history.taking_back import redo, undo
from annotate.history.timeline import history, row_named
from annotate.marking import move_sam
from annotate.records import Section
from annotate.revisions import add, change, withdraw
from annotate.sections import change_section
from tests.annotate.desk import SLUG, phrase, tihai


def test_a_row_tells_who_changed_what_from_what(archive: Archive) -> None:
    archive.commit(SLUG, [add(phrase())], "bela", "phrase written down")
    archive.commit(SLUG, [change(replace(tihai(), dam=Fraction(1, 2), label="the long one"))], "bela", "dam by ear")
    first, second = history(archive, SLUG, table="tihais", key="t01")
    assert (first.head.number, first.head.who, first.head.why, first.kind) == (2, "asha", "tihai written down", "edit")
    assert (second.head.number, second.head.who, second.head.why) == (4, "bela", "dam by ear")
    assert first.changes[0].before is None
    assert first.changes[0].after == second.changes[0].before == tihai()
    assert second.changes[0].sentence == "tihai 't01' changed: dam 1 -> 1/2; label - -> the long one"


def test_every_kind_of_row_has_its_history(archive: Archive) -> None:
    move_sam(archive, SLUG, 26.0, 26.1, who="bela")
    change_section(archive, SLUG, "alap", kind="jor", who="bela")
    recording = archive.state(SLUG).recording
    archive.commit(SLUG, [change(replace(recording, venue="Hall", musicians=(("tabla", "Devkant"),)))], "asha", "card")
    told = {table: history(archive, SLUG, table=table)[-1].changes[-1].sentence for table in
            ("sams", "sections", "recordings")}  # fmt: skip
    assert told["sams"] == "sam 's03' changed: at 0:26 -> 0:26.1"
    assert told["sections"] == "section 'alap' changed: kind alap -> jor"
    assert told["recordings"] == f"recording '{SLUG}' changed: venue - -> Hall; musicians - -> tabla: Devkant"


def test_a_withdrawn_row_still_tells(archive: Archive) -> None:
    archive.withdraw(SLUG, "tihais", "t01", who="bela")
    last = history(archive, SLUG, table="tihais", key="t01")[-1].changes[0]
    assert (last.action, last.after) == ("withdrawn", None)
    assert last.sentence.startswith("tihai 't01' withdrawn: starts 0:18, 0:21, 0:24; landing 0:26")
    assert row_named(archive.ledger(SLUG), "t01") == ("tihais", "t01")


def test_the_latest_few_are_told_with_what_was_before_them(archive: Archive) -> None:
    for number in range(5):
        archive.commit(SLUG, [change(replace(tihai(), label=f"{number}"))], "asha", "")
    last = history(archive, SLUG, most=2)
    assert [entry.head.number for entry in last] == [6, 7]
    assert last == history(archive, SLUG)[-2:]
    assert last[0].changes[0].field_sentences == ["label 2 -> 3"]


def test_undone_edits_are_marked(archive: Archive) -> None:
    archive.commit(SLUG, [change(replace(tihai(), label="x"))], "asha", "label")
    undo(archive, SLUG, "asha")
    redo(archive, SLUG, "asha")
    told = [(each.head.number, each.kind, each.taken_back_by) for each in history(archive, SLUG)]
    assert told == [(1, "edit", 0), (2, "edit", 0), (3, "edit", 4), (4, "undo", 5), (5, "redo", 0)]


def test_as_json_it_has_columns_before_and_after(archive: Archive) -> None:
    archive.commit(SLUG, [change(replace(tihai(), dam=Fraction(1, 2), landing_s=26.25))], "bela", "")
    (row,) = history(archive, SLUG)[-1].to_json()["rows"]
    assert row["before"] == {"dam": "1/1", "landing_s": 26.0}
    assert row["after"] == {"dam": "1/2", "landing_s": 26.25}


def test_a_row_is_named_by_its_key_and_where_two_share_it_by_its_kind(archive: Archive) -> None:
    archive.commit(SLUG, [add(Section("t01", "talk", 90.0, 95.0)), withdraw("tihais", "t01")], "asha", "")
    held = archive.ledger(SLUG)
    assert row_named(held, "s01") == ("sams", "s01")
    assert row_named(held, SLUG) == ("recordings", SLUG)
    with pytest.raises(BadAnnotation, match="section:t01 or tihai:t01"):
        row_named(held, "t01")
    assert row_named(held, "tihai:t01") == ("tihais", "t01")
    assert row_named(held, "t01", "sections") == ("sections", "t01")


def test_a_row_that_never_was_is_told(archive: Archive) -> None:
    with pytest.raises(NoSuchRow, match=r"no row 't77'. It has alap, gat, s01"):
        row_named(archive.ledger(SLUG), "t77")
    with pytest.raises(NoSuchRecording):
        history(archive, "morning")


def test_nothing_was_done_to_a_table_without_rows(archive: Archive) -> None:
    assert history(archive, SLUG, table="phrases") == []
