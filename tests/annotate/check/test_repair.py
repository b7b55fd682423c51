"""Mending an archive: what can be saved is saved, nothing is deleted, and afterwards it is sound."""

from __future__ import annotations

import os
import random
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from annotate import evidence_store, revisions, snapshots
from annotate.archive import Archive
from annotate.check.findings import damage_in
from annotate.check.repairing import repair
from annotate.check.whole import check
from annotate.errors import CannotWrite, DamagedRevision, OutOfReach
from annotate.history import ledger
from annotate.records import Recording
from annotate.revisions import Revision, add, change
from annotate.schema import INDEX_TABLES
from annotate.store.base import Store
from annotate.store.disk import DiskStore
from layakosh import main
from tests.annotate.backup.test_backup import content_of, fill
from tests.annotate.check.test_check import HOME, bucket, endpoint, flip, long, place
from tests.annotate.desk import SLUG, make_evidence, phrase, tihai

__all__ = ["bucket", "endpoint", "long", "place"]


def mend(store: Store) -> list[str]:
    """Check, mend, and see that all is well again; returns what was done."""
    done = repair(store, check(store))
    assert damage_in(check(store)) == []
    return done


def bytes_of(archive: Archive) -> set[bytes]:
    return {path.read_bytes() for path in archive.path.rglob("*") if path.is_file()}


def revision_path(archive: Archive, number: int) -> Path:
    return revisions.path_of(archive.path / HOME / "revisions", number)


def test_nothing_is_done_to_a_sound_archive(long: Archive) -> None:
    before = content_of(long.store, "snapshots", "ledger", "index")
    assert mend(long.store) == []
    assert content_of(long.store, "snapshots", "ledger", "index") == before


def test_a_damaged_revision_that_the_ledger_repeats_comes_back_whole(long: Archive) -> None:
    state, history = long.state(SLUG), long.history(SLUG)
    flip(revision_path(long, 5), 60)
    damaged = revision_path(long, 5).read_bytes()
    done = mend(long.store)
    again = Archive.open(long.path)
    assert again.state(SLUG) == state
    assert again.history(SLUG) == history
    assert "moved to set-aside/" in done[0]
    assert damaged in bytes_of(long)


def test_without_a_ledger_what_it_did_follows_from_a_later_snapshot(long: Archive) -> None:
    state = long.state(SLUG)
    shutil.rmtree(long.path / HOME / "ledger")
    shutil.rmtree(long.path / "index")
    revision_path(long, 5).unlink()
    mend(long.store)
    again = Archive.open(long.path)
    assert again.state(SLUG) == state
    assert [each.who for each in again.history(SLUG)][4] == "layakosh check"
    assert "snapshot of revision 8" in again.history(SLUG)[4].why
    assert again.history(SLUG)[4].edits == (add(phrase("p03", 23.0, 24.0)),)


def test_without_snapshots_it_follows_from_the_index_also_the_recording_itself(archive: Archive) -> None:
    archive.commit(SLUG, [add(tihai()), add(phrase())], "asha", "")
    for table in INDEX_TABLES:
        archive.index(table)
    state = archive.state(SLUG)
    revision_path(archive, 1).write_bytes(b"")
    mend(archive.store)
    again = Archive.open(archive.path).state(SLUG)
    assert again.rows == state.rows
    revision_path(archive, 2).unlink()  # the latest: only the index knows that there was one
    mend(archive.store)
    assert Archive.open(archive.path).state(SLUG).rows == state.rows


def test_where_nothing_else_tells_of_it_the_later_edits_count_and_the_loss_is_told(archive: Archive) -> None:
    archive.commit(SLUG, [add(tihai()), add(phrase())], "asha", "")
    archive.commit(SLUG, [change(replace(tihai(), label="later"))], "bela", "")
    archive.commit(SLUG, [add(phrase("p02"))], "bela", "")
    revision_path(archive, 2).unlink()
    (finding,) = check(archive.store)
    assert "This edit is lost" in finding.mend
    assert any("what it did is lost" in line for line in mend(archive.store))
    state = Archive.open(archive.path).state(SLUG)
    assert state.revision == 4
    assert [each.label for each in state.tihais] == ["later"]
    assert [each.phrase for each in state.phrases] == ["p02"]
    assert archive.commit(SLUG, [add(phrase("p03"))], "a", "") == 5
    said = CliRunner().invoke(main, ["history", SLUG, "--archive", str(archive.path)])
    assert said.exit_code == 0, said.output
    assert "later" in said.output or "bela" in said.output


