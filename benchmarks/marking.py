"""What marking a sam costs, in sections of 2 to 60 minutes: ``python -m benchmarks.marking --minutes 2 20 60``.

The section is the gat of the Desh sample, from a sam to a sam, repeated to the length asked for, in an archive in a
temporary folder. Each row is one call of `annotate.marking.mark_sams`, with all that it reads and writes: the first
mark where the tracker has a sam, a second one elsewhere, one moved by 80 ms, and one two matras from a sam, which turns
the cycle of the whole section.

Columns: elapsed seconds, and seconds of work (on a busy machine the fairer figure).
"""

from __future__ import annotations

import argparse
import csv
import time
from dataclasses import replace
from importlib.resources import as_file, files
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from rich.console import Console
from rich.table import Table

from annotate import evidence_store
from annotate.archive import Archive
from annotate.marking import mark_sams, move_sam
from annotate.records import Recording, Section
from annotate.revisions import add
from ingest.evidence import Evidence
from ingest.measure import measure

SLUG, TALA = "long", "teental"
BY_FRAME = ("bass", "treble", "strength", "level_db")


def sample() -> tuple[Evidence, list[float]]:
    """Evidence of the Desh sample, and its sams in seconds."""
    folder = files("sample_data")
    with as_file(folder / "desh_teental.ogg") as path:
        evidence = measure(path)
    rows = csv.DictReader((folder / "desh_teental_sams.csv").read_text("utf-8").splitlines())
    return evidence, [float(row["sam_s"]) for row in rows]


def repeated(evidence: Evidence, from_s: float, to_s: float, duration_s: float) -> Evidence:
    """The evidence of a stretch, again and again until it is so long."""

    def course(values: np.ndarray, hop_s: float) -> np.ndarray:
        rows = np.arange(round(duration_s / hop_s)) * hop_s
        return values[np.minimum(((from_s + rows % (to_s - from_s)) / hop_s).round().astype(int), len(values) - 1)]

    return replace(
        evidence,
        duration_s=duration_s,
        **{
            name: course(getattr(evidence, name), evidence.hop_s) for name in ("bass", "treble", "strength", "level_db")
        },
        chroma=course(evidence.chroma, evidence.chroma_hop_s),
        strokes=course(evidence.strokes, evidence.stroke_hop_s),
        texture=course(evidence.texture, evidence.texture_hop_s),
    )


def rows(folder: Path, minutes: float) -> list[tuple[str, float, float]]:
    """Name, seconds and seconds of work of each edit in a section of so many minutes."""
    evidence, sams_s = sample()
    archive = Archive.create(folder / f"{minutes:g}")
    duration_s = 60 * minutes
    archive.commit(
        SLUG,
        [
            add(Recording(SLUG, "Long", tala=TALA, duration_s=duration_s)),
            add(Section("gat", "gat", 0.0, duration_s, TALA)),
        ],
        "bench",
        "made",
    )
    evidence_store.save(archive.folder(SLUG) / "evidence", repeated(evidence, sams_s[1], sams_s[-2], duration_s))
    timed = []

    def time_it(name: str, edit: object, *arguments: object) -> None:
        began, worked = time.perf_counter(), time.process_time()
        edit(Archive.open(archive.path), SLUG, *arguments)  # type: ignore[operator]
        timed.append((name, time.perf_counter() - began, time.process_time() - worked))

    time_it("followed without marks", lambda there, slug: there.grid(slug))
    found = archive.grid(SLUG).sams()["sam_s"].to_numpy()
    first, second = float(found[len(found) // 2]), float(found[len(found) // 4])
    time_it("first mark", mark_sams, [first])
    time_it("second mark", mark_sams, [second])
    time_it("mark moved", move_sam, first, first + 0.08)
    turned = Archive.open(archive.path).grid(SLUG).rows()
    later = turned[(turned["matra"] == 3) & (turned["matra_s"] > first + 60)]
    if len(later):
        time_it("mark that turns the cycle", mark_sams, [float(later["matra_s"].iloc[0])])
    return timed


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.marking", description=__doc__.split("\n")[0])
    parser.add_argument("--minutes", type=float, nargs="+", default=[2.0, 20.0, 60.0])
    table = Table("section, min", "edit", "s", "s of work", title="Marking a sam")
    with TemporaryDirectory() as folder:
        rows(Path(folder), 1.01)  # compiles what is not compiled yet
        for minutes in parser.parse_args().minutes:
            for name, taken_s, work_s in rows(Path(folder), minutes):
                table.add_row(f"{minutes:g}", name, f"{taken_s:.2f}", f"{work_s:.2f}")
    Console().print(table)


if __name__ == "__main__":
    main()
