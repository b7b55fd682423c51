"""A whole recording withdrawn and brought back: gone from everything at once, and nothing of it lost."""

from __future__ import annotations

import dataclasses
import hashlib
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
import soundfile

from annotate.archive import Archive
from annotate.backup.restoring import restore_backup
from annotate.backup.writing import write_backup
from annotate.check.findings import damage_in
from annotate.check.whole import check
from annotate.errors import (
    AlreadyTakenIn,
    BadAnnotation,
    BadMoment,
    NoSuchRecording,
    NothingToTakeBack,
    NotWithdrawn,
    WithdrawnRecording,
)
from annotate.history.as_of import plan, plans_of_all
from annotate.history.points import Point
from annotate.history.taking_back import redo, take_back, undo
from annotate.history.timeline import history
from annotate.intake_many import SentSound, take_in_sent
from annotate.intake_source import Source, refuse_known
from annotate.overview import overviews
from annotate.records import Recording, SourceFile
from annotate.revisions import add, change, withdraw
from annotate.schema import INDEX_TABLES
from annotate.search.phrases import PhraseSearch, find_phrases
from annotate.statistics.usage import phrase_usage
from annotate.store.disk import DiskStore
from annotate.withdrawing import bring_back, withdraw_recording, withdrawn
from ingest.listen import Sound
from tests.annotate.desk import SLUG, phrase, tihai

FILE = SourceFile("side a.flac", "whole", 0.0, "a" * 64)


@pytest.fixture
def full(archive: Archive) -> Archive:
    """An archive with annotations on its recording, and another recording beside it."""
    archive.commit(SLUG, [add(tihai()), add(phrase())], "asha", "written down")
    archive.commit("morning", [add(Recording("morning", "Morning", raga="desh"))], "asha", "made")
    return archive


def test_a_withdrawn_recording_is_gone_from_lists_index_search_and_statistics_at_once(full: Archive) -> None:
    for table in INDEX_TABLES:
        full.index(table)
    withdraw_recording(full, SLUG, "asha")
    assert full.slugs() == ["morning"]
    assert SLUG not in full
    assert [each.recording.slug for each in overviews(full)] == ["morning"]
    for table in INDEX_TABLES:
        assert SLUG not in set(full.index(table)["recording"])
    assert phrase_usage(full, "desh").empty
    assert find_phrases(full, PhraseSearch(swaras="R m P")).empty
    with pytest.raises(WithdrawnRecording, match="layakosh bring-back evening"):
        full.state(SLUG)
    with pytest.raises(NoSuchRecording):
        full.grid(SLUG)


def test_a_recording_brought_back_is_whole_with_its_annotations_and_its_history(full: Archive) -> None:
    before = full.state(SLUG)
    withdraw_recording(full, SLUG, "asha")
    (there,) = withdrawn(full)
    assert (there.slug, there.who, there.recording) == (SLUG, "asha", before.recording)
    assert there.kept == "11 sams, 1 tihai, 1 phrase"
    assert bring_back(full, SLUG, "bela") == before.revision + 2
    assert full.state(SLUG).rows == before.rows
    assert full.slugs() == [SLUG, "morning"]
    assert len(full.index("tihais")) == 1
    assert withdrawn(full) == []
    assert [(each.head.who, each.head.why) for each in history(full, SLUG)[-2:]] == [
        ("asha", "recording withdrawn"),
        ("bela", "recording brought back"),
    ]
    assert Archive.open(full.path).state(SLUG).rows == before.rows


def test_the_history_of_a_withdrawn_recording_says_who_withdrew_it_and_when(full: Archive) -> None:
    withdraw_recording(full, SLUG, "asha")
    last = history(full, SLUG)[-1]
    assert last.head.who == "asha"
    assert (datetime.now(UTC) - last.head.when).total_seconds() < 60
    assert last.changes[0].sentence.startswith("recording 'evening' withdrawn: title Evening")


def test_nothing_is_written_to_a_withdrawn_recording_and_it_is_said_how_to_bring_it_back(full: Archive) -> None:
    state = full.state(SLUG)
    withdraw_recording(full, SLUG, "asha")
    for edit in (add(phrase("p02", 30.0, 31.0)), add(state.recording), change(state.recording)):
        with pytest.raises(WithdrawnRecording, match="withdrawn by asha"):
            full.commit(SLUG, [edit], "bela", "", parent=state.revision)
    with pytest.raises(WithdrawnRecording):
        undo(full, SLUG, "asha")
    with pytest.raises(WithdrawnRecording):
        plan(full, SLUG, Point(number=1))
    with pytest.raises(WithdrawnRecording):
        withdraw_recording(full, SLUG, "bela")
    assert full.state_or_withdrawn(SLUG).revision == state.revision + 1


def test_the_recording_is_withdrawn_by_itself_and_not_among_other_edits(full: Archive) -> None:
    with pytest.raises(BadAnnotation, match="layakosh withdraw evening"):
        full.commit(SLUG, [withdraw("recordings", SLUG), withdraw("tihais", "t01")], "a", "")


def test_another_process_with_the_archive_open_sees_it_at_once_both_ways(full: Archive) -> None:
    other = Archive.open(full.path)
    state = other.state(SLUG)
    assert other.slugs() == [SLUG, "morning"]
    other.index("tihais")
    withdraw_recording(full, SLUG, "asha")
    assert other.slugs() == ["morning"]
    assert other.index("tihais").empty
    with pytest.raises(WithdrawnRecording):
        other.commit(SLUG, [withdraw("tihais", "t01")], "bela", "", parent=state.revision)
    bring_back(other, SLUG, "bela")
    assert full.slugs() == [SLUG, "morning"]
    assert full.state(SLUG).rows == state.rows