def test_of_a_recording_whose_first_revision_is_lost_a_stand_in_is_made(archive: Archive) -> None:
    archive.commit(SLUG, [add(phrase())], "asha", "")
    revision_path(archive, 1).unlink()
    with pytest.raises(DamagedRevision):
        Archive.open(archive.path).state(SLUG)
    mend(archive.store)
    state = Archive.open(archive.path).state(SLUG)
    assert state.recording.title == "evening"
    assert "stands in" in state.recording.notes
    assert len(state.phrases) == 1


def test_a_whole_copy_under_another_name_takes_the_lost_ones_place(long: Archive) -> None:
    shutil.rmtree(long.path / HOME / "ledger")
    history = long.history(SLUG)
    revision_path(long, 6).rename(long.path / HOME / "revisions" / "6 (copy).parquet")
    mend(long.store)
    assert Archive.open(long.path).history(SLUG) == history
    shutil.copy(revision_path(long, 4), revision_path(long, 7))
    shutil.copy(revision_path(long, 9), revision_path(long, 4))  # 4 is to be had from 7, and 7 from the snapshot
    mend(long.store)
    again = Archive.open(long.path)
    assert again.state(SLUG) == long.state(SLUG)
    assert again.history(SLUG)[3] == history[3]


def test_a_second_revision_of_a_number_is_moved_aside_and_not_lost(long: Archive) -> None:
    folder = long.path / HOME / "revisions"
    other = Revision(6, 5, "bela", revisions.read(folder, 6).when, "on the train", (add(phrase("train")),))
    content = revisions.to_bytes(SLUG, other)
    (folder / "00000006 (copy).parquet").write_bytes(content)
    mend(long.store)
    assert content in bytes_of(long)
    assert Archive.open(long.path).state(SLUG) == long.state(SLUG)


@pytest.mark.parametrize("name", ["revisions/99999999.parquet", "snapshots/99999999.parquet"])
@pytest.mark.parametrize("whole", [True, False])
def test_a_file_numbered_far_beyond_the_others_does_not_call_for_millions_of_revisions(
    long: Archive, name: str, whole: bool
) -> None:
    state = long.state(SLUG)
    far = Revision(99_999_999, 99_999_998, "a", revisions.read(long.path / HOME / "revisions", 6).when, "", ())
    (long.path / HOME / name).write_bytes(revisions.to_bytes(SLUG, far) if whole else b"PAR1")
    if name.startswith("revisions"):
        mend(long.store)
    assert damage_in(check(long.store)) == []
    assert Archive.open(long.path).state(SLUG) == state


def test_derived_files_are_moved_aside_and_made_again(long: Archive) -> None:
    state = long.state(SLUG)
    damaged = [
        long.path / HOME / "snapshots" / "00000016.parquet",
        next((long.path / HOME / "ledger").iterdir()),
        long.path / "index" / "phrases" / "0-of-1.parquet",
    ]
    for path in damaged:
        path.write_bytes(path.read_bytes()[:-200])
    contents = [path.read_bytes() for path in damaged]
    done = mend(long.store)
    assert set(contents) <= bytes_of(long)
    assert "index/phrases: made again" in done
    assert Archive.open(long.path).state(SLUG) == state
    assert snapshots.numbers(long._place(SLUG))[-1] == 20
    assert ledger.bound(long._place(SLUG)) == 20


def test_a_damaged_card_is_written_anew(long: Archive) -> None:
    (long.path / "archive.toml").write_bytes(b"\xff")
    mend(long.store)
    assert Archive.open(long.path).slugs() == [SLUG]
    assert b"\xff" in bytes_of(long)


def test_strays_are_removed(archive: Archive) -> None:
    stray = archive.path / HOME / "revisions" / ".layakosh-tmp-1-a"
    stray.write_bytes(b"half")
    os.utime(stray, (1, 1))
    mend(archive.store)
    assert not stray.exists()


