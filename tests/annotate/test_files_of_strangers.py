"""Files of an archive from a stranger: our errors come out, never another, and no absurd memory."""

from __future__ import annotations

import contextlib
import json
import resource
import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from annotate import course_store, evidence_store, grid_store, levels_store, melody_store, snapshots
from annotate.archive import Archive
from annotate.card import school_of
from annotate.check.measured import unreadable
from annotate.check.whole import check
from annotate.errors import ArchiveError, BadName, DamagedRevision, NewerArchive
from annotate.history import ledger
from annotate.layout import named
from annotate.revisions import add, change, from_bytes, pack
from annotate.schema import COURSES, EVIDENCE, GRID, INDEX_TABLES, LEVELS, MELODY, REVISION, index_schema
from annotate.slugs import is_slug, slug_of
from annotate.state import State, replay
from annotate.store.base import Store, checked
from annotate.store.disk import DiskStore
from annotate.store.folder import Folder
from ingest.levels import LevelMaker
from ingest.melody import Melody
from tests.annotate.desk import SLUG, make_archive, make_evidence, phrase, tihai
from tests.annotate.store.conftest import bucket, endpoint, place, store
from theory.errors import LayakoshError

__all__ = ["bucket", "endpoint", "place", "store"]

many = settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
some = settings(many, max_examples=40)
MOST_BYTES = 1 << 30
"""More than that must not be asked for by any small file."""


@pytest.fixture(autouse=True)
def _no_absurd_memory() -> Iterator[None]:
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    yield
    grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) * 1024
    assert grown < MOST_BYTES


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Archive:
    """An archive with a file of every kind."""
    archive = make_archive(tmp_path_factory.mktemp("whole"))
    evidence_store.save(archive.evidence_folder(SLUG), make_evidence(100.0))
    course = np.zeros(50, np.float32)
    melody_store.save(archive.evidence_folder(SLUG), Melody(0.02, course + 200, course, course))
    maker = LevelMaker()
    maker.add(np.zeros(22050 * 2, np.float32))
    levels_store.save(archive.evidence_folder(SLUG), maker.finish())
    archive.commit(SLUG, [add(tihai()), add(phrase())], "asha", "")
    snapshots.write(archive._place(SLUG), archive.state(SLUG))
    archive.grid(SLUG)
    for table in INDEX_TABLES:
        archive.index(table)
    return archive


def altered(content: bytes) -> st.SearchStrategy[bytes]:
    """The content with a few bytes flipped, cut out, or repeated."""

    def apply(changes: list[tuple[float, int, int]]) -> bytes:
        changed = bytearray(content)
        for share, what, byte in changes:
            position = int(share * (len(changed) - 1)) if changed else 0
            if what == 0 and changed:
                changed[position] = byte
            elif what == 1:
                del changed[position : position + byte]
            else:
                changed[position:position] = changed[position : position + byte]
        return bytes(changed)

    change = st.tuples(st.floats(0, 1, exclude_max=True), st.sampled_from([0, 0, 0, 1, 2]), st.integers(0, 255))
    return st.lists(change, min_size=1, max_size=4).map(apply)


CELLS: dict[str, st.SearchStrategy[pa.Array]] = {
    "texts": st.lists(st.none() | st.text(max_size=5), max_size=4).map(lambda rows: pa.array(rows, pa.string())),
    "numbers": st.lists(st.none() | st.floats(), max_size=4).map(lambda rows: pa.array(rows, pa.float64())),
    "whole numbers": st.lists(st.none() | st.integers(-(2**31), 2**31 - 1), max_size=4).map(
        lambda rows: pa.array(rows, pa.int32())
    ),
    "lists": st.lists(st.none() | st.lists(st.floats(), max_size=3), max_size=4).map(
        lambda rows: pa.array(rows, pa.list_(pa.float64()))
    ),
    "truths": st.lists(st.none() | st.booleans(), max_size=4).map(lambda rows: pa.array(rows, pa.bool_())),
    "nothing": st.integers(0, 4).map(lambda rows: pa.nulls(rows)),
}

plain = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=6)
notes = st.dictionaries(
    st.sampled_from(
        [
            *("kind", "schema", "recording", "revision", "parent", "who", "when", "why", "digest", "undoes", "spent"),
            *("stands_on", "duration_s", "hop_s", "chroma_hop_s", "stroke_hop_s", "texture_hop_s", "cell_s", "factor"),
            *("cells", "courses", "index", "seen", "stamps", "gat"),
        ]
    ),
    plain | st.lists(plain, max_size=3) | st.dictionaries(st.text(max_size=3), plain, max_size=2),
)


