"""Evidence, waveform, melody and grid of a recording: whether every byte can be read."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence

import pyarrow as pa
import pyarrow.parquet as pq

from annotate.check.findings import Finding
from annotate.check.history import refuse_unreachable
from annotate.errors import BadName
from annotate.layout import GRIDS, MEASURED, named
from annotate.revisions import BROKEN
from annotate.schema import COURSES, EVIDENCE, GRID, LEVELS, MELODY, PROPOSALS
from annotate.state import State
from annotate.store.base import Entry, Store

_SCHEMAS = {**EVIDENCE, "melody": MELODY, "levels": LEVELS, "grid": GRID, "courses": COURSES, "proposals": PROPOSALS}
_ROWS = 1 << 16
"""Rows in memory at a time."""


def findings_of(store: Store, slug: str, state: State | None, entries: Sequence[Entry]) -> Iterator[Finding]:
    """Give what is wrong with what was measured of a recording.

    Parameters
    ----------
    state : State or None
        None where the revisions cannot tell.
    """
    there = set()
    for entry in entries:
        if named(entry.name).kind not in ("evidence", "grid"):
            continue
        kind = entry.last.removesuffix(".parquet")
        there.add(kind)
        why = unreadable(store, entry.name, _SCHEMAS[kind])
        if why is None:
            continue
        if why == OTHER_COLUMNS:
            yield Finding(
                "evidence of another version",
                entry.name,
                "This version does not read it; the grid goes by marked sams alone until it is measured again.",
                f"'layakosh listen-again {slug}' measures it again.",
                damage=False,
            )
        elif kind in GRIDS:
            yield Finding(
                "proposals damaged" if kind == "proposals" else "grid damaged",
                entry.name,
                f"It is passed over and made again by whoever needs it ({why}).",
                "It is moved to set-aside/ and made again.",
                ("derived", entry.name),
            )
        else:
            yield Finding(
                "evidence damaged",
                entry.name,
                f"It cannot be read ({why}); without it the grid goes by marked sams alone.",
                f"It is moved to set-aside/; 'layakosh listen-again {slug}' measures it again.",
                ("set aside", entry.name),
            )
    missing = [kind for kind in MEASURED if kind not in there]
    if missing and state is not None and state.rows["recordings"] and state.recording.audio_sha256:
        yield Finding(
            "evidence missing",
            f"recordings/{slug}/evidence",
            f"Not measured, or left out of a backup: {', '.join(missing)}.",
            f"'layakosh listen-again {slug}' measures it.",
            damage=False,
        )


OTHER_COLUMNS = "it has other columns"


def unreadable(store: Store, name: str, schema: pa.Schema) -> str | None:
    """Read a file of a schema to its end, a piece at a time, and say why it cannot be; None where it can."""
    try:
        with store.open(name) as source, pq.ParquetFile(source, page_checksum_verification=True) as file:
            if not set(schema.names) <= set(file.schema_arrow.names):
                return OTHER_COLUMNS
            json.loads(file.schema_arrow.metadata[b"layakosh"])
            rows = 0
            for batch in file.iter_batches(_ROWS, columns=schema.names, use_threads=False):
                rows += len(batch)
            return None if rows == file.metadata.num_rows else "rows are missing"
    except (*BROKEN, BadName) as error:
        refuse_unreachable(error)
        return (str(error).splitlines() or [type(error).__name__])[0][:120]