def test_it_is_mended_in_an_object_store_just_so(place: str, tmp_path: Path) -> None:
    archive = fill(place, tmp_path)
    state = archive.state(SLUG)
    store = archive.store
    content = store.read(f"{HOME}/revisions/00000002.parquet")
    store.replace(f"{HOME}/revisions/00000002.parquet", content[:300])
    evidence = store.read(f"{HOME}/evidence/chroma.parquet")
    store.replace(f"{HOME}/evidence/chroma.parquet", evidence[:-50])
    store.replace("index/matras/0-of-1.parquet", b"PAR1")
    found = [finding.kind for finding in damage_in(check(store))]
    assert found == ["revision damaged", "evidence damaged", "index damaged"]
    mend(store)
    again = Archive.open(place)
    assert again.state(SLUG).rows == state.rows  # the index told of the other tables
    aside = [entry.name for entry in store.walk("set-aside")]
    assert len(aside) == 1 + 1 + 1 + len(INDEX_TABLES)  # aside already, revision, evidence, the index


def test_a_mend_that_cannot_be_written_is_told_and_nothing_made_worse(
    long: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    flip(revision_path(long, 5), 60)
    before = content_of(long.store)

    def full(*_told: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("annotate.check.repairing.make_folders", full)
    with pytest.raises(CannotWrite, match="make room"):
        repair(long.store, check(long.store))
    assert content_of(long.store) == before


def test_a_mend_that_was_broken_off_is_gone_on_with(long: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    state = long.state(SLUG)
    for number in (5, 6, 7):
        flip(revision_path(long, number), 60)
    real, calls = DiskStore.create_exclusively, []

    def stops(store: DiskStore, name: str, content: bytes) -> None:
        calls.append(name)
        if len(calls) == 2:
            raise OSError(28, "No space left on device")
        real(store, name, content)

    monkeypatch.setattr(DiskStore, "create_exclusively", stops)
    with pytest.raises(CannotWrite):
        repair(long.store, check(long.store))
    monkeypatch.undo()
    mend(long.store)
    assert Archive.open(long.path).state(SLUG) == state


@pytest.mark.parametrize("error", [OutOfReach("no answer"), PermissionError(13, "Permission denied")])
@pytest.mark.parametrize("what", ["read", "open"])
def test_a_store_that_does_not_answer_is_not_taken_for_a_damaged_one(
    long: Archive, monkeypatch: pytest.MonkeyPatch, error: OSError, what: str
) -> None:
    evidence_store.save(long.evidence_folder(SLUG), make_evidence(10.0))

    def out_of_reach(*_told: object) -> None:
        raise error

    monkeypatch.setattr(DiskStore, what, out_of_reach)
    with pytest.raises(type(error)):
        list(check(long.store))


@pytest.mark.parametrize("seed", range(12))
def test_whatever_was_damaged_it_is_sound_afterwards_and_no_whole_edit_is_lost(
    long: Archive, monkeypatch: pytest.MonkeyPatch, seed: int
) -> None:
    chance = random.Random(seed)
    history = long.history(SLUG)
    long.commit("morning", [add(Recording("morning", "Morning"))], "a", "")
    files = sorted(path for path in long.path.rglob("*") if path.is_file() and path.name != "archive.toml")
    lost = set()
    for path in chance.sample(files, chance.randint(1, len(files) // 3)):
        content = path.read_bytes()
        match chance.choice(["gone", "short", "empty", "other"]):
            case "gone":
                path.unlink()
            case "short":
                path.write_bytes(content[: chance.randrange(len(content))])
            case "empty":
                path.write_bytes(b"")
            case "other":
                path.write_bytes(chance.choice([each for each in files if each.exists()]).read_bytes())
        if path.parent.name == "revisions":
            lost.add(int(path.stem))
    mend(long.store)
    again = Archive.open(long.path)
    kept = again.history(SLUG)
    for revision in history:
        if revision.number not in lost:
            assert kept[revision.number - 1] == revision
    assert again.commit(SLUG, [add(phrase("after"))], "a", "") == len(kept) + 1
    for table in INDEX_TABLES:
        again.index(table)