@st.composite
def tables(draw: st.DrawFn, schema: pa.Schema) -> bytes:
    """A valid Parquet file that has some columns of a schema, of whatever type, under whatever note."""
    columns: dict[str, pa.Array] = {}
    for name in draw(st.lists(st.sampled_from(schema.names), unique=True, max_size=len(schema.names))):
        columns[name] = draw(draw(st.sampled_from(list(CELLS.values()))))
    if draw(st.booleans()):
        for field in schema:
            columns[field.name] = (
                pa.nulls(2, field.type) if draw(st.booleans()) else columns.get(field.name, pa.nulls(2))
            )
    length = min((len(column) for column in columns.values()), default=0)
    table = pa.table({name: column.slice(0, length) for name, column in columns.items()})
    note = draw(st.sampled_from([b"{}", b"[]", b"null", b"{", b"\xff", b"[" * 3000])) if draw(st.booleans()) else None
    told = json.dumps(draw(notes)).encode() if note is None else note
    sink = pa.BufferOutputStream()
    pq.write_table(table.replace_schema_metadata({b"layakosh": told}), sink)
    return bytes(sink.getvalue().to_pybytes())


def read_revision(content: bytes) -> None:
    try:
        _slug, revision = from_bytes(content)
    except (DamagedRevision, NewerArchive):
        return
    replay(
        State("x", 0, {table: {} for table in ("recordings", "sections", "sams", "tihais", "phrases")}, {}), [revision]
    )


def revision_of(archive: Archive, number: int) -> bytes:
    return archive.store.read(f"recordings/{SLUG}/revisions/{number:08d}.parquet")


@many
@given(content=st.binary(max_size=300) | st.binary(max_size=60).map(lambda middle: b"PAR1" + middle + b"PAR1"))
def test_any_bytes_as_a_revision(content: bytes) -> None:
    read_revision(content)


@many
@given(data=st.data())
def test_an_altered_revision(whole: Archive, data: st.DataObject) -> None:
    read_revision(data.draw(altered(revision_of(whole, data.draw(st.sampled_from([1, 2]))))))


@many
@given(content=tables(REVISION))
def test_a_parquet_file_of_other_columns_or_types_as_a_revision(content: bytes) -> None:
    read_revision(content)


@many
@given(note=notes, kind=st.sampled_from(["revision", "snapshot"]), right=st.booleans())
def test_a_whole_revision_under_any_note(tmp_path: Path, note: dict[str, Any], kind: str, right: bool) -> None:
    whole = {"kind": kind, "schema": 2, "recording": "x", "revision": 1, "parent": 0, "who": "", "why": ""}
    content = pack([add(phrase())], (whole if right else {}) | note)
    read_revision(content)
    folder = tmp_path / "snapshots"
    folder.mkdir(exist_ok=True)
    (folder / "00000001.parquet").write_bytes(content)
    snapshots.read(Folder(DiskStore(tmp_path)), "x", 1)


