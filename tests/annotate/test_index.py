"""The index: derived, brought up to date by its readers, for any Parquet reader."""

from __future__ import annotations

import shutil
from dataclasses import replace

import pandas as pd
import pyarrow.parquet as pq
import pytest

from annotate import index
from annotate.archive import Archive
from annotate.records import Recording
from annotate.revisions import add, change
from annotate.schema import INDEX_TABLES, index_schema
from tests.annotate.desk import SAMS_S, SLUG, at, phrase, tihai


@pytest.fixture
def written(archive: Archive) -> Archive:
    archive.commit(SLUG, [add(tihai(dev_s=0.03)), add(phrase("p01", at(3, 9), at(3, 13)))], "asha", "")
    archive.commit("morning", [add(Recording("morning", "Morning", musicians=(("tabla", "Devkant"),)))], "asha", "")
    return archive


@pytest.mark.parametrize("table", INDEX_TABLES)
def test_every_table_has_the_columns_of_its_schema(written: Archive, table: str) -> None:
    frame = written.index(table)
    assert list(frame.columns) == index_schema(table).names
    on_disk = pq.read_table(written.path / "index" / table)
    assert on_disk.schema.equals(index_schema(table))
    pd.testing.assert_frame_equal(on_disk.to_pandas(), frame)


def test_the_tihais_carry_their_verdict_and_floats_beside_the_fractions(written: Archive) -> None:
    (row,) = written.index("tihais").to_dict("records")
    assert (row["start"], row["start_matras"], row["dam"], row["dam_matras"]) == ("1/1", 1.0, "1/1", 1.0)
    assert (row["verdict"], row["paper_lands"], row["paper_shortfall"]) == ("lands", True, "0/1")
    assert row["landing_dev_ms"] == pytest.approx(30)


def test_the_phrases_carry_their_place_in_the_cycle(written: Archive) -> None:
    (row,) = written.index("phrases").to_dict("records")
    assert (row["symbols"], row["tala"], row["cycle"], row["matra"]) == ("R m P", "teental", 3, pytest.approx(9))


def test_the_sams_tell_which_were_marked(written: Archive) -> None:
    frame = written.index("sams")
    assert frame["sam_s"].tolist() == list(SAMS_S)
    assert set(frame["source"]) == {"marked"}
    assert frame["sam"].tolist()[0] == "s01"


def test_only_recordings_with_something_unseen_are_read_again(
    written: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    for table in INDEX_TABLES:
        written.index(table)
    read: list[tuple[str, str]] = []
    rows_of = index.rows_of

    def counting(table: str, state: object, grid_of: object) -> object:
        read.append((table, state.slug))  # type: ignore[attr-defined]
        return rows_of(table, state, grid_of)  # type: ignore[arg-type]

    monkeypatch.setattr(index, "rows_of", counting)
    Archive.open(written.path).index("phrases")
    written.index("phrases")
    assert read == []
    written.commit("morning", [add(phrase())], "a", "")
    assert len(written.index("phrases")) == 2
    assert read == [("phrases", "morning")]


def test_the_index_is_made_again_when_it_is_lost_or_damaged(written: Archive) -> None:
    before = {table: written.index(table) for table in INDEX_TABLES}
    (written.path / "index" / "tihais" / "0-of-1.parquet").write_bytes(b"PAR1 not really")
    (written.path / "index" / "phrases" / "0-of-1.parquet").unlink()
    fresh = Archive.open(written.path)
    for table, frame in before.items():
        pd.testing.assert_frame_equal(fresh.index(table), frame)
    shutil.rmtree(written.path / "index")
    pd.testing.assert_frame_equal(Archive.open(written.path).index("tihais"), before["tihais"])


@pytest.mark.parametrize("table", INDEX_TABLES)
def test_a_byte_that_was_flipped_anywhere_in_a_part_is_noticed_and_the_part_made_again(
    written: Archive, table: str
) -> None:
    right = written.index(table)
    (part,) = (written.path / "index" / table).iterdir()
    content = part.read_bytes()
    for position in range(0, len(content), max(1, len(content) // 16)):
        part.write_bytes(content[:position] + bytes([content[position] ^ 16]) + content[position + 1 :])
        pd.testing.assert_frame_equal(Archive.open(written.path).index(table), right)


def test_a_damaged_part_of_an_index_that_cannot_be_written_is_passed_over(
    written: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    right = written.index("phrases")
    part = written.path / "index" / "phrases" / "0-of-1.parquet"
    content = part.read_bytes()
    part.write_bytes(content[:4] + bytes(200) + content[204:])

    def full(*_told: object, **_more: object) -> None:
        raise OSError(30, "Read-only file system")

    monkeypatch.setattr(type(written.store), "replace", full)
    reader = Archive.open(written.path)
    for _ in range(2):
        pd.testing.assert_frame_equal(reader.index("phrases"), right)


def test_a_recording_that_is_gone_leaves_the_index(written: Archive) -> None:
    written.index("recordings")
    shutil.rmtree(written.path / "recordings" / "morning")
    assert written.index("recordings")["recording"].tolist() == [SLUG]


def test_an_edit_moves_the_verdicts_in_the_index(written: Archive) -> None:
    written.index("tihais")
    mark = written.state(SLUG).marked_sams[2]
    written.commit(SLUG, [change(replace(mark, sam_s=26.2))], "a", "")
    (row,) = written.index("tihais").to_dict("records")
    assert row["landing_dev_ms"] == pytest.approx(-170)
    assert row["verdict"] == "early"


def test_an_index_that_cannot_be_written_is_kept_in_memory(written: Archive) -> None:
    (written.path / "index").write_text("a file where the folder should be")
    assert len(written.index("tihais")) == 1
    assert (written.path / "index").is_file()


def test_an_empty_archive_has_empty_tables(archive: Archive) -> None:
    shutil.rmtree(archive.path / "recordings")
    fresh = Archive.open(archive.path)
    for table in INDEX_TABLES:
        assert fresh.index(table).empty


def test_an_unknown_table_is_a_mistake_of_the_program(archive: Archive) -> None:
    with pytest.raises(KeyError, match="no index table"):
        archive.index("songs")


def test_of_many_recordings_each_is_read_once_for_all_tables_and_told(
    written: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(index, "FEW", 1)
    told: list[float] = []
    fresh = Archive.open(written.path)
    fresh.tell_reading = told.append
    read: list[str] = []
    state = Archive.state
    monkeypatch.setattr(Archive, "state", lambda archive, slug: read.append(slug) or state(archive, slug))
    fresh.index("phrases")
    assert sorted(set(read)) == sorted([SLUG, "morning"])
    assert told == sorted(told)
    assert told[-1] == 1.0
    read.clear()
    for table in INDEX_TABLES:
        fresh.index(table)
    assert read == []
    written.commit("morning", [add(phrase())], "a", "")
    told.clear()
    fresh.index("phrases")
    assert told == []  # a single edit is not worth a bar


def test_a_table_is_laid_out_anew_when_the_archive_has_grown(written: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    before = written.index("tihais")
    monkeypatch.setattr("annotate.index_parts.MOST_IN_A_PART", 1)
    fresh = Archive.open(written.path)
    pd.testing.assert_frame_equal(fresh.index("tihais").sort_values("recording", ignore_index=True), before)
    names = {path.name for path in (written.path / "index" / "tihais").iterdir()}
    assert "0-of-1.parquet" not in names
    assert len({name.rpartition("-")[2] for name in names}) == 1  # parts of one layout only
    narrow = fresh.index("tihais", ["tihai"], [SLUG])
    assert narrow.to_dict("list") == {"tihai": ["t01"]}
