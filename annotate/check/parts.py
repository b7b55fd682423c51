"""The index: parts that cannot be read, that lie, that are behind, or that are of two layouts."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import pandas as pd
import pyarrow.parquet as pq

from annotate.check.findings import Finding
from annotate.check.measured import OTHER_COLUMNS, unreadable
from annotate.errors import BadName
from annotate.index import seen_in
from annotate.layout import named
from annotate.records import WORD_FOR
from annotate.revisions import BROKEN
from annotate.schema import INDEX_TABLES, index_schema
from annotate.state import State
from annotate.store.base import Entry, Store

_COUNTED = ("sections", "tihais", "phrases")
"""Tables whose rows are those of the annotations, one for one."""
_OF = re.compile(r"-of-(\d+)\.parquet")


@dataclass(frozen=True)
class Summary:
    """What the index is held against: the latest revision of a recording, and a digest of its keys by table."""

    revision: int
    keys: Mapping[str, int]


def summary(state: State) -> Summary:
    """Return the summary of a state."""
    return Summary(state.revision, {table: hash(tuple(sorted(state.rows[table]))) for table in _COUNTED})


def findings_of(store: Store, recordings: Mapping[str, Summary]) -> Iterator[Finding]:
    """Give what is wrong with the index; ``recordings`` are those whose revisions are whole."""
    for table in INDEX_TABLES:
        entries = store.files(f"index/{table}")
        layouts = {match[1] for entry in entries if (match := _OF.search(entry.last))}
        if len(layouts) > 1:
            means = "Parts of two layouts lie beside each other: other programs would count rows twice."
            yield Finding("index twice", f"index/{table}", means, _mend(), ("index", f"index/{table}"))
        for entry in entries:
            if named(entry.name).kind != "index":
                yield Finding(
                    "foreign file", entry.name, "It is no part of the index.", "Left where it is.", damage=False
                )
                continue
            found = list(_of_part(store, table, entry, recordings))
            if store.stamp(entry.name) == entry.stamp:  # else somebody has brought it up to date meanwhile
                yield from found


def _of_part(store: Store, table: str, entry: Entry, recordings: Mapping[str, Summary]) -> Iterator[Finding]:
    why = unreadable(store, entry.name, index_schema(table))
    seen = seen_in(store, table, entry.name, entry.stamp) if why is None else None
    if why == OTHER_COLUMNS or (why is None and seen is None):
        yield _behind(entry.name, "It was made by another version.")
    elif why is not None or seen is None:
        means = f"It cannot be read ({why}). Layakosh makes it again when it is asked for; other programs stumble."
        yield Finding("index damaged", entry.name, means, _mend(), ("index", entry.name))
    else:
        behind = [slug for slug, number in seen.items() if slug in recordings and number < recordings[slug].revision]
        if behind:
            yield _behind(entry.name, f"Edits of {len(behind)} recordings are not in it yet.")
        present = {slug for slug, number in seen.items() if slug in recordings and number == recordings[slug].revision}
        if table in _COUNTED and _lies(store, table, entry.name, present, recordings):
            means = "Its rows are not those of the revisions that it says it holds."
            yield Finding("index lies", entry.name, means, _mend(), ("index", entry.name))


def _lies(store: Store, table: str, name: str, present: set[str], recordings: Mapping[str, Summary]) -> bool:
    key = WORD_FOR[table]
    try:
        with store.open(name) as source, pq.ParquetFile(source) as file:
            rows: pd.DataFrame = file.read(["recording", key]).to_pandas()
    except (*BROKEN, BadName):
        return True
    keys = {slug: hash(tuple(sorted(group))) for slug, group in rows.groupby("recording")[key]}
    return any(keys.get(slug, hash(())) != recordings[slug].keys[table] for slug in present)


def _behind(name: str, means: str) -> Finding:
    return Finding("index behind", name, means, "Whoever reads the index next brings it up to date.", damage=False)


def _mend() -> str:
    return "It is moved to set-aside/ and made again."