@some
@given(data=st.data())
def test_an_altered_or_foreign_snapshot_or_ledger_is_passed_over(
    whole: Archive, tmp_path: Path, data: st.DataObject
) -> None:
    place = Folder(DiskStore(tmp_path))
    right = whole.store.read(f"recordings/{SLUG}/snapshots/00000002.parquet")
    content = data.draw(st.binary(max_size=100) | altered(right) | tables(REVISION))
    for name in ("snapshots/00000002.parquet", f"ledger/00000002-{ledger._digest(content)}.parquet"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_bytes(content)
    held, _stands = snapshots.held(place, SLUG, 2)
    assert held is None or held.rows == whole.state(SLUG).rows
    ledger.kept(place, SLUG)
    shutil.rmtree(tmp_path / "ledger")


READERS: dict[str, tuple[pa.Schema, Callable[[Path], object]]] = {
    **{f"{kind}.parquet": (schema, evidence_store.load) for kind, schema in EVIDENCE.items()},
    "melody.parquet": (MELODY, melody_store.load),
    "courses.parquet": (COURSES, course_store.load),
    "levels.parquet": (LEVELS, levels_store.load),
}


@pytest.mark.parametrize("file", READERS)
@some
@given(data=st.data())
def test_evidence_that_was_altered_or_is_foreign_is_none(
    whole: Archive, tmp_path: Path, file: str, data: st.DataObject
) -> None:
    schema, load = READERS[file]
    folder = tmp_path / "evidence"
    if not folder.exists():
        shutil.copytree(whole.path / "recordings" / SLUG / "evidence", folder)
    right = (whole.path / "recordings" / SLUG / "evidence" / file).read_bytes()
    (folder / file).write_bytes(data.draw(st.binary(max_size=100) | altered(right) | tables(schema)))
    load(folder)
    levels_store.waveform(folder, 0.0, 1.0, 50)
    unreadable(DiskStore(tmp_path), f"evidence/{file}", schema)
    grid_store.present_grid(whole.state(SLUG), folder)


@some
@given(data=st.data())
def test_a_grid_that_was_altered_or_is_foreign_is_made_again(
    whole: Archive, tmp_path: Path, data: st.DataObject
) -> None:
    folder = tmp_path / "evidence"
    if not folder.exists():
        shutil.copytree(whole.path / "recordings" / SLUG / "evidence", folder)
    right = (whole.path / "recordings" / SLUG / "evidence" / "grid.parquet").read_bytes()
    (folder / "grid.parquet").write_bytes(data.draw(st.binary(max_size=100) | altered(right) | tables(GRID)))
    grid = grid_store.present_grid(whole.state(SLUG), folder)
    assert grid.rows().equals(whole.grid(SLUG).rows())


@pytest.mark.parametrize("table", ["phrases", "recordings", "matras"])
@some
@given(data=st.data())
def test_a_part_of_the_index_that_was_altered_or_is_foreign_is_made_again(
    whole: Archive, table: str, data: st.DataObject
) -> None:
    path = whole.path / "index" / table / "0-of-1.parquet"
    right, rows = path.read_bytes(), Archive.open(whole.path).index(table)
    try:
        path.write_bytes(data.draw(st.binary(max_size=100) | altered(right) | tables(index_schema(table))))
        list(check(whole.store))
        assert Archive.open(whole.path).index(table).equals(rows)
    finally:
        path.write_bytes(right)


@many
@given(
    content=st.binary(max_size=100)
    | st.text(max_size=60).map(str.encode)
    | st.tuples(st.sampled_from(["schema", "tempo_school", "x"]), plain).map(
        lambda pair: f"{pair[0]} = {pair[1]!r}".encode()
    )
    | st.sampled_from(
        [b"a = " + b"[" * 100_000, b"schema = 1e400", b"schema = 99999999999999999999999", b"schema = true"]
    )
)
def test_any_card(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "archive.toml").write_bytes(content)
    with contextlib.suppress(LayakoshError):
        school_of(Archive.open(tmp_path).store)
    with contextlib.suppress(ArchiveError):
        list(check(DiskStore(tmp_path)))


names = st.text(st.sampled_from("ab/.\\\0 -_~:*é\n\t") | st.characters(), max_size=12) | st.sampled_from(
    ["..", "../x", "a/../../x", "/etc/passwd", "C:\\x", "a/./b", "//x", "~/x", "a/..", "\u2025/x", "%2e%2e/x"]
)


@many
@given(name=names)
def test_no_name_leaves_the_archive_on_a_disk_or_in_an_object_store(store: Store, tmp_path: Path, name: str) -> None:
    if not name:
        return  # the store itself
    try:
        assert checked(name) == name
    except BadName:
        with pytest.raises(BadName):
            store.read(name)
        with pytest.raises(BadName):
            store.replace(name, b"x")
        return
    if isinstance(store, DiskStore):
        inside = Path(f"{store.folder}/{name}")
        assert ".." not in inside.parts
        assert inside.is_relative_to(store.folder)
    assert named(name).kind == "other" or is_slug(named(name).slug or "x")


@many
@given(text=names | st.text(max_size=80))
def test_a_slug_is_a_name_of_one_folder(text: str) -> None:
    assert is_slug(slug_of(text))
    if is_slug(text):
        assert checked(f"recordings/{text}/revisions") == f"recordings/{text}/revisions"
        assert text.isascii()
        assert "/" not in text
        assert "." not in text


@many
@given(slug=names)
def test_an_archive_asked_for_any_slug_answers_with_an_error_of_ours(archive: Archive, slug: str) -> None:
    with pytest.raises(ArchiveError):
        archive.state(slug + "!")
    assert (slug in archive) == (slug == SLUG)


@pytest.mark.parametrize(
    "name", ["../../private.wav", "/etc/passwd", "recordings/evening/sound/link.wav", "a\\b", "x\0y"]
)
def test_sound_is_never_read_from_outside_the_archive(archive: Archive, tmp_path: Path, name: str) -> None:
    (tmp_path / "private.wav").write_bytes(b"private")
    folder = archive.path / "recordings" / SLUG / "sound"
    folder.mkdir()
    (folder / "link.wav").symlink_to(tmp_path / "private.wav")
    archive.commit(SLUG, [change(replace(archive.state(SLUG).recording, audio_path=name))], "a", "")
    assert archive.sound_path(SLUG) is None
    archive.waveform(SLUG, 0.0, 0.1, 50)


def test_a_folder_of_sound_that_is_a_link_out_of_the_archive_is_not_followed(archive: Archive, tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "copy.wav").write_bytes(b"private")
    (archive.path / "recordings" / SLUG / "sound").symlink_to(tmp_path / "elsewhere")
    path = f"recordings/{SLUG}/sound/copy.wav"
    archive.commit(SLUG, [change(replace(archive.state(SLUG).recording, audio_path=path))], "a", "")
    assert archive.sound_path(SLUG) is None