def test_only_what_is_withdrawn_is_brought_back(full: Archive) -> None:
    with pytest.raises(NotWithdrawn, match="lists the recordings that are"):
        bring_back(full, SLUG, "asha")
    with pytest.raises(NoSuchRecording):
        bring_back(full, "no-such", "asha")


def test_undo_and_redo_pass_over_a_withdrawal_and_do_not_withdraw_again(full: Archive) -> None:
    withdraw_recording(full, SLUG, "asha")
    bring_back(full, SLUG, "asha")
    with pytest.raises(NothingToTakeBack):
        redo(full, SLUG, "asha")
    undone = undo(full, SLUG, "asha")
    assert undone.step.edit.why == "written down"
    assert full.state(SLUG).tihais == ()
    redo(full, SLUG, "asha")
    assert len(full.state(SLUG).tihais) == 1


def test_the_withdrawal_taken_back_by_its_number_is_the_recording_brought_back(full: Archive) -> None:
    rows = full.state(SLUG).rows
    number = withdraw_recording(full, SLUG, "asha")
    take_back(full, SLUG, number, "bela")
    assert full.state(SLUG).rows == rows


def test_as_of_a_time_at_which_it_was_withdrawn_is_refused_and_passed_over(archive: Archive) -> None:
    number = withdraw_recording(archive, SLUG, "asha")
    bring_back(archive, SLUG, "asha")
    with pytest.raises(BadMoment, match="was withdrawn then"):
        plan(archive, SLUG, Point(number=number))
    assert plans_of_all(archive, Point(number=number)) == ([], [SLUG])


def test_a_check_finds_nothing_wrong_with_a_withdrawn_recording(full: Archive) -> None:
    withdraw_recording(full, SLUG, "asha")
    assert damage_in(check(full.store)) == []
    full.index("tihais")
    assert list(check(full.store)) == []


def test_a_check_still_finds_damage_in_a_withdrawn_recording(full: Archive) -> None:
    state = full.state(SLUG)
    gone = dataclasses.replace(state.recording, audio_path=f"recordings/{SLUG}/sound/gone.opus")
    full.commit(SLUG, [change(gone)], "a", "")
    withdraw_recording(full, SLUG, "asha")
    assert [each.kind for each in damage_in(check(full.store))] == ["sound missing"]


def test_a_backup_holds_what_is_withdrawn_and_a_restored_archive_brings_it_back(full: Archive, tmp_path: Path) -> None:
    rows = full.state(SLUG).rows
    withdraw_recording(full, SLUG, "asha")
    write_backup(full.store, tmp_path / "kept.zip")
    restore_backup(tmp_path / "kept.zip", DiskStore(tmp_path / "again"))
    again = Archive.open(tmp_path / "again")
    assert again.slugs() == ["morning"]
    assert [each.slug for each in withdrawn(again)] == [SLUG]
    bring_back(again, SLUG, "asha")
    assert again.state(SLUG).rows == rows


def test_a_snapshot_and_a_ledger_carry_a_withdrawal_along(full: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    from annotate import snapshots
    from annotate.history import ledger

    monkeypatch.setattr(snapshots, "EVERY", 3)
    monkeypatch.setattr(ledger, "EVERY", 2)
    rows = full.state(SLUG).rows
    assert withdraw_recording(full, SLUG, "asha") == 3
    again = Archive.open(full.path)
    assert (full.path / "recordings" / SLUG / "snapshots" / "00000003.parquet").exists()
    assert again.state_or_withdrawn(SLUG).withdrawn
    bring_back(again, SLUG, "asha")
    assert Archive.open(full.path).state(SLUG).rows == rows
    assert damage_in(check(full.store)) == []


@pytest.mark.parametrize("is_back", [False, True])
def test_the_same_sound_again_is_told_to_be_withdrawn_and_how_to_bring_it_back(full: Archive, is_back: bool) -> None:
    recording = dataclasses.replace(full.state(SLUG).recording, audio_sha256="a" * 64, files=(FILE,))
    full.commit(SLUG, [change(recording)], "a", "")
    withdraw_recording(full, SLUG, "asha")
    if is_back:
        bring_back(full, SLUG, "asha")
    source = Source(Sound((Path("side a.flac"),)), (FILE,), "a" * 64, 100.0)
    said = "already in the archive as 'evening'" if is_back else "was withdrawn by asha .*layakosh bring-back evening"
    with pytest.raises(AlreadyTakenIn, match=said):
        refuse_known(full, source)


def test_a_file_sent_again_is_told_to_be_withdrawn_and_leads_to_no_page(full: Archive, tmp_path: Path) -> None:
    tape = tmp_path / "tape.wav"
    soundfile.write(tape, np.zeros(8000, np.float32), 8000)
    digest = hashlib.sha256(tape.read_bytes()).hexdigest()
    full.commit(SLUG, [change(dataclasses.replace(full.state(SLUG).recording, audio_sha256=digest))], "a", "")
    how = {"raga": "desh", "tala": "teental"}
    sent = [SentSound(str(tape), "tape.wav")]
    assert take_in_sent(str(full.path), sent, how, lambda _step: None).slug == SLUG
    withdraw_recording(full, SLUG, "asha")
    came = take_in_sent(str(full.path), sent, how, lambda _step: None)
    assert came.slug == ""
    assert "layakosh bring-back evening, or Withdrawn on the page Concerts" in came.known
