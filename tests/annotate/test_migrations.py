"""An archive that the code of an older schema wrote: opened, read, edited, checked; its files are never changed."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import UTC, date, datetime
from fractions import Fraction
from pathlib import Path

import pytest

from annotate.archive import Archive
from annotate.migrations import STEPS, to_present
from annotate.records import PhraseRecord, TihaiRecord
from annotate.revisions import add, change
from annotate.schema import ANNOTATION_TABLES, INDEX_TABLES, SCHEMA_VERSION, annotation_columns
from annotate.verify import verify_recording
from tests.annotate.desk import fingerprint

OLD = Path(__file__).parents[1] / "data" / "archive_of_schema_1"
WHEN = datetime(2025, 12, 13, 20, 15, tzinfo=UTC)
SLUG = "evening-desh"


@pytest.fixture
def old(tmp_path: Path) -> Archive:
    """A copy of the archive that the code of schema 1 wrote."""
    return Archive.open(shutil.copytree(OLD, tmp_path / "old"))


def test_the_kept_archive_is_of_schema_1() -> None:
    assert (OLD / "archive.toml").read_text().splitlines()[-1] == "schema = 1"
    assert SCHEMA_VERSION > 1


def test_what_was_written_by_schema_1_is_read_as_it_was_meant(old: Archive) -> None:
    assert old.slugs() == [SLUG, "morning"]
    state = old.state(SLUG)
    assert state.revision == 5
    assert state.recording.title == "Evening Desh"
    assert state.recording.performed_on == date(2025, 12, 13)
    assert state.recording.musicians == (("mandolin", "Asha Devkant"), ("tabla", "Devkant Rao"))
    assert state.recording.files == ()
    assert [(each.section, each.kind, each.tala) for each in state.sections] == [
        ("alap", "alap", ""),
        ("gat", "gat", "teental"),
    ]
    assert [each.sam_s for each in state.marked_sams] == [10.0 + 8.0 * cycle for cycle in range(11)]
    assert state.marked_sams[0].cycle == 1
    assert state.tihais == (
        TihaiRecord(
            "t01",
            (18.0, 21.0, 24.0),
            26.04,
            tala="teental",
            start=Fraction(1),
            palla="S R G m P",
            dam=Fraction(1),
            played_by="mandolin",
            status="confirmed",
            who="asha",
            at=WHEN,
        ),
    )
    assert state.phrases == (PhraseRecord("p01", 30.0, 32.0, "R m P", "mukhra", "bela", WHEN),)
    assert state.next_keys("phrases", 1) == ["p03"]


def test_its_history_names_who_did_what_in_every_revision(old: Archive) -> None:
    history = old.history(SLUG)
    assert [each.who for each in history] == ["asha", "asha", "bela", "bela", "asha"]
    assert [[edit.action for edit in each.edits] for each in history[1:]] == [
        ["add"],
        ["add", "add"],
        ["change"],
        ["withdraw"],
    ]


def test_it_is_edited_on_without_a_change_to_what_was_there(old: Archive) -> None:
    before = fingerprint(old)
    tihai = old.state(SLUG).tihai("t01")
    assert (
        old.commit(SLUG, [change(replace(tihai, label="again")), add(PhraseRecord("p03", 40, 41, "S"))], "a", "") == 6
    )
    after = fingerprint(old)
    assert {name: after[name] for name in before} == before
    assert Archive.open(old.path).state(SLUG).tihai("t01").label == "again"


def test_its_verdicts_and_its_index_are_made_by_the_present_code(old: Archive) -> None:
    (verdict,) = verify_recording(old, SLUG)
    assert verdict.verdict == "lands"
    assert verdict.landing_dev_ms == pytest.approx(40, abs=1e-6)
    for table in INDEX_TABLES:
        old.index(table)
    assert list(old.index("tihais")["verdict"]) == ["lands"]
    assert not list((old.path / "index").glob("*.parquet"))  # the form that the index had then


def test_every_step_up_to_the_present_schema_is_there() -> None:
    assert sorted(STEPS) == list(range(1, SCHEMA_VERSION))
    for table in ANNOTATION_TABLES:
        row = dict.fromkeys(annotation_columns(table))
        row.pop("files", None)
        assert set(to_present(table, row, 1)) == set(annotation_columns(table))


@pytest.mark.parametrize("schema", [0, -1, -(10**12)])
def test_a_schema_that_never_was_is_refused_at_once(schema: int) -> None:
    with pytest.raises(LookupError):
        to_present("phrases", {}, schema)
