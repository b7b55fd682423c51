"""The proposals of a recording on disk: ``evidence/proposals.parquet``, with what they follow from.

Like all evidence the file can be made again, so one that cannot be read counts as none. It is written whole: a reader
sees the old one or the new.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
from numpy.typing import NDArray

from annotate.proposals.proposed import Found
from annotate.proposals.written import Span
from annotate.revisions import BROKEN
from annotate.schema import PROPOSALS
from annotate.store.folder import Folder, as_folder
from theory.numbers import stored

FILE = "proposals.parquet"
_NOTE = b"layakosh"
_FRACTIONS = ("start", "palla", "dam", "to_landing", "target", "off")
_OF_FOUND = ("key", "section", "tala", "found")


@dataclass(frozen=True)
class Heard:
    """What the proposals of a section follow from.

    Parameters
    ----------
    digest : str
        Of its grid, the evidence, the melody and the finder.
    mukhra : int or None
        The matra on which its mukhra begins, as found or as told.
    """

    digest: str
    mukhra: int | None


@dataclass(frozen=True, eq=False)
class Kept:
    """The proposals of a recording, as the finder ranks them.

    Parameters
    ----------
    found : tuple of Found
    heard : mapping
        By section.
    mukhra_told : int or None
        The matra of the mukhra, where a person said so.
    names : tuple of str
        What was measured of each, in order.
    """

    found: tuple[Found, ...] = ()
    heard: Mapping[str, Heard] = field(default_factory=dict)
    mukhra_told: int | None = None
    names: tuple[str, ...] = ()


def save(evidence_folder: Path | Folder, kept: Kept) -> None:
    """Write the proposals of a recording into its ``evidence`` folder, over what was there."""
    note = {
        "names": kept.names,
        "mukhra_told": kept.mukhra_told,
        "sections": {name: [each.digest, each.mukhra] for name, each in kept.heard.items()},
    }
    schema = PROPOSALS.with_metadata({_NOTE: json.dumps(note, ensure_ascii=False).encode()})
    table = pa.Table.from_pylist([_row(each) for each in kept.found], schema=schema)
    with as_folder(evidence_folder).writing(FILE) as out:
        pq.write_table(table, out, compression="zstd", write_page_checksum=True)


def load(evidence_folder: Path | Folder, wanted: Callable[[Span], bool] = lambda _span: True) -> Kept | None:
    """Read the proposals of a recording; None where none were made, or they cannot be read (make them again then).

    ``wanted`` says by where they lie which of them are needed: an hour has hundreds.
    """
    try:
        table = _table(evidence_folder, PROPOSALS.names)
        note = json.loads(table.schema.metadata[_NOTE])
        table = table.filter([wanted(span) for span in _spans(table)])
        names = tuple(str(name) for name in note["names"])
        heard = {str(name): Heard(str(digest), _matra(at)) for name, (digest, at) in note["sections"].items()}
        measures = table["measures"].combine_chunks().flatten().to_numpy().reshape(len(table), len(names))
        rows = table.drop_columns(["measures"]).to_pylist()
        found = tuple(_found(row, of_it) for row, of_it in zip(rows, measures, strict=True))
        return Kept(found, heard, _matra(note["mukhra_told"]), names)
    except BROKEN:
        return None


def load_spans(evidence_folder: Path | Folder) -> list[Span] | None:
    """Read only where the proposals that are still found lie; None as for `load`."""
    try:
        table = _table(evidence_folder, ["found", "palla_s", "landing_s"])
        return list(_spans(table.filter(table["found"])))
    except BROKEN:
        return None


def stamp(evidence_folder: Path | Folder) -> str:
    """Return a text that changes whenever the proposals are made again; empty when there are none."""
    return as_folder(evidence_folder).stamp(FILE)


def _table(evidence_folder: Path | Folder, columns: list[str]) -> pa.Table:
    with (
        as_folder(evidence_folder).open(FILE) as source,
        pq.ParquetFile(source, page_checksum_verification=True) as file,
    ):
        table = file.read(columns=columns, use_threads=False)
    wrong = [name for name in columns if table.schema.field(name).type != PROPOSALS.field(name).type]
    if wrong or any(table[name].null_count for name in columns):
        raise ValueError(f"columns of {FILE} that cannot be: {wrong}")
    return table


def _spans(table: pa.Table) -> Iterator[Span]:
    return map(Span, map(tuple, table["palla_s"].to_pylist()), table["landing_s"].to_pylist())


def _row(found: Found) -> dict[str, Any]:
    proposal = found.proposal
    row = {name: getattr(proposal, name) for name in PROPOSALS.names if name not in _OF_FOUND}
    row |= {name: stored(row[name]) for name in _FRACTIONS} | {"measures": np.asarray(proposal.measures, np.float32)}
    return row | {"key": found.key, "section": found.section, "tala": found.tala, "found": found.still}


def _found(row: dict[str, Any], measures: NDArray[np.float32]) -> Found:
    from ingest.finding.proposal import Proposal

    values = {name: value for name, value in row.items() if name not in _OF_FOUND}
    values |= {name: Fraction(values[name]) for name in _FRACTIONS}
    values |= {"palla_s": tuple(values["palla_s"]), "measures": measures}
    return Found(row["key"], row["section"], row["tala"], Proposal(**values), row["found"])


def _matra(value: object) -> int | None:
    return value if isinstance(value, int) and not isinstance(value, bool) else None
