"""What the archive holds of each performance, counted from the index: a list of ten thousand takes about a second."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

import pyarrow.compute as pc

from annotate.archive import Archive
from annotate.doubts import DOUBTFUL
from annotate.records import Recording
from annotate.rows import from_row
from annotate.schema import annotation_columns

_OF_SECTIONS = ("recording", "tala", "source")


@dataclass(frozen=True)
class Overview:
    """A performance and how much there is of it.

    Attributes
    ----------
    recording : Recording
    talas : tuple of str
        Keys of the talas of its sections, in order of time.
    sections, phrases : int
        How many.
    sections_heard : int
        Sections as they were taken in, which nobody has put right or said to be right.
    sams, sams_marked, sams_doubtful : int
        Sams of the grid; those that a person marked (also where no grid was found); those tracked that are in doubt
        (:data:`annotate.doubts.DOUBTFUL`).
    tihais, rejected, measured, landing : int
        All tihais; those rejected; of the others those with a verdict, and those that land.
    proposed, sums_missing : int
        Of those not rejected: tihais that wait for somebody's word; those whose sum on paper misses its aim.
    """

    recording: Recording
    talas: tuple[str, ...] = ()
    sections: int = 0
    sections_heard: int = 0
    sams: int = 0
    sams_marked: int = 0
    sams_doubtful: int = 0
    tihais: int = 0
    rejected: int = 0
    measured: int = 0
    landing: int = 0
    proposed: int = 0
    sums_missing: int = 0
    phrases: int = 0


def overviews(archive: Archive, recordings: Collection[str] | None = None) -> list[Overview]:
    """Return an overview of every recording, or of those named, in order of their slugs."""
    with archive.one_look():
        return _overviews(archive, recordings)


def _overviews(archive: Archive, recordings: Collection[str] | None) -> list[Overview]:
    talas: defaultdict[str, dict[str, None]] = defaultdict(dict)
    counts: defaultdict[str, Counter[str]] = defaultdict(Counter)
    """By recording, the fields of its overview."""
    sections = archive.table("sections", ["recording", "start_s", "tala", "source"], recordings).sort_by("start_s")
    for slug, tala, source in zip(*(sections[name].to_pylist() for name in _OF_SECTIONS), strict=True):
        counts[slug]["sections"] += 1
        counts[slug]["sections_heard"] += source == "ingest"
        if tala:
            talas[slug][tala] = None
    for slug, source, count in _counted(archive, "sams", ["source"], recordings):
        counts[slug]["sams"] += count
        counts[slug]["sams_marked"] += count if source == "marked" else 0
    for slug, count in _doubtful(archive, recordings):
        counts[slug]["sams_doubtful"] = count
    for slug, status, verdict, lands, count in _counted(
        archive, "tihais", ["status", "verdict", "paper_lands"], recordings
    ):
        counts[slug]["tihais"] += count
        if status == "rejected":
            counts[slug]["rejected"] += count
            continue
        counts[slug]["measured"] += count if verdict != "unknown" else 0
        counts[slug]["landing"] += count if verdict == "lands" else 0
        counts[slug]["proposed"] += count if status == "proposed" else 0
        counts[slug]["sums_missing"] += count if lands is False else 0
    for slug, count in _counted(archive, "phrases", [], recordings):
        counts[slug]["phrases"] += count
    columns = annotation_columns("recordings")
    found = []
    for row in archive.table("recordings", ["recording", *columns], recordings).to_pylist():
        slug = row["recording"]
        recording = from_row("recordings", slug, {name: row[name] for name in columns})
        assert isinstance(recording, Recording)
        found.append(Overview(recording, tuple(talas[slug]), **counts[slug]))
    return sorted(found, key=lambda each: each.recording.slug)


def _doubtful(archive: Archive, recordings: Collection[str] | None) -> list[tuple[str, int]]:
    """Return how many tracked sams of each recording are in doubt, where there are any."""
    sams = archive.table("sams", ["recording", "source", "confidence"], recordings)
    low = pc.and_(pc.not_equal(sams["source"], "marked"), pc.less(sams["confidence"], DOUBTFUL))
    groups = sams.filter(low).group_by("recording").aggregate([([], "count_all")])
    return list(zip(groups["recording"].to_pylist(), groups["count_all"].to_pylist(), strict=True))


def _counted(
    archive: Archive, table: str, columns: list[str], recordings: Collection[str] | None
) -> list[tuple[Any, ...]]:
    """Return recording, the columns and the number of rows for every combination that there is."""
    keys = ["recording", *columns]
    groups = archive.table(table, keys, recordings).group_by(keys).aggregate([([], "count_all")])
    return list(zip(*(groups[name].to_pylist() for name in (*keys, "count_all")), strict=True))
