"""The ledger holds what the revision files hold, and is never believed against them."""

from __future__ import annotations

from dataclasses import replace

import pyarrow.parquet as pq
import pytest

from annotate import revisions
from annotate.archive import Archive
from annotate.errors import DamagedRevision
from annotate.history import ledger
from annotate.records import PhraseRecord
from annotate.revisions import add, change, path_of, withdraw
from annotate.state import State, empty, replay
from annotate.store.disk import DiskStore
from tests.annotate.desk import SLUG, phrase


@pytest.fixture
def long(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> Archive:
    """41 revisions, a ledger bound every eight of them at most."""
    monkeypatch.setattr(ledger, "EVERY", 8)
    archive.commit(SLUG, [add(phrase()), add(phrase("p02"))], "bela", "two phrases")
    for number in range(4, 42):
        row = archive.state(SLUG).rows["phrases"]["p01"]
        assert isinstance(row, PhraseRecord)
        archive.commit(SLUG, [change(replace(row, role=f"role {number}"))], "asha" if number % 2 else "bela", "")
    return archive


def read_numbers(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """The revision files that a new reader opens for the ledger."""
    fresh = Archive.open(archive.path)
    fresh.state(SLUG)
    read: list[int] = []
    real = revisions.read

    def reading(folder: object, number: int) -> revisions.Revision:
        read.append(number)
        return real(folder, number)  # type: ignore[arg-type]

    with monkeypatch.context() as patch:
        patch.setattr(revisions, "read", reading)
        fresh.ledger(SLUG)
    return sorted(read)


def files(archive: Archive) -> list[str]:
    return sorted(path.name for path in (archive.path / "recordings" / SLUG / "ledger").iterdir())


def test_it_holds_every_revision_as_its_file_does(long: Archive) -> None:
    assert Archive.open(long.path).ledger(SLUG).revisions() == long.history(SLUG)


def test_it_knows_the_state_as_of_every_revision(long: Archive) -> None:
    written, held = long.history(SLUG), long.ledger(SLUG)
    state: State = empty(SLUG)
    for revision in written:
        state = replay(state, [revision])
        assert held.state(revision.number) == state
    assert held.state(0).rows == empty(SLUG).rows


def test_it_tells_who_when_and_why_once_for_a_revision_of_many_rows(long: Archive) -> None:
    heads = long.ledger(SLUG).heads
    assert [head.number for head in heads] == list(range(1, 42))
    assert (heads[2].who, heads[2].why, heads[2].undoes) == ("bela", "two phrases", 0)


def test_what_was_done_to_one_row_is_found_among_thousands(long: Archive) -> None:
    held = long.ledger(SLUG)
    assert [each.number for each in held.revisions(table="phrases", key="p02")] == [3]
    assert [each.number for each in held.revisions(table="phrases", key="p01", most=2)] == [40, 41]
    assert [edit.key for edit in held.revisions(2, 3, table="phrases", key="p02")[0].edits] == ["p02"]
    assert held.revisions(table="phrases", key="p77") == []


def test_it_tells_which_revisions_touched_some_rows_since_another(long: Archive) -> None:
    one, other = ("phrases", "p01"), ("tihais", "t01")
    assert long.ledger(SLUG).touching([one, other], 38) == {one: [39, 40, 41], other: []}
    assert long.ledger(SLUG).touching([("phrases", "p02"), other], 0) == {("phrases", "p02"): [3], other: [2]}


def test_keys_of_withdrawn_rows_are_remembered(long: Archive) -> None:
    long.commit(SLUG, [withdraw("phrases", "p02")], "asha", "")
    assert long.ledger(SLUG).keys("phrases") == {"p01", "p02"}


def test_a_reader_opens_the_ledger_and_the_few_revisions_after_it(
    long: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    (name,) = files(long)
    bound = int(name[:8])
    assert 41 - bound < 8 + 4
    assert read_numbers(long, monkeypatch) == list(range(bound + 1, 42))


def test_one_that_is_missing_is_made_again(long: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in files(long):
        (long.path / "recordings" / SLUG / "ledger" / name).unlink()
    assert read_numbers(long, monkeypatch) == list(range(1, 42))
    assert read_numbers(long, monkeypatch) == []


def test_every_byte_of_it_counts(long: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    (name,) = files(long)
    path = long.path / "recordings" / SLUG / "ledger" / name
    content = path.read_bytes()
    for position in range(0, len(content), len(content) // 7):
        path.write_bytes(content[:position] + bytes([content[position] ^ 1]) + content[position + 1 :])
        assert Archive.open(long.path).ledger(SLUG).revisions() == long.history(SLUG)
    path.write_bytes(content[:100])
    assert Archive.open(long.path).ledger(SLUG).revisions() == long.history(SLUG)


def test_one_of_another_history_is_not_believed(long: Archive) -> None:
    folder = long.path / "recordings" / SLUG / "revisions"
    bound = int(files(long)[0][:8])
    other = replace(revisions.read(folder, bound), who="somebody else")
    path_of(folder, bound).unlink()
    revisions.write(folder, SLUG, other)
    assert Archive.open(long.path).ledger(SLUG).heads[bound - 1].who == "somebody else"


def test_one_that_goes_further_than_the_revisions_is_not_believed(long: Archive) -> None:
    """The folder was put back from a backup."""
    folder = long.path / "recordings" / SLUG / "revisions"
    for number in range(5, 42):
        path_of(folder, number).unlink()
    assert long.ledger(SLUG).latest == 4
    assert Archive.open(long.path).ledger(SLUG).latest == 4


def test_a_damaged_revision_that_is_not_in_it_is_told(long: Archive) -> None:
    for name in files(long):
        (long.path / "recordings" / SLUG / "ledger" / name).unlink()
    path_of(long.path / "recordings" / SLUG / "revisions", 5).write_bytes(b"")
    with pytest.raises(DamagedRevision, match=r"00000005\.parquet"):
        Archive.open(long.path).ledger(SLUG)


def test_an_edit_is_written_although_the_ledger_cannot_be(long: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_told: object, **_more: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(DiskStore, "replace", full)
    for number in range(10):
        assert long.commit(SLUG, [add(phrase(f"p{number + 10}"))], "asha", "") == 42 + number
    assert Archive.open(long.path).ledger(SLUG).latest == 51


def test_an_edit_is_written_although_an_older_revision_is_damaged(long: Archive) -> None:
    path_of(long.path / "recordings" / SLUG / "revisions", 41).write_bytes(b"")
    assert long.commit(SLUG, [add(phrase("p50"))], "asha", "") == 42
    assert long.commit(SLUG, [add(phrase("p51"))], "asha", "") == 43
    assert long.commit(SLUG, [add(phrase("p52"))], "asha", "") == 44


def test_any_parquet_reader_can_read_it(long: Archive) -> None:
    table = pq.read_table(long.path / "recordings" / SLUG / "ledger" / files(long)[0])
    assert table.column_names[:6] == ["revision", "parent", "who", "when", "why", "undoes"]


def test_it_is_the_same_in_an_object_store(place: str, monkeypatch: pytest.MonkeyPatch) -> None:
    from annotate.records import Recording

    monkeypatch.setattr(ledger, "EVERY", 8)
    archive = Archive.create(place)
    archive.commit(SLUG, [add(Recording(SLUG, "Evening"))], "asha", "made")
    for number in range(20):
        archive.commit(SLUG, [add(phrase(f"p{number:02d}"))], "asha", "")
    fresh = Archive.open(place)
    assert fresh.ledger(SLUG).revisions() == archive.history(SLUG)
    assert len(archive.store.files(f"recordings/{SLUG}/ledger")) == 1
