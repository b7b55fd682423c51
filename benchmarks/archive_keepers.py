"""Three ways to keep the same annotations, for ``benchmarks.archive``: ours, and two with a ready-made table format.

The ready-made format is Delta Lake by the package ``deltalake``, with the settings it comes with. One table holds the
phrases of all recordings, in 64 partitions by recording, so that a writer touches a sixty-fourth of it. An edit is
either a *merge* (an upsert: the table is always the present state, as our index is) or an *append* of a row to a
journal (as our revisions are; the present state has then to be worked out by whoever reads). A merge that collides with
another is begun again here, as an application has to.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path
from typing import Protocol

import pyarrow as pa
import pyarrow.parquet as pq

from annotate.archive import Archive
from annotate.files import STRAY_PREFIX
from annotate.records import PhraseRecord, Recording
from annotate.revisions import add
from benchmarks.large_archive import slug_of

PARTITIONS = 64
COLUMNS = pa.schema(
    [
        ("part", pa.int32()),
        ("recording", pa.string()),
        ("phrase", pa.string()),
        ("start_s", pa.float64()),
        ("end_s", pa.float64()),
        ("swaras", pa.string()),
        ("role", pa.string()),
        ("who", pa.string()),
        ("at", pa.timestamp("us", tz="UTC")),
    ]
)


class Keeper(Protocol):
    """A way to keep phrases in a folder."""

    def edit(self, recording: int, key: str) -> int:
        """Add a phrase; return how many times it had to be begun again because of another writer."""

    def found(self, recordings: Iterable[int]) -> set[str]:
        """Return the keys of the phrases of some recordings, as a new reader finds them."""

    def leftovers(self) -> int:
        """Return how many files lie there that nothing refers to."""


def make_ours(folder: Path, recordings: int) -> None:
    """Make an archive with recordings that have no phrases yet."""
    archive = Archive.create(folder)
    for number in range(recordings):
        archive.commit(slug_of(number), [add(Recording(slug_of(number), f"Evening {number}", raga="desh"))], "b", "")


def make_delta(folder: Path, recordings: int) -> None:
    """Make a table with one phrase of each recording."""
    from deltalake import write_deltalake

    rows = pa.concat_tables([_row(number, f"first{number}") for number in range(recordings)])
    write_deltalake(str(folder), rows, partition_by=["part"])


def delta_of(archive: Path, folder: Path) -> int:
    """Make a table of the phrases of an archive's index; return the number of rows."""
    from deltalake import write_deltalake

    rows = pq.read_table(archive / "index" / "phrases", columns=[name for name in COLUMNS.names if name != "part"])
    parts = pa.array([int(slug[-5:]) % PARTITIONS for slug in rows["recording"].to_pylist()], pa.int32())
    rows = rows.append_column("part", parts).select(COLUMNS.names).replace_schema_metadata(None).cast(COLUMNS)
    write_deltalake(str(folder), rows, partition_by=["part"])
    return len(rows)


def _row(recording: int, key: str) -> pa.Table:
    values = [
        recording % PARTITIONS, slug_of(recording), key, 300.0, 302.0, "S R G m", "tan", "Ira", datetime.now(UTC),
    ]  # fmt: skip
    return pa.Table.from_pydict({name: [value] for name, value in zip(COLUMNS.names, values, strict=True)}, COLUMNS)


class Ours:
    """An archive of this project."""

    name = "layakosh"

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._archive = Archive.open(folder)

    def edit(self, recording: int, key: str) -> int:
        """Commit an edit; one made at the same time on other rows is built upon inside."""
        self._archive.commit(slug_of(recording), [add(PhraseRecord(key, 300.0, 302.0, "S R G m", "tan"))], "b", "")
        return 0

    def found(self, recordings: Iterable[int]) -> set[str]:
        """Read it from the index, brought up to date."""
        rows = Archive.open(self._folder).index("phrases", ["phrase"], [slug_of(number) for number in recordings])
        return set(rows["phrase"])

    def leftovers(self) -> int:
        """Temporary files of writers that were killed; a later writer sweeps those older than ten minutes."""
        return sum(path.name.startswith(STRAY_PREFIX) for path in self._folder.rglob("*"))


class DeltaMerge:
    """A table that is merged into."""

    name = "delta, merge"

    def __init__(self, folder: Path) -> None:
        self._folder = str(folder)

    def edit(self, recording: int, key: str) -> int:
        """Merge the row in by recording and key, within its partition."""
        from deltalake import DeltaTable
        from deltalake.exceptions import DeltaError

        again = 0
        part, row = recording % PARTITIONS, _row(recording, key)
        same = f"t.part = {part} and s.part = t.part and s.recording = t.recording and s.phrase = t.phrase"
        while True:
            try:
                merge = DeltaTable(self._folder).merge(row, same, source_alias="s", target_alias="t")
                merge.when_matched_update_all().when_not_matched_insert_all().execute()
                return again
            except DeltaError:
                again += 1

    def found(self, recordings: Iterable[int]) -> set[str]:
        """Read the partitions of the recordings."""
        from deltalake import DeltaTable

        parts = sorted({number % PARTITIONS for number in recordings})
        rows = DeltaTable(self._folder).to_pyarrow_table(columns=["phrase"], filters=[("part", "in", parts)])
        return set(rows["phrase"].to_pylist())

    def leftovers(self) -> int:
        """Data files that no version refers to; they stay until somebody has the table vacuumed."""
        folder = Path(self._folder)
        files = [path for path in folder.rglob("*.parquet") if path.parent.name != "_delta_log"]
        known = {Path(path).name for path in _ever_added(folder)}
        return sum(path.name not in known for path in files)


def _ever_added(folder: Path) -> set[str]:
    found = set()
    for log in (folder / "_delta_log").glob("*.json"):
        for line in log.read_text("utf-8").splitlines():
            action = json.loads(line)
            if "add" in action:
                found.add(action["add"]["path"])
    return found


class DeltaAppend(DeltaMerge):
    """A table that is appended to."""

    name = "delta, append"

    def edit(self, recording: int, key: str) -> int:
        """Append the row; the library itself begins again where another appended first."""
        from deltalake import write_deltalake
        from deltalake.exceptions import DeltaError

        again = 0
        while True:
            try:
                write_deltalake(self._folder, _row(recording, key), mode="append")
                return again
            except DeltaError:
                again += 1


KEEPERS: dict[str, type[Ours] | type[DeltaMerge]] = {each.name: each for each in (Ours, DeltaMerge, DeltaAppend)}
